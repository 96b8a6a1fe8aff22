/*
 * The desk for one budget: what it begins with, the editor, the bar that works it out, and the result below. What is written is kept
 * on this device, person by person, until another budget is begun.
 */
import {call} from '../../lib/api.js';
import {fill, h} from '../../lib/dom.js';
import {clearErrors, confirmDialog, field, markField, showErrors} from '../../lib/form.js';
import {date, shown} from '../../lib/format.js';
import {icon} from '../../lib/mark.js';
import {significant} from '../../lib/significant.js';
import {budgetFrom, conformityDocument, newBudget, uncertaintyDocument} from './budget.js';
import {budgetEditor} from './editor.js';
import {budgetResult, statementText} from './result.js';

const PREFIX = 'loopledger.budget.';

/** @param {{models: any[], session: import('../../lib/api.js').Session}} spec models as the server has them ready */
export function budgetDesk({models, session}) {
	const key = PREFIX + session.person.id, state = {typed: kept(key) ?? newBudget(), touched: Boolean(kept(key)), turn: 0};
	const editing = h('div', {}), result = h('div', {class: 'budget-result stacked-parts', id: 'result'}), said = h('p', {class: 'budget-said', role: 'status'});
	const error = h('p', {class: 'form-error', role: 'alert', hidden: true});
	const work = h('button', {type: 'button', class: 'primary', onclick: () => compute(true)}, 'Work it out');
	const print = h('button', {type: 'button', hidden: true, onclick: () => window.print()}, icon('print'), 'Print');
	const begin = field({name: 'begin', label: 'Begin with', value: '', width: 'medium', options: [['', 'an expression of one\u2019s own'], ...models.map(model => /** @type {[string, string]} */ ([model.code, model.title]))]});
	const choice = /** @type {HTMLSelectElement} */ (begin.querySelector('select'));

	begin.append(h('p', {class: 'field-help'}, 'Ready models with invented figures, to be put in place by one\u2019s own.'));
	choice.addEventListener('change', () => beginWith(models.find(model => model.code === choice.value) ?? null));

	/** @param {any|null} model */
	function beginWith(model) {
		const take = () => {
			state.typed = model ? budgetFrom(model) : newBudget();
			state.touched = false;
			keep();
			draw();
			fill(result);
			said.textContent = '';
			print.hidden = true;
			if (model)
				compute(false);
		};
		if (!state.touched)
			return take();
		const dialog = confirmDialog({title: 'Begin another budget?', submit: 'Begin another', body: [h('p', {}, 'What is written now goes; print it first if it is to be kept.')], onsubmit: async () => take()});
		dialog.addEventListener('close', () => { choice.value = ''; });
	}

	function keep() {
		localStorage.setItem(key, JSON.stringify(state.typed));
	}

	function changed() {
		state.touched = true;
		keep();
		if (result.childElementCount) {
			result.classList.add('stale');
			say(h('span', {class: 'muted'}, 'Changed since it was worked out.'));
		}
	}

	/** @param {...any} children */
	function say(...children) {
		fill(said, children);
	}

	function draw() {
		fill(editing, budgetEditor(state.typed, changed));
	}

	/** @param {{pointer: string, sentence: string}[]} faults */
	function mark(faults) {
		for (const {pointer, sentence} of faults) {
			const holder = editing.querySelector(`[data-pointer="${CSS.escape(pointer)}"]`);
			if (holder)
				markField(holder, sentence);
		}
		/** @type {HTMLElement|null} */ (editing.querySelector('[aria-invalid]'))?.focus();
	}

	/** @param {boolean} asked by the button: the result is brought into view */
	async function compute(asked) {
		if (work.getAttribute('aria-disabled') === 'true')
			return;
		const turn = state.turn += 1, {document, faults} = uncertaintyDocument(state.typed);
		clearErrors(element);
		if (faults.length)
			return mark(faults);
		work.setAttribute('aria-disabled', 'true');
		say(h('span', {class: 'muted'}, state.typed.simulate ? 'Drawing; up to ten seconds' : 'Working it out'));
		try {
			const answer = await call('POST', '/compute/uncertainty', document);
			const conformity = state.typed.judge ? await judge(answer) : null;
			if (turn !== state.turn)
				return;
			show(answer, conformity);
			if (asked && !editing.querySelector('[aria-invalid]'))
				result.scrollIntoView({block: 'start'});
		} catch (failure) {
			say();
			showErrors(element, failure);
		} finally {
			work.removeAttribute('aria-disabled');
		}
	}

	/** The verdict, or null with the fault beside its field. @param {any} answer */
	async function judge(answer) {
		const {document, faults} = conformityDocument(state.typed, answer);
		if (faults.length) {
			mark(faults);
			return null;
		}
		try {
			return await call('POST', '/compute/conformity', document);
		} catch (failure) {
			showErrors(element, failure);
			return null;
		}
	}

	/** @param {any} answer @param {any} conformity */
	function show(answer, conformity) {
		fill(result, h('div', {class: 'print-only'}, h('h2', {}, state.typed.title), h('p', {}, `${session.plant.name}, ${date(session.today)}, ${session.person.name}`)), budgetResult(state.typed, answer, conformity));
		result.classList.remove('stale');
		say(h('b', {}, statementText(answer)), state.typed.result && ` ${state.typed.result}`, h('span', {class: 'muted'}, `, k = ${shown(significant(answer.coverage_factor, 3))}`));
		print.hidden = false;
	}

	const element = h('div', {class: 'budget-desk stacked-parts'}, h('section', {class: 'part no-print'}, h('h2', {}, 'Start'), h('div', {}, begin)), editing,
		h('div', {class: 'desk-bar no-print'}, error, h('div', {class: 'actions'}, work, print, said)), result);

	/* Enter in a number works it out, as it would send a form */
	element.addEventListener('keydown', event => {
		if (event.key === 'Enter' && /** @type {Element} */ (event.target).matches('input.number')) {
			event.preventDefault();
			compute(true);
		}
	});
	draw();
	if (state.touched)
		compute(false);
	return element;
}

/** @param {string} key */
function kept(key) {
	try {
		return JSON.parse(localStorage.getItem(key) ?? 'null');
	} catch {
		return null;
	}
}
