/*
 * A tolerance rule: written by the lead, with what it allows over the range of a tag beside it. What is written is kept in this
 * tab until it is saved, so that a reload loses nothing; what somebody else saved meanwhile comes in where nothing was written.
 */
import {ApiError, call} from '../../lib/api.js';
import {mergeThree} from '../../lib/diff.js';
import {fill, h} from '../../lib/dom.js';
import {clearErrors, field, markField, showErrors} from '../../lib/form.js';
import {shown} from '../../lib/format.js';
import {lastChange, whoChanged} from '../../lib/newer.js';
import {bandFigure} from './band.js';
import {NEW_DOCUMENT, numberReader, toleranceFromTyped, toleranceTyped, toleranceWords} from './document.js';
import {workedExample} from './example.js';
import {termsEditor} from './limits.js';
import {readRules, sourceChoice} from './sources.js';

const PREFIX = 'loopledger.rule.';
const NEW_RULE = {join: 'sum', terms: [{kind: 'percent_of_span', plus: 0.5}]};
const OVER_THE_RANGE = {kind: 'points', title: 'points', percent: [0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100], pattern: 'up', cycles: 1, settle_s: 0};

/** A rule in words. @param {any} rule as the API has it */
export function ruleWords(rule) {
	return toleranceWords(toleranceTyped(rule));
}

/** What the rule allows over the range of a tag. */
export function rulePreview() {
	const example = workedExample({title: 'What it allows', show: allowed});

	return {
		element: example.element,
		/** @param {any} typed the limits as typed */
		follow(typed) {
			const {rule, faults} = ruleFromTyped(typed);
			example.follow({document: {...NEW_DOCUMENT, steps: [OVER_THE_RANGE], tolerance: {as_found: rule, adjust: null, as_left: null}}, faults});
		},
	};
}

/** @param {any} typed */
function ruleFromTyped(typed) {
	/** @type {{pointer: string, sentence: string}[]} */
	const faults = [];

	return {rule: toleranceFromTyped(typed, numberReader(faults, ''), '/rule'), faults};
}

/** @param {any} example */
function allowed({points, tag, input_unit: inputUnit, output_unit: outputUnit}) {
	return [
		bandFigure({points: points.map((/** @type {any} */ point) => ({x: point.set, low: point.limit_low, high: point.limit_high})), across: `input, ${inputUnit}`, up: `error, ${outputUnit}`}),
		h('div', {class: 'table-frame'}, h('table', {class: 'figures'}, h('caption', {class: 'muted'}, `Limits of the error on ${tag ?? '4 to 20 mA, read in %'}`),
			h('thead', {}, h('tr', {}, [`at, ${inputUnit}`, `exact, ${outputUnit}`, 'error'].map(head => h('th', {scope: 'col', class: 'number'}, head)))),
			h('tbody', {}, points.map((/** @type {any} */ point) => h('tr', {},
				h('th', {scope: 'row', class: 'number'}, shown(point.shown_set)), h('td', {class: 'number muted'}, shown(point.shown_expected)),
				h('td', {class: 'number'}, limitText(point))))))),
	];
}

/** @param {{shown_limit_low: string, shown_limit_high: string}} point */
function limitText({shown_limit_low: low, shown_limit_high: high}) {
	return shown(low.replace(/^\u2212/, '') === high.replace(/^\+/, '') ? high.replace(/^\+/, '\u00b1') : `${low} to ${high}`);
}

/**
 * @param {{rule: any|null, start: any|null, preview: ReturnType<typeof rulePreview>, saved: (rule: any) => void, leave: () => void}} spec
 *   rule null for a new one, which begins with start {name, rule} where it is given
 */
export function ruleDesk({rule, start, preview, saved, leave}) {
	const key = PREFIX + (rule?.id ?? 'new'), kept = start ? null : JSON.parse(sessionStorage.getItem(key) ?? 'null');
	const state = {row: rule, base: ruleTyped(rule ?? {name: '', rule: NEW_RULE}), typed: /** @type {any} */ (null), dirty: Boolean(kept || start)};
	const name = field({name: 'name', label: 'Name', help: 'As one would say it: pressure and level, control valves.', required: true, attributes: {maxlength: 120}});
	const input = /** @type {HTMLInputElement} */ (name.querySelector('input')), place = h('div', {}), said = h('p', {class: 'saved', role: 'status'});
	const error = h('p', {class: 'form-error', role: 'alert', hidden: true});
	const save = h('button', {type: 'button', class: 'primary', onclick: put}, rule ? 'Save the rule' : 'Add the rule');
	const element = h('div', {class: 'desk stacked-parts'},
		h('section', {class: 'part'}, h('h2', {}, 'What for'), h('div', {}, name)),
		h('section', {class: 'part'}, h('h2', {}, 'Limits'), place),
		h('div', {class: 'desk-bar no-print'}, error, h('div', {class: 'actions'}, save, h('button', {type: 'button', onclick: () => {
			forget();
			leave();
		}}, 'Cancel'), said)));

	state.typed = start ? ruleTyped(start) : kept ? mergeThree(kept.base, kept.typed, state.base) : structuredClone(state.base);
	input.addEventListener('input', () => {
		state.typed.name = input.value;
		changed();
	});

	function changed() {
		state.dirty = true;
		sessionStorage.setItem(key, JSON.stringify({base: state.base, typed: state.typed}));
		said.textContent = 'Not yet saved; kept in this tab.';
		preview.follow(state.typed.limits);
	}

	/** @param {string} [focus] */
	function draw(focus) {
		const writing = {typed: state.typed, changed, redraw: draw};

		input.value = state.typed.name;
		fill(place, h('div', {class: 'limit'},
			sourceChoice({label: 'this rule', key: 'rule-source', take: (limits, from) => {
				state.typed.limits = {...limits, from};
				changed();
				draw('rule-source');
			}}),
			state.typed.limits.from && h('p', {class: 'muted', role: 'status'}, state.typed.limits.from),
			termsEditor(state.typed.limits, 'Limits', '/rule', writing)));
		said.textContent = state.dirty ? 'Not yet saved; kept in this tab.' : '';
		preview.follow(state.typed.limits);
		if (focus)
			/** @type {HTMLElement|null} */ (place.querySelector(`[data-key="${CSS.escape(focus)}"]`))?.focus();
	}

	function forget() {
		sessionStorage.removeItem(key);
	}

	async function put() {
		if (save.getAttribute('aria-disabled') === 'true')
			return;
		clearErrors(element);
		const {rule: limits, faults} = ruleFromTyped(state.typed.limits), body = {name: state.typed.name.trim(), rule: limits};
		if (!body.name)
			faults.unshift({pointer: '/name', sentence: 'This is needed.'});
		if (faults.length)
			return mark(faults);
		save.setAttribute('aria-disabled', 'true');
		try {
			const answer = state.row ? await call('PUT', `/tolerance-rules/${state.row.id}`, body, {version: state.row.version}) : await call('POST', '/tolerance-rules', body);
			forget();
			saved(answer);
		} catch (failure) {
			if (failure instanceof ApiError && failure.status === 412)
				await takeInNewer();
			else
				showErrors(element, failure);
		} finally {
			save.removeAttribute('aria-disabled');
		}
	}

	/** @param {{pointer: string, sentence: string}[]} faults */
	function mark(faults) {
		for (const {pointer, sentence} of faults) {
			const holder = element.querySelector(`[data-pointer="${CSS.escape(pointer)}"]`);
			if (holder)
				markField(holder, sentence);
		}
		/** @type {HTMLElement|null} */ (element.querySelector('[aria-invalid]'))?.focus();
	}

	async function takeInNewer() {
		const [rules, entry] = await Promise.all([readRules(), lastChange('tolerance_rule', state.row.id)]), newer = rules.find(other => other.id === state.row.id);
		element.querySelector('.newer')?.remove();
		const notice = h('div', {class: 'notice newer', role: 'alert'}, h('p', {}, h('b', {}, whoChanged(entry)), ' Nothing that you wrote is lost.'),
			h('button', {type: 'button', onclick: () => {
				state.typed = mergeThree(state.base, state.typed, ruleTyped(newer));
				state.base = ruleTyped(newer);
				state.row = newer;
				notice.remove();
				clearErrors(element);
				draw();
				changed();
				save.focus();
			}}, 'Take in the newer, keep what I wrote'));
		error.before(notice);
		notice.querySelector('button')?.focus();
	}

	draw();
	return element;
}

/** @param {{name: string, rule: any}} rule */
function ruleTyped({name, rule}) {
	return {name, limits: toleranceTyped(rule)};
}
