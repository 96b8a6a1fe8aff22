/*
 * Blanks to fill in: fields that stand within a sentence, on a ruled line. Each has a name for who cannot see the sentence, a
 * pointer, and a place for its error.
 */
import {h, uniqueId} from './dom.js';

/** @typedef {{label: string, pointer: string, value: string, write: (text: string) => void, key?: string, named?: boolean}} Blank named: its name stands above it */

/** A number. @param {Blank & {size?: 'points'}} spec */
export function numberBlank(spec) {
	return holder(spec, `blank number-blank ${spec.size ?? ''}`, common => h('input', {...common, type: 'text', inputmode: 'decimal', autocomplete: 'off', spellcheck: 'false', class: 'number', value: spec.value}));
}

/** A line of text that grows with what is written; Enter asks for the next line. @param {Blank & {most: number, lines?: boolean, enter?: () => void}} spec */
export function textBlank(spec) {
	return holder(spec, 'blank text-blank', common => h('textarea', {...common, rows: spec.lines ? 2 : 1, maxlength: spec.most, value: spec.value, onkeydown: (/** @type {KeyboardEvent} */ event) => {
		if (event.key !== 'Enter' || spec.lines)
			return;
		event.preventDefault();
		spec.enter?.();
	}}));
}

/** A choice of words. @param {Blank & {options: Array<[string, string]>}} spec */
export function choiceBlank(spec) {
	return holder(spec, 'blank choice-blank', common => h('select', {...common, value: spec.value}, spec.options.map(([value, word]) => h('option', {value}, word))));
}

/** @param {Blank} spec @param {string} css @param {(common: any) => HTMLElement} make */
function holder(spec, css, make) {
	const id = uniqueId('blank');
	const input = make({id, 'aria-describedby': `${id}-error`, 'data-key': spec.key ?? spec.pointer});

	input.addEventListener(input.tagName === 'SELECT' ? 'change' : 'input', () => spec.write(/** @type {any} */ (input).value));
	return h('span', {class: css, 'data-pointer': spec.pointer}, h('label', {class: spec.named ? 'muted small' : 'visually-hidden', for: id}, spec.label), input,
		h('span', {class: 'field-error', id: `${id}-error`, hidden: true}));
}

/** A box to tick. @param {{label: string, value: boolean, write: (value: boolean) => void, key: string, pointer?: string}} spec */
export function tick(spec) {
	return h('label', {class: 'choice', 'data-pointer': spec.pointer ?? null}, h('input', {type: 'checkbox', checked: spec.value, 'data-key': spec.key,
		onchange: (/** @type {any} */ event) => spec.write(event.target.checked)}), h('span', {}, spec.label));
}

/** A small deed at the end of a line. @param {string} word @param {string} what spoken after it @param {() => void} act @param {string} [key] */
export function deed(word, what, act, key) {
	return h('button', {type: 'button', class: 'quiet deed', onclick: act, 'data-key': key ?? null}, word, h('span', {class: 'visually-hidden'}, ` ${what}`));
}
