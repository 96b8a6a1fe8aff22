/*
 * What changed between two JSON documents, member by member, and between two texts, word by word. Pure.
 *
 *   memberChanges({low: 0, unit: 'kPa'}, {low: 10, unit: 'kPa'})      [{path: ['low'], before: 0, after: 10}]
 *   wordChanges('filters 6 and 7', 'filters 7 and 8')                  pieces that stay, go and come
 */

/** @typedef {{path: Array<string|number>, before: any, after: any}} Change before or after is undefined where the member did not exist */

/** @param {any} value */
function isObject(value) {
	return value !== null && typeof value === 'object' && !Array.isArray(value);
}

/** @param {any} a @param {any} b @returns {boolean} */
export function same(a, b) {
	if (Array.isArray(a) && Array.isArray(b))
		return a.length === b.length && a.every((item, i) => same(item, b[i]));
	if (isObject(a) && isObject(b)) {
		const names = Object.keys(a);
		return names.length === Object.keys(b).length && names.every(name => name in b && same(a[name], b[name]));
	}
	return Object.is(a, b);
}

/**
 * Lists of one length are compared item by item, lists of other lengths as a whole unless both hold objects or lists.
 *
 * @param {any} before @param {any} after @param {Array<string|number>} [path] @returns {Change[]}
 */
export function memberChanges(before, after, path = []) {
	if (same(before, after))
		return [];
	if (isObject(before) && isObject(after))
		return [...new Set([...Object.keys(before), ...Object.keys(after)])].flatMap(name => memberChanges(before[name], after[name], [...path, name]));
	if (Array.isArray(before) && Array.isArray(after) && (before.length === after.length || [...before, ...after].every(item => item !== null && typeof item === 'object')))
		return Array.from({length: Math.max(before.length, after.length)}, (_, i) => memberChanges(before[i], after[i], [...path, i])).flat();
	return [{path, before, after}];
}

/** @typedef {{kind: 'same'|'gone'|'new', text: string}} Piece */

/**
 * The longest common run of words stays; what is between them goes or comes. Texts beyond 400 words are one piece each.
 *
 * @param {string} before @param {string} after @returns {Piece[]}
 */
export function wordChanges(before, after) {
	const a = before.split(/(?<=\s)/), b = after.split(/(?<=\s)/);

	if (a.length > 400 || b.length > 400)
		return [{kind: 'gone', text: before}, {kind: 'new', text: after}];
	/* longest[i][j]: how many words the tails from i and j have in common, in order */
	const longest = Array.from({length: a.length + 1}, () => new Array(b.length + 1).fill(0));
	for (let i = a.length - 1; i >= 0; i--)
		for (let j = b.length - 1; j >= 0; j--)
			longest[i][j] = a[i].trim() === b[j].trim() ? longest[i + 1][j + 1] + 1 : Math.max(longest[i + 1][j], longest[i][j + 1]);

	/** @type {Piece[]} */
	const pieces = [];
	const put = (/** @type {Piece['kind']} */ kind, /** @type {string} */ text) => {
		const last = pieces.at(-1);
		if (last?.kind === kind)
			last.text += text;
		else
			pieces.push({kind, text});
	};
	let i = 0, j = 0;
	while (i < a.length || j < b.length) {
		if (i < a.length && j < b.length && a[i].trim() === b[j].trim()) {
			put('same', b[j]);
			i++;
			j++;
		} else if (i < a.length && (j === b.length || longest[i + 1][j] >= longest[i][j + 1])) {
			put('gone', a[i++]);
		} else {
			put('new', b[j++]);
		}
	}
	return pieces.filter(piece => piece.text !== '');
}

/**
 * Three-way: what is untouched since base follows theirs, what was touched stays mine. Objects member by member, lists whole.
 *
 * @param {any} base @param {any} mine @param {any} theirs @returns {any}
 */
export function mergeThree(base, mine, theirs) {
	if (same(mine, base))
		return theirs;
	if (!isObject(base) || !isObject(mine) || !isObject(theirs))
		return mine;
	return Object.fromEntries([...new Set([...Object.keys(theirs), ...Object.keys(mine)])]
		.map(name => [name, mergeThree(base[name], mine[name], theirs[name])]).filter(([, value]) => value !== undefined));
}
