/* Adjust: must it be, how far, and what was done. */
import {keep, forget} from '../../lib/draft.js';
import {h} from '../../lib/dom.js';
import {clearErrors, field, markField, showErrors} from '../../lib/form.js';
import {clock, shown} from '../../lib/format.js';
import {icon} from '../../lib/mark.js';
import {shares, verdictOf} from './outcome.js';
import {comesFirst, wayOn} from './thread.js';

/** @typedef {import('./prepare.js').Doing} Doing */

/** @param {any} record @param {Doing} doing */
export function adjustPhase(record, doing) {
	const found = record.runs[0], blocked = comesFirst(record, 'adjust');

	if (blocked)
		return [blocked];
	return [
		found.summary && h('section', {class: 'part'}, h('h2', {}, 'Advice'), h('div', {},
			verdictOf(found), h('p', {class: 'lead'}, shown(found.summary.adjustment.sentence)), shares(found.summary.diagnosis, found.summary.adjustment.needed))),
		record.procedure.document.adjustment && h('section', {class: 'part'}, h('h2', {}, 'How'), h('p', {class: 'prose'}, record.procedure.document.adjustment)),
		record.adjustment ? given(record) : null,
		doing.edit && !record.adjustment?.made && question(record, doing, Boolean(found.summary?.adjustment.needed)),
		record.adjustment && wayOn(record, 'adjust'),
	];
}

/** @param {any} record */
function given(record) {
	const {adjustment} = record;

	return h('section', {class: 'part'}, h('h2', {}, 'Said'), h('div', {},
		h('p', {}, h('b', {}, adjustment.made ? 'Adjusted' : 'Not adjusted'), `, ${adjustment.by}, ${clock(adjustment.at)}`),
		adjustment.text && h('p', {class: 'prose'}, adjustment.text)));
}

/** @param {any} record @param {Doing} doing @param {boolean} needed */
function question(record, doing, needed) {
	const holder = field({name: 'text', label: 'What was adjusted', help: 'Which screws or parameters, from what to what.', rows: 3, value: record.adjustment?.text, attributes: {maxlength: 1000}});
	const input = /** @type {HTMLTextAreaElement} */ (holder.querySelector('textarea')), key = `${record.id}.adjustment`;
	const group = h('div', {class: 'raised'}, h('h2', {}, record.adjustment ? 'Adjusted after all?' : 'Was it adjusted?'), holder, h('p', {class: 'form-error', role: 'alert', hidden: true}),
		h('div', {class: 'entry-actions'},
			h('button', {type: 'button', class: `big${needed ? ' primary' : ''}`, 'data-key': 'made', onclick: () => say(true)}, icon('sign'), 'Adjusted'),
			!record.adjustment && h('button', {type: 'button', class: `big${needed ? '' : ' primary'}`, 'data-key': 'not-made', onclick: () => say(false)}, 'Not adjusted')));

	keep(input, key);
	/** @param {boolean} made */
	async function say(made) {
		const text = input.value.trim();
		clearErrors(group);
		if (made && !text) {
			markField(holder, 'Say what was done.');
			return input.focus();
		}
		try {
			const record = await doing.change('PUT', '/adjustment', text ? {made, text} : {made});
			forget(key);
			if (made && !record.runs[1])
				await doing.change('POST', '/as-left', {});
			location.hash = made ? '#as_left' : '#sign';
		} catch (error) {
			showErrors(group, error);
		}
	}
	return group;
}
