/* The raised field: one point, what to apply, what is expected, the reading. Enter saves it and opens the next. */
import {keep, forget, typedBefore} from '../../lib/draft.js';
import {h} from '../../lib/dom.js';
import {clearErrors, markField, signButton} from '../../lib/form.js';
import {shown} from '../../lib/format.js';
import {icon} from '../../lib/mark.js';
import {readNumber} from '../../lib/number.js';
import {t} from '../../lib/words.js';
import {bare} from './ladder.js';

/**
 * @param {{record: any, run: any, point: any, count: number, settle: number, undo: (() => void)|null,
 *   enter: (reading: {observed: string, applied: string|null, shown: {applied: string, observed: string}}) => void}} spec
 */
export function entry({record, run, point, count, settle, undo, enter}) {
	const key = `${record.id}.${run.kind}.${run.attempt}.${point.index}`;
	const observed = bigField('observed', `Reading, ${run.output_unit}`, run.output_unit, `${key}.observed`, '');
	const applied = bigField('applied', `Applied, ${run.input_unit}`, run.input_unit, `${key}.applied`, bare(point.shown_set, run.input_unit));
	const unchanged = applied.input.defaultValue;

	/** @param {Event} event */
	function submit(event) {
		event.preventDefault();
		clearErrors(form);
		const reading = take(observed), source = take(applied);
		if (!reading || !source) {
			(reading ? applied : observed).input.focus();
			return;
		}
		forget(`${key}.observed`);
		forget(`${key}.applied`);
		enter({observed: reading.text, applied: applied.input.value === unchanged ? null : source.text,
			shown: {observed: `${signed(reading.text)} ${run.output_unit}`, applied: `${signed(source.text)} ${run.input_unit}`}});
	}
	const form = h('form', {class: 'entry-form', novalidate: true, onsubmit: submit, 'data-point': key},
		observed.holder,
		h('div', {class: 'entry-side'}, applied.holder),
		h('div', {class: 'entry-actions'}, h('button', {class: 'primary big enter', 'data-key': 'enter'}, 'Enter'),
			h('button', {type: 'button', class: 'big', 'data-key': 'undo', disabled: !undo, onclick: undo}, icon('back'), 'Undo last')));

	return h('section', {class: 'raised entry', 'aria-labelledby': 'point-head'},
		h('h2', {id: 'point-head', class: 'entry-head'},
			h('span', {class: 'entry-count'}, `Point ${point.index + 1} of ${count}, `, icon(point.direction === 'rising' ? 'arrow-up' : 'arrow-down'), t(`direction.${point.direction}`),
				point.cycle > 1 || run.points.some((/** @type {any} */ other) => other.cycle > 1) ? `, cycle ${point.cycle}` : ''),
			h('span', {class: 'entry-set'}, 'Apply ', h('span', {class: 'number'}, shown(point.shown_set)))),
		h('p', {class: 'entry-expected'}, 'Should read ', h('b', {class: 'number'}, shown(point.shown_expected)),
			point.shown_low && point.shown_high && [', allowed ', h('span', {class: 'number nowrap'}, shown(point.shown_low)), ' to ', h('span', {class: 'number nowrap'}, shown(point.shown_high))],
			settle > 0 && h('span', {class: 'muted'}, `. Let it settle for ${settle}\u00a0s.`)),
		form);
}

/** @param {string} name @param {string} label @param {string} unit @param {string} key @param {string} start */
export function bigField(name, label, unit, key, start) {
	const id = `entry-${name}`;
	const input = /** @type {HTMLInputElement} */ (h('input', {id, name, type: 'text', inputmode: 'decimal', autocomplete: 'off', spellcheck: 'false', enterkeyhint: 'next', maxlength: 24, class: 'number',
		'aria-describedby': `${id}-error`}));
	const error = h('p', {class: 'field-error', id: `${id}-error`, hidden: true});
	const holder = h('div', {class: `field entry-${name}`, 'data-pointer': `/${name}`, 'data-name': name},
		h('label', {for: id}, label), h('div', {class: 'number-field'}, input, h('span', {class: 'unit muted', 'aria-hidden': 'true'}, unit), signButton(input)), error);

	input.value = start;
	input.defaultValue = start;
	keep(input, key);
	if (typedBefore(key) === null)
		input.value = start;
	return {holder, input};
}

/** @param {{holder: HTMLElement, input: HTMLInputElement}} part */
export function take({holder, input}) {
	const typed = readNumber(input.value);

	if (typed.ok)
		return typed;
	markField(holder, t(`number.${typed.why}`));
	return null;
}

/** @param {string} text */
export function signed(text) {
	return text.replace(/^-/, '\u2212');
}
