/*
 * The document with its numbers editable in place. It writes into one object (document.js says its shape), calls changed() at
 * every keystroke, and draws only the part anew whose lines were added or taken away, so that focus and caret stay.
 */
import {choiceBlank, numberBlank, textBlank, tick} from '../../lib/blanks.js';
import {fill, h} from '../../lib/dom.js';
import {KINDS} from '../../lib/kinds.js';
import {t} from '../../lib/words.js';
import {ROLES, freshId} from './document.js';
import {limitsEditor} from './limits.js';
import {lines, set} from './lines.js';
import {stepsEditor} from './steps.js';

/** @param {any} typed @param {() => void} changed @returns {HTMLElement} */
export function documentEditor(typed, changed) {
	const place = h('div', {class: 'document stacked-parts'});
	const redraws = /** @type {Array<() => void>} */ ([]);
	const redrawAll = () => redraws.forEach(redraw => redraw());
	const parts = [
		part('What for', purposeEditor), part('Prepare and bring', preparationEditor), part('What can hurt', cautionEditor), part('What is needed', needsEditor),
		part('Steps', stepsEditor), part('Limits', limitsEditor), part('Judged by', decisionEditor), part('Adjustment', adjustmentEditor),
	];

	/** @param {string} title @param {(writing: import('./limits.js').Writing) => any} build */
	function part(title, build) {
		const holder = h('div', {});
		const redraw = (/** @type {string|undefined} */ focus) => {
			fill(holder, build({typed, changed, redraw, redrawAll}));
			if (focus)
				/** @type {HTMLElement|null} */ (holder.querySelector(`[data-key="${CSS.escape(focus)}"]`))?.focus();
		};
		redraws.push(redraw);
		redraw();
		return h('section', {class: 'part'}, h('h2', {}, title), holder);
	}
	return fill(place, parts), place;
}

/** @typedef {import('./limits.js').Writing} Writing */

/** @param {Writing} writing */
function purposeEditor({typed, changed}) {
	return [
		textBlank({label: 'Title', named: true, pointer: '/document/title', value: typed.title, most: 120, write: set(typed, 'title', changed)}),
		textBlank({label: 'Purpose', named: true, pointer: '/document/purpose', value: typed.purpose, most: 2000, lines: true, write: set(typed, 'purpose', changed)}),
		h('fieldset', {class: 'ticks', 'data-pointer': '/document/kinds'}, h('legend', {class: 'muted'}, 'Written for'),
			h('div', {class: 'tick-row'}, KINDS.map(kind => tick({label: t(`kind.${kind}`), key: `kind-${kind}`, value: typed.kinds.includes(kind), write: on => {
				typed.kinds = KINDS.filter(other => other === kind ? on : typed.kinds.includes(other));
				changed();
			}}))), h('span', {class: 'field-error', hidden: true})),
	];
}

/** @param {Writing} writing */
function preparationEditor(writing) {
	const {typed, changed} = writing;

	return lines({list: typed.preparation, pointer: '/document/preparation', noun: 'Preparation', most: 300, text: item => item, make: () => '', put: (i, text) => {
		typed.preparation[i] = text;
		changed();
	}}, writing);
}

/** @param {Writing} writing */
function cautionEditor(writing) {
	const {typed, changed} = writing;

	return [h('p', {class: 'muted'}, 'Acknowledged one by one, by name, before anything is touched. Local codes and the site\u2019s permit come first.'),
		lines({list: typed.cautions, pointer: '/document/cautions', noun: 'Caution', most: 300, text: item => item.text, make: () => ({id: freshId(typed, 'caution'), text: ''}), put: (i, text) => {
			typed.cautions[i].text = text;
			changed();
		}}, writing)];
}

/** @param {Writing} writing */
function needsEditor({typed, changed, redraw}) {
	let i = -1;

	return ROLES.map(role => {
		const need = typed.needs[role];
		if (need.asked)
			i += 1;
		return h('div', {class: 'need'},
			tick({label: role === 'input' ? 'a standard that gives or measures the input' : 'a standard that measures the output', key: `need-${role}`, value: need.asked, write: on => {
				need.asked = on;
				changed();
				redraw(`need-${role}`);
			}}),
			need.asked && textBlank({label: `What is needed for the ${role}`, pointer: `/document/needs/${i}/text`, value: need.text, most: 200, write: set(need, 'text', changed)}),
			need.asked && tick({label: 'the test can be done without it', key: `need-${role}-optional`, value: need.optional, write: set(need, 'optional', changed)}));
	});
}

/** @param {Writing} writing */
function decisionEditor({typed, changed, redraw}) {
	return [
		h('p', {class: 'sentence'}, choiceBlank({label: 'Decision rule', pointer: '/document/decision/rule', value: typed.decision.rule, options: [['simple', 'the limits as they stand'], ['guarded', 'limits narrowed by a guard band']], write: value => {
			typed.decision.rule = value;
			changed();
			redraw('/document/decision/rule');
		}}), typed.decision.rule === 'guarded' && ['of', numberBlank({label: 'Guard factor', pointer: '/document/decision/guard_factor', value: typed.decision.guard_factor, write: set(typed.decision, 'guard_factor', changed)}), 'times the expanded uncertainty of the reading.']),
		tick({label: 'temperature and the rest of the surroundings must be noted', key: 'environment', value: typed.environment, write: set(typed, 'environment', changed)}),
	];
}

/** @param {Writing} writing */
function adjustmentEditor({typed, changed}) {
	return textBlank({label: 'How to adjust', pointer: '/document/adjustment', value: typed.adjustment, most: 2000, lines: true, write: set(typed, 'adjustment', changed)});
}
