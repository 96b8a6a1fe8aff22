/* The HART modem of a channel that is fed from here: attach, what it does, detach. Leaving the page detaches it. */
import {h, fill} from '../../lib/dom.js';
import {feedChannel} from '../../lib/feed.js';
import {loadHart} from '../../lib/hart.js';
import {openModem} from '../../lib/modem.js';

/** @param {any} channel */
export const needsModem = channel => channel?.source?.protocol === 'hart_browser';

/** @param {any} channel @param {string} [look] class of its button */
export function modemPart(channel, look) {
	const serial = /** @type {any} */ (navigator).serial;
	const name = () => h('span', {class: 'visually-hidden'}, ` of ${channel.label}`);
	const state = h('p', {class: 'small modem-state', role: 'status'}), act = h('div', {class: 'actions'});
	const attach = h('button', {type: 'button', class: look, onclick: begin}, 'Attach modem', name()), detach = h('button', {type: 'button', class: look, onclick: end}, 'Detach modem', name());
	/** @type {ReturnType<typeof feedChannel>|null} */ let feed = null;
	/** @type {import('../../lib/modem.js').Modem|null} */ let modem = null;

	if (!serial)
		return h('p', {class: 'small muted'}, 'To attach its HART modem here takes a browser with Web Serial (Chromium, and those built on it), and this page over https or from the machine itself.');
	fill(act, attach);
	addEventListener('pagehide', () => feed?.stop(true));

	/** @param {string} words @param {boolean} [bad] */
	function say(words, bad = false) {
		if (state.textContent !== words)
			state.textContent = words;
		state.classList.toggle('bad', bad);
	}

	async function begin() {
		let port;

		try {
			port = await serial.requestPort();
		} catch {
			return say('No modem was chosen.');
		}
		say('Opening the modem.');
		fill(act, detach);
		try {
			const hart = await loadHart();

			modem = await openModem(port, hart);
			feed = feedChannel(channel, modem, hart, told);
			await over(await feed.run());
		} catch (error) {
			await over(error);
		}
	}

	/** @param {import('../../lib/feed.js').News} news */
	function told(news) {
		if ('asking' in news)
			say(`Asking who answers at address ${channel.source.address ?? 0}.`);
		else if ('trouble' in news)
			say(sentence(news.trouble), true);
		else
			say(news.value.good ? `Attached: ${news.value.device}${news.value.tag ? `, tag ${news.value.tag}` : ''} answers.` : sentence(news.value.why), !news.value.good);
	}

	/** The end of it, with why it came when nobody wanted it. @param {any} why */
	async function over(why) {
		const held = modem, fed = feed;

		modem = feed = null;
		await fed?.stop();
		await held?.close();
		fill(act, attach);
		say(why ? `${sentence(why.message)} The modem is detached.` : 'Detached.', Boolean(why));
	}

	async function end() {
		say('Detaching.');
		await feed?.stop();
	}
	return h('div', {class: 'modem'}, state, act);
}

/** @param {string} text */
const sentence = text => text ? `${text[0].toUpperCase()}${text.slice(1)}${/[.!?]$/.test(text) ? '' : '.'}` : '';
