/*
 * A switch in a run: the raised field that asks where it acted and where it went back, and the list of actuations that
 * stands where a ladder of points stands otherwise.
 */
import {forget} from '../../lib/draft.js';
import {h} from '../../lib/dom.js';
import {clearErrors} from '../../lib/form.js';
import {shown} from '../../lib/format.js';
import {icon, mark} from '../../lib/mark.js';
import {t} from '../../lib/words.js';
import {bigField, signed, take} from './entry.js';
import {bare} from './ladder.js';

/** Is this the point where it acts, or the one where it goes back? @param {any} run @param {any} point */
export function acts(run, point) {
	return point.direction === run.switch.acts_on;
}

/**
 * @param {{record: any, run: any, point: any, settle: number, undo: (() => void)|null,
 *   enter: (reading: {observed: string, applied: string|null, shown: {applied: string, observed: string}}) => void}} spec
 */
export function actuationEntry({record, run, point, settle, undo, enter}) {
	const key = `${record.id}.${run.kind}.${run.attempt}.${point.index}`, acting = acts(run, point), unit = run.input_unit;
	const observed = bigField('observed', `${acting ? 'Acted at' : 'Went back at'}, ${unit}`, unit, `${key}.observed`, '');

	/** @param {Event} event */
	function submit(event) {
		event.preventDefault();
		clearErrors(form);
		const reading = take(observed);
		if (!reading)
			return void observed.input.focus();
		forget(`${key}.observed`);
		const text = `${signed(reading.text)} ${unit}`;
		enter({observed: reading.text, applied: null, shown: {observed: text, applied: acting ? 'acted at' : 'went back at'}});
	}
	const form = h('form', {class: 'entry-form', novalidate: true, onsubmit: submit, 'data-point': key},
		observed.holder,
		h('div', {class: 'entry-actions'}, h('button', {class: 'primary big enter', 'data-key': 'enter'}, 'Enter'),
			h('button', {type: 'button', class: 'big', 'data-key': 'undo', disabled: !undo, onclick: undo}, icon('back'), 'Undo last')));

	return h('section', {class: 'raised entry', 'aria-labelledby': 'point-head'},
		h('h2', {id: 'point-head', class: 'entry-head'},
			h('span', {class: 'entry-count'}, `Actuation ${point.cycle} of ${run.switch.wanted}, `, icon(point.direction === 'rising' ? 'arrow-up' : 'arrow-down'), t(`direction.${point.direction}`)),
			h('span', {class: 'entry-set'}, `${point.direction === 'rising' ? 'Raise' : 'Lower'} slowly until it ${acting ? 'acts' : 'goes back'}`)),
		expected(run, point, settle), form);
}

/** What is allowed, which on the way back follows from where it acted. @param {any} run @param {any} point @param {number} settle */
export function expected(run, point, settle) {
	const acting = acts(run, point), {shown_low: low, shown_high: high, shown_expected: at} = point;
	const allowed = low && high ? [h('span', {class: 'number nowrap'}, shown(low)), ' to ', h('span', {class: 'number nowrap'}, shown(high))]
		: low || high ? [low ? 'at least ' : 'at most ', h('span', {class: 'number nowrap'}, shown(low ?? high))] : null;

	const band = !acting && run.switch.shown_dead_band_limits;

	return h('p', {class: 'entry-expected'},
		at ? [acting ? 'Should act at ' : 'Should go back at ', h('b', {class: 'number'}, shown(at)), allowed && [', allowed ', allowed]]
			: allowed ? ['Should go back at ', allowed] : !band && 'Where it goes back is written down; no limit is set.',
		acting && settle > 0 && h('span', {class: 'muted'}, `. Begin well away from it; wait ${settle}\u00a0s between.`),
		band && h('span', {class: at || allowed ? 'muted' : null}, `${at || allowed ? '. ' : ''}Dead band allowed: ${shown(band)}.`));
}

/** One line an actuation: acted, went back. @param {any} run @param {any[]} points with what is not yet sent @param {number} current index of the next point; -1 when there is none */
export function actuationList(run, points, current) {
	const cycles = [...new Set(points.map(point => point.cycle))], twice = run.switch.reads_reset;
	const head = (/** @type {string} */ word, /** @type {boolean} */ acting) => h('th', {scope: 'col'},
		h('span', {class: 'leg-head'}, icon((run.switch.acts_on === 'rising') === acting ? 'arrow-up' : 'arrow-down'), word));

	return h('table', {class: 'ladder'},
		h('caption', {}, `${points.filter(point => point.reading).length} of ${points.length} readings, ${run.input_unit}`),
		h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, h('span', {class: 'visually-hidden'}, 'actuation')), head('acted', true), twice && head('went back', false))),
		h('tbody', {}, cycles.map(cycle => h('tr', {}, h('th', {scope: 'row', class: 'number'}, cycle),
			points.filter(point => point.cycle === cycle).map(point => cell(point, run, current))))));
}

/** @param {any} point @param {any} run @param {number} current */
function cell(point, run, current) {
	const {reading} = point;

	if (reading)
		return h('td', {class: `rung ${reading.unsent ? 'held' : 'read'}`}, h('span', {class: 'rung-in'}, mark(reading.verdict ?? null),
			h('span', {class: 'number'}, bare(reading.shown_observed, run.input_unit)),
			h('span', {class: 'visually-hidden'}, reading.verdict && ` ${t(`verdict.${reading.verdict}`)}`, reading.unsent && (reading.refused ? ', needs attention' : ', on this tablet, not yet on the server'))));
	return point.index === current
		? h('td', {class: 'rung next'}, h('span', {class: 'rung-in'}, icon(point.direction === 'rising' ? 'arrow-up' : 'arrow-down'), 'now'))
		: h('td', {class: 'rung to-come'}, h('span', {class: 'rung-in muted'}, h('span', {'aria-hidden': 'true'}, '\u00b7'), h('span', {class: 'visually-hidden'}, 'to come')));
}
