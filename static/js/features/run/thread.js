/* Where we are: prepare · prove · as found · adjust · as left · sign. */
import {h} from '../../lib/dom.js';
import {icon} from '../../lib/mark.js';
import {t} from '../../lib/words.js';

export const PHASES = ['prepare', 'prove', 'as_found', 'adjust', 'as_left', 'sign'];

/** Is nothing left to do in this phase? @param {any} record @param {string} phase */
export function phaseDone(record, phase) {
	if (!['open', 'returned'].includes(record.state))
		return true;
	if (record.to_do.some((/** @type {any} */ item) => item.phase === phase))
		return false;
	if (phase === 'adjust')
		return record.adjustment !== null;
	if (phase === 'as_left')
		return record.adjustment !== null && (!record.adjustment.made || Boolean(record.runs[1]?.complete));
	return phase !== 'sign';
}

/** No as-left run is called for. @param {any} record */
export function asLeftSkipped(record) {
	return record.adjustment !== null && !record.adjustment.made && !record.runs[1];
}

/** @param {any} record @param {string} shownPhase the one on the page */
export function thread(record, shownPhase) {
	return h('nav', {class: 'thread', 'aria-label': 'Steps of this test'}, h('ol', {}, PHASES.map(phase => {
		const skipped = phase === 'as_left' && asLeftSkipped(record), done = phaseDone(record, phase) && !skipped;
		const state = skipped ? 'not needed' : done ? 'done' : phase === record.phase ? 'now' : 'to come';

		return h('li', {class: `thread-step ${state.replace(' ', '-')}`}, h('a', {href: `#${phase}`, 'data-key': `thread-${phase}`, 'aria-current': phase === shownPhase ? 'step' : null},
			h('span', {class: 'thread-dot', 'aria-hidden': 'true'}, done && icon('check')),
			h('span', {}, t(`phase.${phase}`)), h('span', {class: 'visually-hidden'}, `, ${state}`)));
	})));
}

/**
 * The foot of a phase: what is missing here, or the one way on.
 *
 * @param {any} record @param {string} phase
 */
export function wayOn(record, phase) {
	const missing = record.to_do.filter((/** @type {any} */ item) => item.phase === phase);
	const next = PHASES[PHASES.indexOf(phase) + 1], to = next === 'as_left' && asLeftSkipped(record) ? 'sign' : next;

	if (missing.length)
		return h('div', {class: 'way-on'}, h('h2', {class: 'small-head'}, 'Still missing here'),
			h('ul', {class: 'bullets'}, missing.map((/** @type {any} */ item) => h('li', {}, item.text))));
	return to && h('div', {class: 'way-on'}, h('a', {class: 'button primary', 'data-key': 'way-on', href: `#${to}`}, `Go on: ${t(`phase.${to}`)}`, icon('arrow-right')));
}

/** What earlier phases still owe, or null. @param {any} record @param {string} phase */
export function comesFirst(record, phase) {
	const first = record.to_do.find((/** @type {any} */ item) => PHASES.indexOf(item.phase) < PHASES.indexOf(phase));

	return first && h('div', {class: 'notice'}, h('p', {}, h('b', {}, `First, under \u201c${t(`phase.${first.phase}`)}\u201d: `), first.text),
		h('p', {}, h('a', {class: 'button primary', href: `#${first.phase}`}, `Go to ${t(`phase.${first.phase}`)}`)));
}
