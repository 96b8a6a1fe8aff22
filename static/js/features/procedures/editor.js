/*
 * The document with its numbers editable in place. It writes into one object (document.js says its shape), calls changed() at
 * every keystroke, and draws only the part anew whose lines were added or taken away, so that focus and caret stay.
 */
import {choiceBlank, deed, numberBlank, textBlank, tick} from '../../lib/blanks.js';
import {fill, h} from '../../lib/dom.js';
import {KINDS} from '../../lib/kinds.js';
import {t} from '../../lib/words.js';
import {ROLES, freshId} from './document.js';
import {limitsEditor} from './limits.js';

/** @param {any} typed @param {() => void} changed @returns {HTMLElement} */
export function documentEditor(typed, changed) {
	const place = h('div', {class: 'document stacked-parts'});
	const parts = [
		part('What for', purposeEditor), part('Prepare and bring', preparationEditor), part('What can hurt', cautionEditor), part('What is needed', needsEditor),
		part('Steps', stepsEditor), part('Limits', limitsEditor), part('Judged by', decisionEditor), part('Adjustment', adjustmentEditor),
	];

	/** @param {string} title @param {(writing: import('./limits.js').Writing) => any} build */
	function part(title, build) {
		const holder = h('div', {});
		const redraw = (/** @type {string|undefined} */ focus) => {
			fill(holder, build({typed, changed, redraw}));
			if (focus)
				/** @type {HTMLElement|null} */ (holder.querySelector(`[data-key="${CSS.escape(focus)}"]`))?.focus();
		};
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

/** @param {any} object @param {string} name @param {() => void} changed */
function set(object, name, changed) {
	return (/** @type {any} */ value) => {
		object[name] = value;
		changed();
	};
}

/**
 * Numbered lines of text. Enter begins a new one below; one that is left empty is dropped when the document is saved.
 *
 * @param {{list: any[], pointer: string, noun: string, most: number, text: (item: any) => string, put: (i: number, text: string) => void, make: () => any, more?: (item: any, i: number) => any}} spec
 * @param {Writing} writing
 */
function lines({list, pointer, noun, most, text, put, make, more}, {changed, redraw}) {
	const insert = (/** @type {number} */ i) => {
		list.splice(i, 0, make());
		changed();
		redraw(`${pointer}/${i}`);
	};

	return [
		list.length > 0 && h('ol', {class: 'document-lines'}, list.map((item, i) => h('li', {},
			textBlank({label: `${noun} ${i + 1}`, pointer: typeof item === 'string' ? `${pointer}/${i}` : `${pointer}/${i}/text`, key: `${pointer}/${i}`, value: text(item), most, enter: () => insert(i + 1), write: value => put(i, value)}),
			more?.(item, i),
			h('span', {class: 'line-deeds'},
				i > 0 && deed('Up', `with ${noun} ${i + 1}`, () => {
					list.splice(i - 1, 2, list[i], list[i - 1]);
					changed();
					redraw(`${pointer}/${i - 1}`);
				}),
				deed('Remove', `${noun} ${i + 1}`, () => {
					list.splice(i, 1);
					changed();
					redraw(list.length ? `${pointer}/${Math.max(0, i - 1)}` : `${pointer}/add`);
				}))))),
		deed('Add a line', `to ${noun}`, () => insert(list.length), `${pointer}/add`),
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
function stepsEditor(writing) {
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
					step.kind === 'checklist' && deed('Remove', `step ${i + 1}`, () => {
						typed.steps.splice(i, 1);
						changed();
						redraw(`/document/steps/${Math.max(0, i - 1)}/title`);
					}))),
			step.kind === 'points' ? pointsEditor(step, i, changed) : checklistEditor(step, i, writing)))),
		deed('Add a checklist', 'to the steps', () => {
			const at = typed.steps.findIndex((/** @type {any} */ step) => step.kind === 'points');
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

/** @param {any} step @param {number} i @param {() => void} changed */
function pointsEditor(step, i, changed) {
	const at = `/document/steps/${i}`;

	return [
		h('p', {class: 'sentence'}, 'Readings at', numberBlank({label: 'Points, in % of the input\u2019s span, with spaces between', pointer: `${at}/percent`, size: 'points', value: step.percent, write: set(step, 'percent', changed)}),
			'% of the input\u2019s span,'),
		h('p', {class: 'sentence'}, choiceBlank({label: 'Direction', pointer: `${at}/pattern`, value: step.pattern, options: [['up_down', 'up and down again'], ['up', 'upwards only']], write: set(step, 'pattern', changed)}),
			numberBlank({label: 'How many times over', pointer: `${at}/cycles`, value: step.cycles, write: set(step, 'cycles', changed)}), 'times over, settling for',
			numberBlank({label: 'Settling time at each point, in seconds', pointer: `${at}/settle_s`, value: step.settle_s, write: set(step, 'settle_s', changed)}), 's at each.'),
	];
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
