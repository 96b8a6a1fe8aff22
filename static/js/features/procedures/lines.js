/* Numbered lines of text, and how a blank writes into the document: what several parts of the editor share. */
import {h} from '../../lib/dom.js';
import {deed, textBlank} from '../../lib/blanks.js';

/** @typedef {import('./limits.js').Writing} Writing */

/** @param {any} object @param {string} name @param {() => void} changed */
export function set(object, name, changed) {
	return (/** @type {any} */ value) => {
		object[name] = value;
		changed();
	};
}

/**
 * Numbered lines of text. Enter begins a new one below; one that is left empty is dropped when the document is saved.
 *
 * @param {{list: any[], pointer: string, noun: string, most: number, text: (item: any) => string, put: (i: number, text: string) => void, make: () => any, more?: (item: any, i: number) => any}} spec
 * @param {Writing} writing
 */
export function lines({list, pointer, noun, most, text, put, make, more}, {changed, redraw}) {
	const insert = (/** @type {number} */ i) => {
		list.splice(i, 0, make());
		changed();
		redraw(`${pointer}/${i}`);
	};

	return [
		list.length > 0 && h('ol', {class: 'document-lines'}, list.map((item, i) => h('li', {},
			textBlank({label: `${noun} ${i + 1}`, pointer: typeof item === 'string' ? `${pointer}/${i}` : `${pointer}/${i}/text`, key: `${pointer}/${i}`, value: text(item), most, enter: () => insert(i + 1), write: value => put(i, value)}),
			more?.(item, i),
			h('span', {class: 'line-deeds'},
				i > 0 && deed('Up', `with ${noun} ${i + 1}`, () => {
					list.splice(i - 1, 2, list[i], list[i - 1]);
					changed();
					redraw(`${pointer}/${i - 1}`);
				}),
				deed('Remove', `${noun} ${i + 1}`, () => {
					list.splice(i, 1);
					changed();
					redraw(list.length ? `${pointer}/${Math.max(0, i - 1)}` : `${pointer}/add`);
				}))))),
		deed('Add a line', `to ${noun}`, () => insert(list.length), `${pointer}/add`),
	];
}
