/*
 * Fields, forms and dialogs. A field is <div class="field"> with label, help, input and a place for the error, tied
 * together by ids. What was typed is never thrown away: errors stand beside the field, and a draft outlives a reload.
 *
 *   field({name: 'tag', label: 'Tag', help: 'as on the plate', required: true})
 *   field({name: 'low', label: 'Low', unit: 'kPa', number: true, pointer: '/input/low'})      ± button, comma or point
 *   field({name: 'kind', label: 'Kind', options: [['transmitter', 'transmitter'], …], value})
 *   field({name: 'text', label: 'What was done', rows: 3})
 *
 *   form({fields: [...], submit: 'Save', draft: 'instrument-new', onsubmit: async values => {…}})
 *       values: trimmed text by name; a number field gives '12.00' (null when empty). When onsubmit throws an ApiError its
 *       sentences go beside the fields whose pointer they name; the rest above the button. The draft goes when it succeeds.
 *
 *   confirmDialog({title, body: [...], fields: [...], submit: 'Sign', onsubmit})   a <dialog> with a form; opens itself
 */
import {ApiError, Unreachable} from './api.js';
import {h, uniqueId} from './dom.js';
import {readersDecimalSign} from './format.js';
import {readNumber, turnSign} from './number.js';
import {t} from './words.js';

/**
 * @typedef {object} FieldSpec
 * @property {string} name
 * @property {string} label
 * @property {string} [pointer] where the server says it is wrong; '/name' when absent
 * @property {string|number|null} [value]
 * @property {string} [help]
 * @property {string} [unit] muted, beside the field
 * @property {boolean} [number] decimal entry
 * @property {boolean} [positive] with number: never negative, so without the ± button
 * @property {boolean} [whole] a whole number without sign
 * @property {boolean} [required]
 * @property {string} [type] of the input: text, password, date, search, …
 * @property {Array<[string, string]>} [options] makes it a select: value and word
 * @property {Array<[string, string]>} [choices] makes it radio buttons
 * @property {boolean} [check] makes it one check box; its value is true or false
 * @property {number} [rows] makes it a text area
 * @property {string} [width] 'short' (numbers, dates), 'medium'; full when absent
 * @property {Object<string, any>} [attributes] more for the input: autocomplete, maxlength, …
 */

/** @param {FieldSpec} spec @returns {HTMLElement} */
export function field(spec) {
	const id = uniqueId(spec.name), helpId = spec.help ? `${id}-help` : null, errorId = `${id}-error`;
	const common = {id, name: spec.name, required: spec.required, 'aria-describedby': [helpId, errorId].filter(Boolean).join(' '), ...spec.attributes};
	const error = h('p', {class: 'field-error', id: errorId, hidden: true});
	const data = {'data-pointer': spec.pointer ?? `/${spec.name}`, 'data-name': spec.name,
		'data-number': Boolean(spec.number || spec.whole) && (spec.whole ? 'whole' : 'decimal')};
	const help = spec.help && h('p', {class: 'field-help', id: helpId}, spec.help);

	if (spec.choices)
		return h('fieldset', {class: 'field choices', ...data},
			h('legend', {}, spec.label), help,
			spec.choices.map(([value, word]) => h('label', {class: 'choice'},
				h('input', {type: 'radio', name: spec.name, value, checked: value === spec.value, required: spec.required}), h('span', {}, word))),
			error);
	if (spec.check)
		return h('div', {class: 'field', ...data},
			h('label', {class: 'choice'}, h('input', {...common, type: 'checkbox', checked: Boolean(spec.value)}), h('span', {}, spec.label)), help, error);
	return h('div', {class: `field ${spec.width ?? (spec.number || spec.whole ? 'short' : '')}`, ...data},
		h('label', {for: id}, spec.label, spec.unit && h('span', {class: 'muted'}, `, ${spec.unit}`),
			!spec.required && spec.attributes?.optional && h('span', {class: 'muted'}, ' (optional)')),
		help,
		control(spec, common),
		error);
}

/** @param {FieldSpec} spec @param {Object<string, any>} common */
function control(spec, common) {
	const {optional, ...attributes} = common;

	if (spec.options)
		return h('select', {...attributes, value: spec.value ?? spec.options[0]?.[0]}, spec.options.map(([value, word]) => h('option', {value}, word)));
	if (spec.rows)
		return h('textarea', {...attributes, rows: spec.rows, value: spec.value ?? ''});
	if (spec.number) {
		const typed = spec.value == null ? '' : String(spec.value).replace('.', readersDecimalSign).replace(/^-/, '\u2212');
		const input = h('input', {type: 'text', inputmode: 'decimal', autocomplete: 'off', spellcheck: 'false', ...attributes, class: 'number', value: typed});
		return h('div', {class: 'number-field'}, input, !spec.positive && signButton(input));
	}
	return h('input', {type: spec.type ?? 'text', inputmode: spec.whole && 'numeric', ...attributes, class: spec.whole && 'number', value: spec.value ?? ''});
}

/** A ± button for keypads without a minus. @param {HTMLElement} input */
export function signButton(input) {
	const target = /** @type {HTMLInputElement} */ (input);

	return h('button', {type: 'button', class: 'sign', 'aria-label': 'Turn the sign', tabindex: -1, onclick: () => {
		target.value = turnSign(target.value);
		target.dispatchEvent(new Event('input', {bubbles: true}));
		target.focus();
	}}, '\u00b1');
}

/** Reads a form's fields; number fields that are no numbers are marked, and null comes back. @param {HTMLFormElement} element */
export function readForm(element) {
	/** @type {Record<string, any>} */
	const values = {};
	let good = true;

	clearErrors(element);
	for (const holder of element.querySelectorAll('[data-name]')) {
		const {name, number} = /** @type {HTMLElement} */ (holder).dataset;
		const value = valueOf(holder, String(name));

		if (!number || value === '') {
			values[String(name)] = number ? null : value;
			if (value === '' && holder.querySelector('[required]'))
				good = markField(holder, number ? t('number.empty') : 'This is needed.') && good;
			continue;
		}
		const typed = readNumber(value);
		if (typed.ok)
			values[String(name)] = number === 'whole' ? typed.value : typed.text;
		else
			good = markField(holder, t(`number.${typed.why}`)) && good;
	}
	if (!good)
		focusFirstError(element);
	return good ? values : null;
}

/** @param {Element} holder @param {string} name */
function valueOf(holder, name) {
	const input = /** @type {any} */ (holder.querySelector(`[name="${CSS.escape(name)}"]`));

	if (input.type === 'checkbox')
		return input.checked;
	if (input.type === 'radio')
		return /** @type {any} */ (holder.querySelector('input:checked'))?.value ?? '';
	return input.type === 'password' ? input.value : input.value.trim();
}

/** Puts a sentence beside a field. Answers false. @param {Element} holder @param {string} sentence */
export function markField(holder, sentence) {
	const error = /** @type {HTMLElement} */ (holder.querySelector('.field-error'));

	error.textContent = sentence;
	error.hidden = false;
	for (const input of holder.querySelectorAll('input, select, textarea'))
		input.setAttribute('aria-invalid', 'true');
	return false;
}

/** @param {Element} within */
export function clearErrors(within) {
	for (const error of /** @type {NodeListOf<HTMLElement>} */ (within.querySelectorAll('.field-error, .form-error'))) {
		error.hidden = true;
		error.textContent = '';
	}
	for (const input of within.querySelectorAll('[aria-invalid]'))
		input.removeAttribute('aria-invalid');
}

/** @param {Element} within */
function focusFirstError(within) {
	/** @type {HTMLElement|null} */ (within.querySelector('[aria-invalid]'))?.focus();
}

/**
 * Shows a failure beside the fields it names, and what names no field above the button. Anything that is not the server's
 * word or its silence is a fault of the program and thrown on.
 *
 * @param {Element} within holds [data-pointer] fields and one .form-error
 * @param {unknown} error
 */
export function showErrors(within, error) {
	if (!(error instanceof ApiError) && !(error instanceof Unreachable))
		throw error;
	const rest = [];

	clearErrors(within);
	for (const [pointer, sentences] of error instanceof ApiError ? error.fields : []) {
		const holder = nearest(within, pointer);
		if (holder)
			markField(holder, sentences.map(sentenceCase).join(' '));
		else
			rest.push(...sentences);
	}
	const place = /** @type {HTMLElement|null} */ (within.querySelector('.form-error'));
	if (place && (rest.length || !within.querySelector('[aria-invalid]'))) {
		place.textContent = sentenceCase(rest.length ? rest.join('; ') : error.message);
		place.hidden = false;
	}
	focusFirstError(within);
}

/** The field of a pointer, or of the member that holds it. @param {Element} within @param {string} pointer */
function nearest(within, pointer) {
	for (let at = pointer; at; at = at.slice(0, at.lastIndexOf('/'))) {
		const holder = within.querySelector(`[data-pointer="${CSS.escape(at)}"]`);
		if (holder)
			return holder;
	}
	return null;
}

/** @param {string} text */
function sentenceCase(text) {
	const trimmed = text.trim();

	return trimmed.charAt(0).toUpperCase() + trimmed.slice(1) + (/[.!?]$/.test(trimmed) ? '' : '.');
}

/**
 * @param {{fields: any[], submit: string, onsubmit: (values: Record<string, any>, form: HTMLFormElement) => any, draft?: string,
 *   cancel?: () => void, cancelWord?: string, extra?: any, class?: string}} spec
 * @returns {HTMLFormElement}
 */
export function form(spec) {
	const button = /** @type {HTMLButtonElement} */ (h('button', {class: 'primary'}, spec.submit));
	const element = /** @type {HTMLFormElement} */ (h('form', {class: spec.class ?? 'form', novalidate: true, onsubmit: submit},
		spec.fields,
		h('p', {class: 'form-error', role: 'alert', hidden: true}),
		h('div', {class: 'actions'}, button, spec.cancel && h('button', {type: 'button', onclick: spec.cancel}, spec.cancelWord ?? 'Cancel'), spec.extra)));
	const draft = spec.draft ? keepDraft(element, spec.draft) : null;

	/** @param {Event} event */
	async function submit(event) {
		event.preventDefault();
		const values = readForm(element);
		if (!values || button.getAttribute('aria-disabled') === 'true')
			return;
		button.setAttribute('aria-disabled', 'true');	/* a disabled button would lose the focus */
		try {
			await spec.onsubmit(values, element);
			draft?.clear();
		} catch (error) {
			showErrors(element, error);
		} finally {
			button.removeAttribute('aria-disabled');
		}
	}
	return element;
}

/**
 * Keeps what is typed in a form over a reload, for this tab; passwords are left out.
 *
 * @param {HTMLFormElement} element
 * @param {string} key
 */
export function keepDraft(element, key) {
	const place = `loopledger.draft.${key}`;
	const inputs = () => [...element.querySelectorAll('input, select, textarea')].filter(input => /** @type {any} */ (input).name && /** @type {any} */ (input).type !== 'password');

	try {
		const kept = JSON.parse(sessionStorage.getItem(place) ?? '{}');
		for (const input of /** @type {any[]} */ (inputs())) {
			const held = kept[input.name];
			if (held === undefined)
				continue;
			if (input.type === 'radio' || input.type === 'checkbox')
				input.checked = input.type === 'radio' ? input.value === held : held;
			else
				input.value = held;
		}
	} catch {
		sessionStorage.removeItem(place);
	}
	element.addEventListener('input', () => {
		/** @type {Record<string, any>} */
		const typed = {};
		for (const input of /** @type {any[]} */ (inputs()))
			if (input.type !== 'radio' || input.checked)
				typed[input.name] = input.type === 'checkbox' ? input.checked : input.value;
		sessionStorage.setItem(place, JSON.stringify(typed));
	});
	return {clear: () => sessionStorage.removeItem(place)};
}

/**
 * Asks in a dialog: a question with fields, often the password of a signature. Closes when onsubmit succeeds; the focus
 * goes back to where it was.
 *
 * @param {{title: string, body?: any[], fields?: any[], submit: string, danger?: boolean, onsubmit: (values: Record<string, any>) => any}} spec
 * @returns {HTMLDialogElement}
 */
export function confirmDialog(spec) {
	const titleId = uniqueId('dialog');
	const dialog = /** @type {HTMLDialogElement} */ (h('dialog', {'aria-labelledby': titleId, onclose: () => dialog.remove()},
		h('h2', {id: titleId}, spec.title), spec.body ?? null,
		form({
			fields: spec.fields ?? [], submit: spec.submit, class: `form${spec.danger ? ' danger' : ''}`,
			cancel: () => dialog.close(),
			onsubmit: async values => {
				await spec.onsubmit(values);
				dialog.close();
			},
		})));

	document.body.append(dialog);
	dialog.showModal();
	return dialog;
}

/** A password field for signatures. @param {string} [label] */
export function passwordField(label = 'Your password') {
	return field({name: 'password', label, type: 'password', required: true, width: 'medium', attributes: {autocomplete: 'current-password'}});
}
