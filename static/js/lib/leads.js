/*
 * Makes a drawing's plan from a list of leads: which of them close a loop (source, instrument, what lies between), which
 * lie across it, and which stand alone as a chain. Pure; the drawing is features/wiring.
 */

/** @typedef {{name: string, terminal: string}} End */
/** @typedef {{number: number, fromDevice: End, toDevice: End, from: string, to: string}} Lead */

/** "positioner FV-301, +" is the terminal + of positioner FV-301. @param {string} text @returns {End} */
export function endOf(text) {
	const at = text.lastIndexOf(', ');

	return at < 0 ? {name: text, terminal: ''} : {name: text.slice(0, at), terminal: text.slice(at + 2)};
}

/** @param {{from: string, to: string}[]} connections @returns {{loop: any, across: Lead[], chains: Lead[][]}} */
export function arrange(connections) {
	const leads = connections.map((lead, i) => ({number: i + 1, from: lead.from, to: lead.to, fromDevice: endOf(lead.from), toDevice: endOf(lead.to)}));
	const across = leads.filter(lead => lead.to.startsWith('across '));
	const rest = leads.filter(lead => !across.includes(lead));
	const chains = chainsOf(rest);
	const closed = chains.find(chain => chain.length > 1 && chain[0].fromDevice.name === chain[chain.length - 1].toDevice.name);

	return {loop: closed ? loopOf(closed) : null, across, chains: chains.filter(chain => chain !== closed)};
}

/** Leads that follow on one another. @param {Lead[]} leads @returns {Lead[][]} */
function chainsOf(leads) {
	/** @type {Lead[][]} */
	const chains = [];

	for (const lead of leads) {
		const chain = chains[chains.length - 1], end = chain?.[chain.length - 1];
		if (end && end.toDevice.name === lead.fromDevice.name && end.toDevice.name !== chain[0].fromDevice.name)
			chain.push(lead);
		else
			chains.push([lead]);
	}
	return chains;
}

/** @param {Lead[]} leads closed: the last ends where the first begins */
function loopOf(leads) {
	const [out, ...back] = leads, home = back[back.length - 1];

	return {
		out, back,
		left: {name: out.fromDevice.name, out: out.fromDevice.terminal, in: home.toDevice.terminal},
		right: {name: out.toDevice.name, in: out.toDevice.terminal, out: back[0].fromDevice.terminal},
		between: back.slice(0, -1).map(lead => lead.toDevice),
	};
}

/** Breaks a text into lines of at most so many letters, at its spaces; a longer word at its hyphens, or where the line ends. @param {string} text @param {number} letters */
export function wrap(text, letters) {
	/** @type {string[]} */
	const lines = [];

	for (const word of text.split(' ').flatMap(whole => pieces(whole, letters))) {
		const last = lines[lines.length - 1];
		if (last !== undefined && last.length + 1 + word.length <= letters)
			lines[lines.length - 1] = `${last} ${word}`;
		else
			lines.push(word);
	}
	return lines;
}

/** @param {string} word @param {number} letters @returns {string[]} */
function pieces(word, letters) {
	if (word.length <= letters || letters < 1)
		return [word];
	const end = word.lastIndexOf('-', letters - 1) + 1 || letters;
	return [word.slice(0, end), ...pieces(word.slice(end), letters)];
}
