/*
 * The dead band, once the points are read: at each place the input is raised slowly until the output moves, then lowered until
 * it moves back. Both inputs go to the server together, so this needs it.
 */
import {forget} from '../../lib/draft.js';
import {h} from '../../lib/dom.js';
import {clearErrors, showErrors} from '../../lib/form.js';
import {shown} from '../../lib/format.js';
import {icon, mark} from '../../lib/mark.js';
import {t} from '../../lib/words.js';
import {bigField, take} from './entry.js';
import {bare} from './ladder.js';

/** The place that is next, or -1. @param {any} run */
export function nextPlace(run) {
	return run.dead_band?.places.findIndex((/** @type {any} */ place) => place.value === null) ?? -1;
}

/** @param {{record: any, run: any, at: number, undo: (() => void)|null, save: (body: object) => Promise<any>}} spec */
export function deadBandEntry({record, run, at, undo, save}) {
	const band = run.dead_band, place = band.places[at], unit = run.input_unit, key = `${record.id}.${run.kind}.${run.attempt}.dead.${at}`;
	const before = (/** @type {string|null} */ text) => text === null ? '' : bare(text, unit);
	const rising = bigField('rising', `Moved while rising, ${unit}`, unit, `${key}.rising`, before(place.shown_rising));
	const falling = bigField('falling', `Moved back while falling, ${unit}`, unit, `${key}.falling`, before(place.shown_falling));
	const enter = /** @type {HTMLButtonElement} */ (h('button', {class: 'primary big enter', 'data-key': 'enter'}, 'Enter'));

	/** @param {Event} event */
	async function submit(event) {
		event.preventDefault();
		clearErrors(form);
		const up = take(rising), down = take(falling);
		if (!up || !down)
			return void (up ? falling : rising).input.focus();
		enter.disabled = true;
		try {
			await save({run: run.kind, rising: up.text, falling: down.text});
			forget(`${key}.rising`);
			forget(`${key}.falling`);
		} catch (error) {
			showErrors(form, error);
		} finally {
			enter.disabled = false;
		}
	}
	const form = h('form', {class: 'entry-form', novalidate: true, onsubmit: submit, 'data-place': key},
		rising.holder, falling.holder, h('p', {class: 'form-error', role: 'alert', hidden: true}),
		h('div', {class: 'entry-actions'}, enter, undo && h('button', {type: 'button', class: 'big', 'data-key': 'undo', onclick: undo}, icon('back'), 'Undo last point')));

	return h('section', {class: 'raised entry dead-band', 'aria-labelledby': 'place-head'},
		h('h2', {id: 'place-head', class: 'entry-head'}, h('span', {class: 'entry-count'}, `Dead band, place ${at + 1} of ${band.places.length}`),
			h('span', {class: 'entry-set'}, 'Settle near ', h('span', {class: 'number'}, shown(place.shown_set)))),
		h('p', {class: 'entry-expected'}, 'Raise the input slowly until the output moves; note the input. Then lower it until the output moves back.',
			band.shown_limit && h('span', {class: 'muted'}, ` Allowed: at most ${shown(band.shown_limit)} of the input\u2019s span.`)), form);
}

/** Place by place; again opens one that was taken. @param {any} run @param {((at: number) => void)|null} [again] */
export function deadBandTable(run, again = null) {
	const band = run.dead_band, unit = run.input_unit;
	const number = (/** @type {string|null} */ text, /** @type {string} */ of) => h('td', {class: 'number'}, text === null ? '\u2013' : bare(text, of));

	return band && h('div', {class: 'table-frame', tabindex: 0, role: 'region', 'aria-label': `Dead band of the ${t(`run.${run.kind}`)} run`}, h('table', {class: 'dead-band-table'},
		h('caption', {class: 'muted small'}, [`Dead band, ${unit}`, band.shown_limit && `at most ${shown(band.shown_limit)} of the input\u2019s span`].filter(Boolean).join(', ')),
		h('thead', {}, h('tr', {}, ['at', 'rising', 'falling', '% of span'].map(head => h('th', {scope: 'col', class: 'number'}, head)), again && h('th', {scope: 'col'}, h('span', {class: 'visually-hidden'}, 'again')))),
		h('tbody', {}, band.places.map((/** @type {any} */ place, /** @type {number} */ at) => h('tr', {}, h('th', {scope: 'row', class: 'number'}, bare(place.shown_set, unit)),
			number(place.shown_rising, unit), number(place.shown_falling, unit),
			h('td', {class: 'number'}, place.value === null ? '\u2013' : h('span', {class: 'rung-in'}, place.verdict !== 'not_judged' && mark(place.verdict), bare(place.shown_percent, '%'),
				place.verdict !== 'not_judged' && h('span', {class: 'visually-hidden'}, ` ${t(`verdict.${place.verdict}`)}`))),
			again && h('td', {}, place.value !== null && h('button', {type: 'button', class: 'quiet', 'data-key': `again-${at}`, onclick: () => again(at)}, 'Again', h('span', {class: 'visually-hidden'}, ` at ${shown(place.shown_set)}`))))))));
}
