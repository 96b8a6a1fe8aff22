/*
 * Two values that belong together: whichever is typed, the server gives the other. What is typed is kept in this tab.
 *
 *   pairPart({title: 'A signal', key: 'signal', more: [field(…)…], left: {…}, right: {…}, work: async (side, value, values) => text})
 *
 * work answers the other side's text, or throws the server's refusal; side says which was typed, values what stands in the other fields.
 */
import {ApiError, Unreachable} from '../../lib/api.js';
import {h} from '../../lib/dom.js';
import {clearErrors, field, markField} from '../../lib/form.js';
import {readNumber} from '../../lib/number.js';
import {t} from '../../lib/words.js';

const PAUSE = 150, PREFIX = 'loopledger.calculate.';

/**
 * @typedef {{name: string, label: string, unit?: string}} Side
 * @typedef {Record<string, string>} Values
 *
 * @param {{title: string, key: string, more: Array<HTMLElement|false>, left: Side, right: Side, start?: string, work: (side: 'left'|'right', value: number, values: Values) => Promise<string>,
 *   settle?: (values: Values, part: HTMLElement) => void, note?: any}} spec
 *   settle shows and hides what the choices ask for
 */
export function pairPart({title, key, more, left, right, start = '', work, settle, note}) {
	const kept = JSON.parse(sessionStorage.getItem(PREFIX + key) ?? 'null'), state = {side: /** @type {'left'|'right'} */ (kept?.side ?? 'left'), turn: 0, timer: 0};
	const sides = {left: field({...left, number: true}), right: field({...right, number: true})}, inputs = {left: inputOf(sides.left), right: inputOf(sides.right)};
	const said = h('p', {class: 'field-error pair-error', role: 'alert', hidden: true});
	const element = h('section', {class: 'part calculation'}, h('h2', {}, title), h('form', {class: 'calculation-form', novalidate: true, onsubmit: (/** @type {Event} */ event) => event.preventDefault()},
		more.length > 0 && h('div', {class: 'fields'}, more), h('div', {class: 'fields pair'}, sides.left, h('span', {class: 'pair-sign', 'aria-hidden': 'true'}, '\u21c4'), sides.right), note, said));
	const named = () => /** @type {any[]} */ ([...element.querySelectorAll('input[name], select[name]')]);
	const values = () => Object.fromEntries(named().map(input => [input.name, input.value]));

	function keep() {
		sessionStorage.setItem(PREFIX + key, JSON.stringify({side: state.side, values: values()}));
	}

	async function follow() {
		const typed = inputs[state.side], other = inputs[state.side === 'left' ? 'right' : 'left'], read = readNumber(typed.value), turn = state.turn += 1;
		clearErrors(element);
		if (!read.ok) {
			other.value = '';
			if (read.why !== 'empty')
				markField(sides[state.side], t(`number.${read.why}`));
			return;
		}
		try {
			const text = await work(state.side, read.value, values());
			if (turn === state.turn)
				other.value = text;
		} catch (error) {
			if (!(error instanceof ApiError || error instanceof Unreachable))
				throw error;
			if (turn !== state.turn)
				return;
			other.value = '';
			said.textContent = `${(error instanceof ApiError ? [...error.fields.values()].flat()[0] : null) ?? error.message}.`.replace(/^./, letter => letter.toUpperCase()).replace(/\.\.$/, '.');
			said.hidden = false;
		}
	}

	element.addEventListener('input', event => {
		if (event.target === inputs.left || event.target === inputs.right)
			state.side = event.target === inputs.left ? 'left' : 'right';
		settle?.(values(), element);
		keep();
		clearTimeout(state.timer);
		state.timer = window.setTimeout(follow, PAUSE);
	});
	inputs.left.value = start;
	for (const input of named())
		if (kept && input.name in kept.values)
			input.value = kept.values[input.name];
	settle?.(values(), element);
	follow();
	return element;
}

/** @param {HTMLElement} holder */
function inputOf(holder) {
	return /** @type {HTMLInputElement} */ (holder.querySelector('input'));
}
