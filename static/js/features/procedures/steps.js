/*
 * The steps of a procedure: checklists, and the one step that is judged, which is either readings at points or a switch that
 * is made to act.
 */
import {h} from '../../lib/dom.js';
import {choiceBlank, deed, numberBlank, textBlank, tick} from '../../lib/blanks.js';
import {ERROR_AT, PATTERNS, POINT_CHOICES, choiceOf, freshId, isJudged, judgedAs} from './document.js';
import {lines, set} from './lines.js';

/** @typedef {import('./limits.js').Writing} Writing */

/** @param {Writing} writing */
export function stepsEditor(writing) {
	const {typed, changed, redraw} = writing;
	const move = (/** @type {number} */ i) => {
		typed.steps.splice(i - 1, 2, typed.steps[i], typed.steps[i - 1]);
		changed();
		redraw(`/document/steps/${i - 1}/title`);
	};

	return [
		h('ol', {class: 'document-steps'}, typed.steps.map((/** @type {any} */ step, /** @type {number} */ i) => h('li', {},
			h('div', {class: 'step-head'},
				textBlank({label: `Title of step ${i + 1}`, pointer: `/document/steps/${i}/title`, value: step.title, most: 120, write: set(step, 'title', changed)}),
				h('span', {class: 'line-deeds'}, i > 0 && deed('Up', `with step ${i + 1}`, () => move(i)),
					!isJudged(step) && deed('Remove', `step ${i + 1}`, () => {
						typed.steps.splice(i, 1);
						changed();
						redraw(`/document/steps/${Math.max(0, i - 1)}/title`);
					}))),
			isJudged(step) ? judgedEditor(step, i, writing) : checklistEditor(step, i, writing)))),
		deed('Add a checklist', 'to the steps', () => {
			const at = typed.steps.findIndex(isJudged);
			typed.steps.splice(at, 0, {kind: 'checklist', title: 'Checks', items: [{id: freshId(typed, 'check'), text: '', apply: ''}]});
			changed();
			redraw(`/document/steps/${at}/title`);
		}, 'add-checklist'),
	];
}

/** @param {any} step @param {number} at @param {Writing} writing */
function checklistEditor(step, at, writing) {
	const {typed, changed} = writing;

	return lines({list: step.items, pointer: `/document/steps/${at}/items`, noun: 'Check', most: 300, text: item => item.text, make: () => ({id: freshId(typed, 'check'), text: '', apply: ''}),
		put: (i, text) => {
			step.items[i].text = text;
			changed();
		},
		more: (item, i) => h('span', {class: 'sentence check-apply'}, 'with', numberBlank({label: `Input applied for check ${i + 1}, in % of its span; empty for none`, pointer: `/document/steps/${at}/items/${i}/apply`, value: item.apply, write: set(item, 'apply', changed)}), '% of the input\u2019s span applied'),
	}, writing);
}

/** What is judged is chosen first; a switch step is for switches alone, so the kinds follow. @param {any} step @param {number} i @param {Writing} writing */
function judgedEditor(step, i, writing) {
	const {typed, changed, redraw, redrawAll} = writing, key = `/document/steps/${i}/kind`;

	return [
		h('p', {class: 'sentence'}, 'Judged by', choiceBlank({label: 'What is judged', pointer: key, value: step.kind, options: [['points', 'readings at points'], ['switch', 'where a switch acts']], write: kind => {
			typed.steps[i] = judgedAs(step, kind);
			typed.kinds = kind === 'switch' ? ['switch'] : typed.kinds;
			changed();
			redrawAll();
			redraw(key);
		}})),
		step.kind === 'points' ? pointsEditor(step, i, writing) : switchEditor(step, i, writing),
	];
}

/** @param {any} step @param {number} i @param {Writing} writing */
function pointsEditor(step, i, {changed, redraw}) {
	const at = `/document/steps/${i}`;
	const percent = numberBlank({label: 'Points, in % of the input\u2019s span, with spaces between', pointer: `${at}/percent`, size: 'points', value: step.percent, write: text => {
		step.percent = text;
		/** @type {HTMLSelectElement} */ (choice.querySelector('select')).value = choiceOf(text);
		changed();
	}});
	const choice = choiceBlank({label: 'Choice of points', pointer: `${at}/choice`, value: choiceOf(step.percent), options: [...POINT_CHOICES.map(({name, words}) => /** @type {[string, string]} */ ([name, words])), ['own', 'points of your own']], write: name => {
		step.percent = POINT_CHOICES.find(one => one.name === name)?.percent ?? step.percent;
		changed();
		redraw(name === 'own' ? `${at}/percent` : `${at}/choice`);
	}});

	return [
		h('p', {class: 'sentence'}, 'Readings at', choice, percent, '% of the input\u2019s span,'),
		h('p', {class: 'sentence'}, choiceBlank({label: 'Direction', pointer: `${at}/pattern`, value: step.pattern, options: PATTERNS, write: set(step, 'pattern', changed)}),
			numberBlank({label: 'How many times over', pointer: `${at}/cycles`, value: step.cycles, write: set(step, 'cycles', changed)}), 'times over, settling for',
			numberBlank({label: 'Settling time at each point, in seconds', pointer: `${at}/settle_s`, value: step.settle_s, write: set(step, 'settle_s', changed)}), 's at each.'),
		h('p', {class: 'sentence'}, 'The error is taken at', choiceBlank({label: 'Where the error is taken', pointer: `${at}/error_at`, value: step.error_at, options: ERROR_AT, write: set(step, 'error_at', changed)})),
		h('p', {class: 'sentence'}, 'The dead band is sought at', numberBlank({label: 'Places of the dead band, in % of the input\u2019s span, with spaces between; empty for none', pointer: `${at}/dead_band/percent`, size: 'points', value: step.dead_band.percent, write: set(step.dead_band, 'percent', changed)}),
			'% of the input\u2019s span, at most', numberBlank({label: 'Largest dead band allowed, in % of the input\u2019s span; empty for no limit', pointer: `${at}/dead_band/limit`, value: step.dead_band.limit, write: set(step.dead_band, 'limit', changed)}), '% wide (empty: not sought).'),
		tick({label: 'points beyond what a 4\u201320 mA signal can say are drawn in to 3.8 and 20.5 mA (NAMUR NE 43)', key: `${at}/within_signal`, pointer: `${at}/within_signal`, value: step.within_signal, write: set(step, 'within_signal', changed)}),
	];
}

/** @param {any} step @param {number} i @param {Writing} writing */
function switchEditor(step, i, {changed}) {
	const at = `/document/steps/${i}`;

	return [
		h('p', {class: 'sentence'}, 'The input is moved slowly until the switch acts,', numberBlank({label: 'How many times it is made to act', pointer: `${at}/actuations`, value: step.actuations, write: set(step, 'actuations', changed)}),
			'times, with', numberBlank({label: 'Pause between actuations, in seconds', pointer: `${at}/settle_s`, value: step.settle_s, write: set(step, 'settle_s', changed)}), 's between.'),
		tick({label: 'where it goes back is read too, and with it the dead band', key: `${at}/reads_reset`, pointer: `${at}/reads_reset`, value: step.reads_reset, write: set(step, 'reads_reset', changed)}),
		h('p', {class: 'muted'}, 'Set point, reset point and dead band are the instrument\u2019s, from its data sheet in the register. The limits below say how far off the set point and the reset point may be; % of span is of the input\u2019s range.'),
	];
}
