/*
 * As found and as left: ladder, raised field, chart, last verdict, and the outcome when the run is complete. A reading goes
 * to this tablet first and to the server at once after; while the server is away the points go on, judged by this tablet's core.
 */
import {fill, h} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';
import {icon, mark} from '../../lib/mark.js';
import {pointsWithUnsent} from '../../lib/unsent.js';
import {t} from '../../lib/words.js';
import {actuationEntry, actuationList, expected} from './actuation.js';
import {deadBandEntry, deadBandTable, nextPlace} from './deadband.js';
import {entry} from './entry.js';
import {ladder} from './ladder.js';
import {livePanel} from './live.js';
import {outcome, said, verdictOf} from './outcome.js';
import {comesFirst, wayOn} from './thread.js';

/** @typedef {import('./prepare.js').Doing & {unsent: () => any[], enter: (run: any, point: any, reading: any) => void, undo: (run: any, points: any[]) => void}} PointDoing */

/**
 * The part of the page that a run fills; show() brings it up to date without touching the field that is being typed in.
 *
 * @param {'as_found'|'as_left'} kind
 * @param {PointDoing} doing
 * @param {{element: HTMLElement, show: (runs: any[]) => void}} chart
 */
export function pointsPhase(kind, doing, chart) {
	const first = h('div', {class: 'run-first'}), rungs = h('div', {class: 'run-ladder'}), field = h('div', {class: 'run-entry'});
	const last = h('div', {class: 'run-verdict', role: 'status'}), after = h('div', {class: 'stacked run-after'});
	const live = livePanel(/** @type {any} */ (doing));
	const element = h('div', {class: 'run-grid'}, first, live.element, field, last, rungs, h('div', {class: 'run-chart'}, chart.element), after);
	/* a place of the dead band that is taken once more */
	let again = -1;
	let open = '', latest = /** @type {any} */ ({run: null, points: []}); /* a field outlives many answers: what it undoes is the newest by now */

	/** @param {any} record */
	function show(record) {
		const run = record.runs.find((/** @type {any} */ one) => one.kind === kind);
		const blocked = comesFirst(record, kind) || (!run && noRunYet(record, doing));

		fill(first, blocked);
		for (const part of [field, last, rungs, chart.element.parentElement])
			/** @type {HTMLElement} */ (part).hidden = !run;
		if (!run) {
			live.show(record, false);
			return void fill(after);
		}
		const points = pointsWithUnsent(run, doing.unsent());
		const next = points.find(point => !point.reading), working = doing.edit && !blocked;

		showField(record, run, points, working ? next : null, working);
		live.show(record, Boolean(working && next && !run.switch));
		const places = run.dead_band && !next && deadBandTable(run, working && !(kind === 'as_found' && record.adjustment?.made) ? at => {
			again = at;
			show(record);
		} : null);
		fill(rungs, (run.switch ? actuationList : ladder)(run, points, working && next ? next.index : -1));
		showLast(last, run, points);
		chart.show(record.runs.filter((/** @type {any} */ one) => one.kind === kind || (kind === 'as_left' && one.kind === 'as_found'))
			.map((/** @type {any} */ one) => ({...one, points: one === run ? points : one.points})));
		fill(after, places, run.complete && run.summary && outcome(run, {told: points.every(point => !point.reading?.unsent)}), run.complete && furtherRun(record, run, doing));
	}

	/** The field is built once for a point, so that nothing typed is lost when an answer comes in. */
	function showField(/** @type {any} */ record, /** @type {any} */ run, /** @type {any[]} */ points, /** @type {any} */ next, /** @type {boolean} */ working) {
		latest = {run, points};
		const undo = working && points.some(point => point.reading) && !(kind === 'as_found' && record.adjustment?.made) ? () => doing.undo(latest.run, latest.points) : null;
		const told = points.every(point => !point.reading?.unsent), place = working && !next && told ? again >= 0 ? again : nextPlace(run) : -1;
		const name = place >= 0 ? `dead ${run.attempt}.${place}` : next ? `${run.attempt}.${next.index}.${Boolean(undo)}` : `done ${run.complete} ${Boolean(undo)} ${points.some(point => point.reading?.unsent)} ${record.phase}`;
		const settle = record.procedure.document.steps.find((/** @type {any} */ step) => step.kind !== 'checklist')?.settle_s ?? 0;
		if (name === open) {
			/* the way back is known once the server has where it acted */
			if (next && run.switch)
				field.querySelector('.entry-expected')?.replaceWith(expected(run, next, settle));
			return;
		}
		const typing = field.contains(document.activeElement);
		open = name;
		if (place >= 0)
			return showPlace(record, run, place, undo);
		if (!next)
			return void fill(field, working || run.complete ? finished(record, run, points, undo) : null);
		fill(field, (run.switch ? actuationEntry : entry)({record, run, point: next, count: points.length, settle, undo, enter: reading => doing.enter(run, next, reading)}));
		if (typing || !document.activeElement || document.activeElement === document.body)
			/** @type {HTMLElement} */ (field.querySelector('#entry-observed')).focus({preventScroll: true});
	}

	/** @param {any} record @param {any} run @param {number} at @param {(() => void)|null} undo */
	function showPlace(record, run, at, undo) {
		fill(field, deadBandEntry({record, run, at, undo, save: body => {
			again = -1;
			return doing.change('PUT', `/dead-band/${at}`, body);
		}}));
		/** @type {HTMLElement} */ (field.querySelector('#entry-rising')).focus({preventScroll: true});
	}
	return {element, show};
}

/** @param {any} record @param {any} run @param {any[]} points @param {(() => void)|null} undo */
function finished(record, run, points, undo) {
	const back = undo && h('button', {type: 'button', class: 'big', 'data-key': 'undo', onclick: undo}, icon('back'), run.dead_band ? 'Undo last point' : 'Undo last');

	if (!run.summary || points.some(point => point.reading?.unsent))
		return h('section', {class: 'raised entry finished'}, h('h2', {}, run.switch ? 'All readings are taken' : 'All points are read'),
			h('p', {}, 'The run is judged when the readings on this tablet have reached the server.'), h('div', {class: 'entry-actions'}, back));
	return h('section', {class: 'raised entry finished'}, h('h2', {}, `The ${run.kind === 'as_found' ? 'as-found' : 'as-left'} run is complete`),
		verdictOf(run), said(run.summary), h('div', {class: 'entry-actions'}, wayOn(record, run.kind), back));
}

/** The newest reading in words. @param {Element} place @param {any} run @param {any[]} points */
function showLast(place, run, points) {
	const read = points.filter(point => point.reading), point = read[read.length - 1];
	const told = point ? point.reading.id ?? point.reading.key + (point.reading.refused ?? '') : 'none';

	if (/** @type {HTMLElement} */ (place).dataset.told === told)
		return;
	/** @type {HTMLElement} */ (place).dataset.told = told;
	if (!point)
		return void fill(place, h('p', {class: 'muted'}, 'The verdict on each reading stands here.'));
	if (point.reading.unsent && point.reading.sentence)
		return void fill(place, h('p', {class: 'verdict-line fade-in'}, mark(point.reading.verdict), h('span', {}, shown(point.reading.sentence),
			h('span', {class: 'muted'}, point.reading.refused ? `. Needs attention: ${point.reading.refused}` : '. On this tablet, not yet sent'))));
	if (point.reading.unsent)
		return void fill(place, h('p', {class: 'verdict-line'}, mark(null), h('span', {}, run.switch ? `${shown(point.reading.shown_observed)}: ` : `${shown(point.reading.shown_applied)} \u2192 ${shown(point.reading.shown_observed)}: `,
			point.reading.refused ? `needs attention: ${point.reading.refused}` : 'on this tablet, verdict after sending')));
	fill(place, h('p', {class: 'verdict-line fade-in'}, mark(point.reading.verdict), h('span', {}, shown(point.reading.sentence))));
}

/** @param {any} record @param {PointDoing} doing */
function noRunYet(record, doing) {
	if (!record.adjustment?.made)
		return h('div', {class: 'notice'}, h('p', {}, record.adjustment ? 'Nothing was adjusted, so the as-found run stands for as left too.' : 'An as-left run follows an adjustment. First say whether one was made.'),
			h('p', {}, h('a', {class: 'button', href: record.adjustment ? '#sign' : '#adjust'}, record.adjustment ? 'Go to sign' : 'Go to adjust')));
	return h('div', {class: 'notice'}, h('p', {}, record.runs[0].switch ? 'The same again, to show how it is left.' : 'The same points again, to show how it is left.'),
		h('button', {type: 'button', class: 'primary big', disabled: !doing.edit, onclick: () => doing.change('POST', '/as-left', {}).catch(doing.problem)}, 'Start the as-left run'));
}

/** After an as-left run that is not plainly inside: adjust again and run again. @param {any} record @param {any} run @param {PointDoing} doing */
function furtherRun(record, run, doing) {
	if (run.kind !== 'as_left' || !doing.edit || run.summary?.verdict === 'pass')
		return null;
	return h('section', {class: 'part'}, h('h2', {}, 'Not yet right?'), h('div', {},
		h('p', {}, shown(run.summary?.adjustment?.sentence ?? '')),
		h('button', {type: 'button', class: 'big', onclick: () => doing.change('POST', '/as-left', {}).catch(doing.problem)}, 'Adjusted again: run as left once more'),
		h('p', {class: 'muted small'}, `This was attempt ${run.attempt}; its readings stay on file.`)));
}
