/* Prove: is it wired right, does it answer? One question at a time, three answers. */
import {keep, forget, typedBefore} from '../../lib/draft.js';
import {h} from '../../lib/dom.js';
import {field} from '../../lib/form.js';
import {clock, shown} from '../../lib/format.js';
import {mark} from '../../lib/mark.js';
import {t} from '../../lib/words.js';
import {comesFirst, wayOn} from './thread.js';

/** @typedef {import('./prepare.js').Doing} Doing */

/** @param {any} record @param {Doing} doing */
export function provePhase(record, doing) {
	const titles = [...new Set(record.checks.map((/** @type {any} */ check) => check.step_title))];

	return [
		comesFirst(record, 'prove'),
		titles.map(title => h('section', {class: 'part'}, h('h2', {}, title), h('ul', {class: 'rows check-rows'},
			record.checks.filter((/** @type {any} */ check) => check.step_title === title).map((/** @type {any} */ check) => oneCheck(record, check, doing))))),
		!titles.length && h('p', {class: 'prose'}, 'This procedure has no checks before the run.'),
		wayOn(record, 'prove'),
	];
}

/** @param {any} record @param {any} check @param {Doing} doing */
function oneCheck(record, check, doing) {
	const key = (/** @type {string} */ name) => `${record.id}.check.${check.key}.${name}`;
	const observed = textField('observed', 'What was seen', check.answer?.observed, key('observed'), doing.edit);
	const note = textField('note', 'Note', check.answer?.note, key('note'), doing.edit);
	const holder = h('li', {class: 'check'});

	/** @param {string} answer */
	async function give(answer) {
		/** @type {any} */
		const body = {answer};
		for (const [name, input] of Object.entries({observed: observed.input, note: note.input}))
			if (input.value.trim())
				body[name] = input.value.trim();
		try {
			await doing.change('PUT', `/checks/${encodeURIComponent(check.key)}`, body);
			forget(key('observed'));
			forget(key('note'));
		} catch (error) {
			doing.problem(error);
		}
	}
	for (const {input} of [observed, note])
		input.addEventListener('change', () => check.answer && give(check.answer.answer));

	const wanted = check.answer?.note || typedBefore(key('note')) || check.answer?.answer === 'no';
	holder.append(
		h('div', {class: 'check-question', id: `check-${check.key}`}, check.shown_apply && h('p', {class: 'check-apply'}, 'Apply ', h('b', {class: 'number'}, shown(check.shown_apply))),
			h('p', {class: 'check-text'}, check.text),
			check.answer && h('p', {class: `given ${check.answer.answer === 'no' ? 'bad' : check.answer.answer === 'yes' ? 'ok' : 'muted'}`},
				mark(check.answer.answer === 'no' ? 'fail' : check.answer.answer === 'yes' ? 'pass' : null),
				h('span', {}, `${t(`answer.${check.answer.answer}`)} \u00b7 ${check.answer.by}, ${clock(check.answer.at)}`))),
		h('div', {class: 'answers', role: 'group', 'aria-labelledby': `check-${check.key}`}, ['yes', 'no', 'not_applicable'].map(answer =>
			h('button', {type: 'button', class: 'big', 'data-key': `check-${check.key}-${answer}`, disabled: !doing.edit, 'aria-pressed': String(check.answer?.answer === answer), onclick: () => give(answer)}, t(`answer.${answer}`)))),
		h('details', {class: 'check-more', open: Boolean(check.answer?.observed || typedBefore(key('observed')) || wanted)}, h('summary', {}, 'Write down what was seen'),
			h('div', {class: 'fields'}, observed.holder, note.holder)));
	return holder;
}

/** @param {string} name @param {string} label @param {string|null|undefined} value @param {string} key @param {boolean} edit */
function textField(name, label, value, key, edit) {
	const holder = field({name, label, value, width: 'medium', attributes: {maxlength: name === 'observed' ? 120 : 500, disabled: !edit, autocomplete: 'off'}});
	const input = /** @type {HTMLInputElement} */ (holder.querySelector('input'));

	keep(input, key);
	return {holder, input};
}
