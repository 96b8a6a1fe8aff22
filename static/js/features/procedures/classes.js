/* Tolerance classes of thermometers as the standards give them: the tables of the list, and one class over its temperatures. */
import {ApiError, Unreachable, call} from '../../lib/api.js';
import {amountField} from '../../lib/amount.js';
import {fill, h} from '../../lib/dom.js';
import {field, form} from '../../lib/form.js';
import {shown} from '../../lib/format.js';
import {figure} from '../../lib/quantity.js';
import {roundTicks} from '../../lib/scale.js';
import {bandFigure} from './band.js';

const STANDARDS = [['rtd', 'IEC 60751, industrial platinum thermometers'], ['thermocouple', 'IEC 60584-1, thermocouples']];

/** @param {any[]} classes */
export function classTables(classes) {
	return STANDARDS.map(([kind, title]) => {
		const list = classes.filter(one => one.element.kind === kind), clauses = new Set(list.map(one => one.source)), own = clauses.size > 1;
		return list.length > 0 && h('div', {class: 'table-frame'}, h('table', {class: 'stack class-table'},
			h('caption', {}, title, !own && h('span', {class: 'muted small block'}, [...clauses])),
			h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, 'Class'), h('th', {scope: 'col', class: 'number'}, 'Range'), h('th', {scope: 'col'}, 'Limit, t in \u00b0C'), own && h('th', {scope: 'col'}, 'Standard and clause'))),
			h('tbody', {}, list.map(one => row(one, own)))));
	});
}

/** @param {any} one @param {boolean} own whether each class names its clause, since they differ */
function row({code, title, low, high, words, source, rule}, own) {
	return h('tr', {},
		h('th', {scope: 'row'}, h('a', {href: `/tolerance?class=${code}`}, title)),
		h('td', {class: 'number', 'data-label': 'range'}, `${figure(low)} to ${figure(high)} \u00b0C`),
		h('td', {class: rule && 'class-limit', 'data-label': 'limit'}, h('span', {}, shown(words), !rule && h('span', {class: 'muted'}, ' (not as a rule)'))),
		own && h('td', {class: 'small', 'data-label': 'standard'}, h('span', {}, source)));
}

const STEPS = 60;	/* of the drawing, fine enough for the knee of a class */

/** The temperatures a class is tabled at: its ends, and round ones between. @param {number} low @param {number} high */
export function temperaturesOf(low, high) {
	const between = roundTicks(low, high, 8).ticks.map(value => Number(value.toFixed(6)));

	return [...new Set([low, ...between, high])].sort((a, b) => a - b);
}

/** One class: asked of the server, drawn, and tabled; a temperature of one's own joins the others. @param {any} one */
export function classReading(one) {
	const resistance = one.element.kind === 'rtd', result = h('div', {class: 'class-result stacked-fields'}, h('p', {class: 'progress', role: 'status'}, 'Working it out'));
	const state = {extra: /** @type {number[]} */ ([]), r0: 100};

	async function work() {
		/* the one asked for comes first, so that a refusal points at its field */
		const tabled = [...state.extra, ...temperaturesOf(one.low, one.high).filter(t => !state.extra.includes(t))];
		const drawn = Array.from({length: STEPS + 1}, (_, i) => one.low + (one.high - one.low) * i / STEPS);
		const answer = await call('POST', '/compute/tolerance_class', {code: one.code, temperatures: [...tabled, ...drawn], ...(resistance && {r0: state.r0})});
		fill(result, figures({...answer, values: answer.values.slice(0, tabled.length), drawn: answer.values.slice(tabled.length)}, state.extra));
	}

	work().catch(error => {
		if (!(error instanceof ApiError || error instanceof Unreachable))
			throw error;
		fill(result, h('p', {class: 'bad', role: 'alert'}, error.message));
	});
	return h('div', {class: 'stacked-fields'},
		form({class: 'form one-row no-print', submit: 'Work it out', fields: [
			field({name: 'temperature', label: 'At a temperature', unit: '\u00b0C', number: true, pointer: '/temperatures/0'}),
			resistance && amountField({name: 'r0', label: 'R\u2080', unit: 'ohm at 0 \u00b0C', value: '100', required: true})],
		onsubmit: async values => {
			const before = {...state};
			Object.assign(state, {extra: values.temperature === null ? [] : [Number(values.temperature)], r0: resistance ? Number(values.r0) : 100});
			try {
				await work();
			} catch (error) {
				Object.assign(state, before);
				throw error;
			}
		}}),
		result);
}

/** @param {any} answer @param {number[]} asked temperatures of one's own, marked */
function figures({output_unit: unit, values, drawn}, asked) {
	const ordered = [...values].sort((a, b) => a.temperature - b.temperature);

	return [
		asked.length > 0 && values.filter((/** @type {any} */ value) => asked.includes(value.temperature)).map((/** @type {any} */ value) =>
			h('p', {class: 'lead', role: 'status'}, `At ${figure(value.temperature)} \u00b0C: `, h('b', {}, `\u00b1${shown(value.shown_limit)} \u00b0C`), `, which is \u00b1${shown(value.shown_output_limit)} ${unit} of ${shown(value.shown_output)} ${unit}.`)),
		bandFigure({points: drawn.map((/** @type {any} */ value) => ({x: value.temperature, low: -value.limit, high: value.limit})), across: 'temperature, \u00b0C', up: 'error, \u00b0C'}),
		h('div', {class: 'table-frame'}, h('table', {class: 'figures'}, h('caption', {class: 'visually-hidden'}, 'What the class allows over temperature'),
			h('thead', {}, h('tr', {}, ['t, \u00b0C', 'limit, \u00b0C', `exact, ${unit}`, `limit, ${unit}`].map(head => h('th', {scope: 'col', class: 'number'}, head)))),
			h('tbody', {}, ordered.map(value => h('tr', {},
				h('th', {scope: 'row', class: 'number'}, figure(value.temperature)), h('td', {class: 'number'}, `\u00b1${shown(value.shown_limit)}`),
				h('td', {class: 'number muted'}, shown(value.shown_output)), h('td', {class: 'number'}, `\u00b1${shown(value.shown_output_limit)}`)))))),
	];
}
