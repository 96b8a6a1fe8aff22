/* Prepare: what can hurt comes first, then what to bring, what is measured with, what it is like here. */
import {keep, forget, typedBefore} from '../../lib/draft.js';
import {h} from '../../lib/dom.js';
import {field, markField, clearErrors, readForm, showErrors} from '../../lib/form.js';
import {clock, date, shown, readersDecimalSign} from '../../lib/format.js';
import {mark} from '../../lib/mark.js';
import {wayOn} from './thread.js';

/**
 * @typedef {object} Doing what the page lets its phases do
 * @property {boolean} edit may this person work on the record as it stands?
 * @property {(method: 'PUT'|'POST'|'DELETE', path: string, body?: object|((record: any) => object)) => Promise<any>} change waits its turn, sends, takes the record that comes back, shows it
 * @property {(error: unknown) => void} problem shows a failure above the phase
 */

/** @param {any} record @param {Doing} doing */
export function preparePhase(record, doing) {
	const preparation = record.procedure.document.preparation ?? [];

	return [
		cautions(record, doing),
		preparation.length > 0 && h('section', {class: 'part'}, h('h2', {}, 'Prepare and bring'), h('ul', {class: 'bullets'}, preparation.map((/** @type {string} */ text) => h('li', {}, text)))),
		standards(record, doing),
		surroundings(record, doing),
		condition(record, doing),
		wayOn(record, 'prepare'),
	];
}

/** @param {any} record @param {Doing} doing */
function cautions(record, doing) {
	const next = record.cautions.find((/** @type {any} */ caution) => !caution.acknowledged);

	return h('section', {class: 'part'}, h('h2', {}, 'Before anything is touched'), h('div', {},
		h('p', {class: 'muted prose'}, 'Local codes, the permit to work and licensed practice come first. This page reminds; it does not permit.'),
		h('ul', {class: 'rows caution-rows'}, record.cautions.map((/** @type {any} */ caution) => h('li', {class: 'caution'},
			h('p', {class: 'caution-text'}, caution.text),
			caution.acknowledged
				? h('p', {class: 'given ok'}, mark('pass'), h('span', {}, `${caution.acknowledged.by}, ${clock(caution.acknowledged.at)}`))
				: h('button', {type: 'button', class: caution === next ? 'big primary' : 'big', 'data-key': `caution-${caution.key}`, disabled: !doing.edit, 'aria-label': `I have seen to it: ${caution.text}`,
					onclick: () => doing.change('PUT', `/cautions/${encodeURIComponent(caution.key)}`, {}).catch(doing.problem)}, 'I have seen to it'))))));
}

/** @param {any} record @param {Doing} doing */
function standards(record, doing) {
	return h('section', {class: 'part'}, h('h2', {}, 'Measured with'), h('div', {class: 'stacked-small'},
		record.needs.map((/** @type {any} */ need) => oneNeed(record, need, doing)),
		!record.needs.length && h('p', {}, 'This procedure asks for no reference standard.')));
}

/** @param {any} record @param {any} need @param {Doing} doing */
function oneNeed(record, need, doing) {
	const choose = (/** @type {string|null} */ id) => doing.change('PUT', '/standards', (/** @type {any} */ now) => ({standards: now.needs.flatMap((/** @type {any} */ other) => {
		const standard = other.role === need.role ? id : other.chosen?.id;
		return standard ? [{role: other.role, standard_id: standard}] : [];
	})})).catch(doing.problem);
	const usable = need.candidates.filter((/** @type {any} */ c) => c.usable), others = need.candidates.filter((/** @type {any} */ c) => !c.usable);

	if (!need.candidates.length && need.chosen)
		return h('div', {}, h('p', {class: 'need-head'}, need.text), standardLine(need.chosen));
	return h('fieldset', {class: 'need', disabled: !doing.edit},
		h('legend', {class: 'need-head'}, need.text, need.optional && h('span', {class: 'muted'}, ' (optional)')),
		usable.map((/** @type {any} */ candidate) => h('label', {class: 'choice big-choice'},
			h('input', {type: 'radio', name: `standard-${need.role}`, value: candidate.id, checked: need.chosen?.id === candidate.id, 'data-key': `standard-${need.role}-${candidate.id}`,
				onchange: () => choose(candidate.id)}),
			standardLine(candidate))),
		need.optional && need.chosen && h('button', {type: 'button', class: 'quiet', onclick: () => choose(null)}, 'Choose none'),
		!need.candidates.length && h('p', {class: 'muted'}, `No standard for ${need.quantity} in ${need.unit} is on file. `, h('a', {href: '/standards'}, 'Standards')),
		others.length > 0 && h('ul', {class: 'not-usable'}, others.map((/** @type {any} */ candidate) => h('li', {class: 'muted'}, `${candidate.code} ${candidate.name} cannot be used: ${shown(candidate.why_not)}`))));
}

/** @param {any} standard */
export function standardLine(standard) {
	return h('span', {class: 'standard-line'}, h('span', {}, h('b', {}, standard.code), ` ${standard.name}`),
		h('span', {class: 'muted small'}, [standard.shown_range && shown(standard.shown_range), standard.shown_uncertainty && `U ${shown(standard.shown_uncertainty)}`,
			standard.valid_until && `valid until ${date(standard.valid_until)}`].filter(Boolean).join(' \u00b7 ')));
}

const AMBIENT = [
	{name: 'temperature_c', label: 'Temperature', unit: '°C'},
	{name: 'humidity_percent', label: 'Humidity', unit: '%', positive: true},
	{name: 'pressure_hpa', label: 'Pressure', unit: 'hPa', positive: true},
];

/** Saved by itself when a field is left; the temperature has to be there. @param {any} record @param {Doing} doing */
function surroundings(record, doing) {
	const draft = (/** @type {string} */ name) => `${record.id}.${name}`;
	const fields = AMBIENT.map(spec => {
		const holder = field({...spec, number: true, value: record.environment?.[spec.name], required: spec.name === 'temperature_c' && record.environment_required,
			attributes: {disabled: !doing.edit, optional: spec.name !== 'temperature_c'}});
		keep(/** @type {any} */ (holder.querySelector('input')), draft(spec.name));
		return holder;
	});
	const note = h('p', {class: 'saved', role: 'status'}, record.environment && !AMBIENT.some(spec => typedBefore(draft(spec.name)) !== null) ? 'Saved' : '');
	const group = /** @type {any} */ (h('form', {class: 'form', novalidate: true, onsubmit: (/** @type {Event} */ event) => event.preventDefault(), onchange: save},
		h('div', {class: 'fields'}, fields), h('p', {class: 'form-error', role: 'alert', hidden: true}), note));

	async function save() {
		const typed = fields.map(holder => /** @type {any} */ (holder.querySelector('input')).value.trim());
		clearErrors(group);
		if (!typed[0]) {
			if (typed.some(Boolean) || record.environment)
				markField(fields[0], 'The temperature is needed; then it is saved.');
			return;
		}
		const values = readForm(group);
		if (!values)
			return;
		try {
			const body = Object.fromEntries(Object.entries(values).filter(([, value]) => value !== null).map(([name, value]) => [name, Number(value)]));
			await doing.change('PUT', '/environment', body);
			AMBIENT.forEach(spec => forget(draft(spec.name)));
		} catch (error) {
			showErrors(group, error);
		}
	}
	return h('section', {class: 'part'}, h('h2', {}, 'Ambient conditions'), group);
}

/** @param {any} record @param {Doing} doing */
function condition(record, doing) {
	return h('section', {class: 'part'}, h('h2', {}, 'As received'),
		savedText({label: 'Condition as received', help: 'Damage, dirt, leaks, missing parts; or that nothing was found.', key: `${record.id}.condition`, value: record.condition, disabled: !doing.edit,
			save: text => doing.change('PUT', '/notes', {condition: text})}));
}

/**
 * A text that saves itself when the field is left.
 *
 * @param {{label: string, help?: string, key: string, value: string|null, disabled?: boolean, rows?: number, save: (text: string) => Promise<any>}} spec
 */
export function savedText(spec) {
	const holder = field({name: 'text', label: spec.label, help: spec.help, rows: spec.rows ?? 2, value: spec.value, attributes: {disabled: spec.disabled, maxlength: 1000}});
	const input = /** @type {HTMLTextAreaElement} */ (holder.querySelector('textarea'));
	const note = h('p', {class: 'saved', role: 'status'});
	const group = h('div', {}, holder, h('p', {class: 'form-error', role: 'alert', hidden: true}), note);

	keep(input, spec.key);
	input.addEventListener('change', async () => {
		clearErrors(group);
		try {
			const sent = input.value;
			await spec.save(sent.trim());
			if (input.value === sent)
				forget(spec.key);
			note.textContent = 'Saved';
		} catch (error) {
			showErrors(group, error);
		}
	});
	return group;
}

/** A number of the server as the reader types it. @param {string} text */
export function asTyped(text) {
	return text.replace('.', readersDecimalSign);
}
