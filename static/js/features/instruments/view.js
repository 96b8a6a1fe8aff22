/* An instrument as it stands in the register: what it is, what it does, what can hurt, how it was found over the years. */
import {h} from '../../lib/dom.js';
import {facts} from '../../lib/facts.js';
import {date, shown} from '../../lib/format.js';
import {certificateEnd, verdict} from '../../lib/mark.js';
import {figure, rangeText} from '../../lib/quantity.js';
import {t} from '../../lib/words.js';
import {CHARACTERISTICS} from './values.js';

/** @param {any} instrument */
export function identityPart(instrument) {
	return h('section', {class: 'part'}, h('h2', {}, 'Which one'), facts([
		['kind', t(`kind.${instrument.kind}`)],
		['area', h('a', {href: `/instruments?area=${instrument.area_id}`}, instrument.area)],
		['found at', instrument.location],
		['maker, model', [instrument.maker, instrument.model].filter(Boolean).join(', ')],
		['serial number', instrument.serial],
		['status', t(`status.${instrument.status}`)],
	]));
}

/** @param {any} instrument @param {HTMLElement|null} scale */
export function measuresPart(instrument, scale) {
	const {input, output, characteristic, loop, switch: points} = instrument;
	const follows = CHARACTERISTICS.find(([kind]) => kind === characteristic.kind)?.[1] ?? characteristic.kind;

	return h('section', {class: 'part'}, h('h2', {}, 'What it does'), h('div', {class: 'measures'},
		facts([
			['input', `${input.quantity}, ${rangeText(input)}`],
			['set point', points && `${figure(points.set_point)} ${input.unit}, ${t(`direction.${points.acts_on}`)}`],
			['reset point', points && points.reset_point !== null && `${figure(points.reset_point)} ${input.unit}`],
			['dead band', points?.dead_band && `${bandText(points.dead_band)} ${input.unit}`],
			['output', instrument.kind !== 'switch' && `${output.quantity}, ${rangeText(output)}`],
			['the output follows', instrument.kind !== 'switch' && (characteristic.r0 ? `${follows}, ${figure(characteristic.r0)} ohm at 0 °C` : follows)],
			['loop', loop && `${figure(loop.supply_v)} V supply, the device needs ${figure(loop.device_v)} V, ${figure(loop.series_ohm)} ohm in series, ${figure(loop.cable_ohm)} ohm of cable${loop.hart ? ', speaks HART' : ''}`],
			['at a value', h('a', {class: 'no-print', href: `/calculate?tag=${instrument.id}`}, 'Work out its output or its input')],
		]), scale));
}

/** '0.5 to 2', 'at most 2', 'at least 0.5'. @param {{low: number|null, high: number|null}} band */
function bandText({low, high}) {
	if (low === null)
		return `at most ${figure(high)}`;
	return high === null ? `at least ${figure(low)}` : `${figure(low)} to ${figure(high)}`;
}

/** @param {any} instrument */
export function hazardPart(instrument) {
	return instrument.hazards.length > 0 && h('section', {class: 'part'}, h('h2', {}, 'What can hurt'),
		h('ul', {class: 'bullets'}, instrument.hazards.map((/** @type {string} */ hazard) => h('li', {}, hazard))));
}

/** Newest first; how far it was off each time stands in one column, so that drift is seen. @param {any[]} records */
export function historyPart(records) {
	return h('section', {class: 'part'}, h('h2', {}, 'How it was found'), records.length
		? h('div', {class: 'table-frame'}, h('table', {class: 'stack'},
			h('thead', {}, h('tr', {}, ['Date', 'Record', 'As found', 'Worst', 'As left', 'State'].map(head => h('th', {scope: 'col', class: head === 'Worst' && 'number'}, head)))),
			h('tbody', {}, records.map(record => h('tr', {},
				h('td', {class: 'nowrap', 'data-label': 'date'}, date(record.tested_at ?? record.opened_at)),
				h('th', {scope: 'row'}, h('a', {href: `/record?id=${record.id}`}, record.number)),
				h('td', {'data-label': 'as found'}, judged(record.verdict_as_found)),
				h('td', {class: 'number', 'data-label': 'worst'}, shown(record.shown_worst_as_found)),
				h('td', {'data-label': 'as left'}, record.adjusted ? judged(record.verdict_as_left) : h('span', {class: 'muted'}, 'not adjusted')),
				h('td', {class: 'muted', 'data-label': 'state'}, t(`state.${record.state}`), record.state !== 'void' && certificateEnd(record)))))))
		: h('p', {class: 'muted'}, 'Never tested. The first test will stand here.'));
}

/** @param {string|null} value */
function judged(value) {
	return value && value !== 'not_judged' ? verdict(value) : h('span', {class: 'muted'}, '\u2013');
}
