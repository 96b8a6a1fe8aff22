/*
 * The desk for one table: the points as text, the curve that is asked for, and the result below. What is written is kept on this device,
 * person by person.
 */
import {call} from '../../lib/api.js';
import {fill, h} from '../../lib/dom.js';
import {clearErrors, field, markField, readForm, showErrors} from '../../lib/form.js';
import {date} from '../../lib/format.js';
import {icon} from '../../lib/mark.js';
import {fitDocument, readPlaces, readPoints} from './points.js';
import {curveResult} from './result.js';

const PREFIX = 'loopledger.curve.';
const CURVES = /** @type {Array<[string, string]>} */ ([['1', 'a straight line'], ['2', 'order 2'], ['3', 'order 3'], ['4', 'order 4'], ['5', 'order 5'], ['0', 'the mean'], ['robust', 'a straight line that wild points do not turn']]);
/* the server names members of its own document */
const FIELD_OF = /** @type {Record<string, string>} */ ({x: 'points', y: 'points', weights: 'points', order: 'curve', through_zero: 'through_zero', at: 'at'});

/** @param {{session: import('../../lib/api.js').Session}} spec */
export function curveDesk({session}) {
	const key = PREFIX + session.person.id, typed = kept(key), result = h('div', {class: 'budget-result stacked-parts', id: 'result'}), said = h('p', {class: 'budget-said', role: 'status'});
	const print = h('button', {type: 'button', hidden: true, onclick: () => window.print()}, icon('print'), 'Print');
	const through = field({name: 'through_zero', label: 'through zero', check: true, value: typed.through_zero ? 'yes' : ''});
	const form = /** @type {HTMLFormElement} */ (h('form', {class: 'curve-form stacked-parts no-print', novalidate: true, onsubmit: (/** @type {Event} */ event) => {
		event.preventDefault();
		compute(true);
	}},
	h('section', {class: 'part'}, h('h2', {}, 'Points'), h('div', {class: 'curve-fields'},
		h('div', {class: 'fields'}, field({name: 'x', label: 'x is', value: typed.x, width: 'medium', attributes: {maxlength: 60, placeholder: 'temperature, \u00b0C'}}), field({name: 'y', label: 'y is', value: typed.y, width: 'medium', attributes: {maxlength: 60, placeholder: 'correction, \u00b0C'}})),
		field({name: 'points', label: 'Points', rows: 8, value: typed.points, help: 'One a line, x and y, as copied from a spreadsheet; a third column is the standard uncertainty of y.', attributes: {spellcheck: 'false'}}))),
	h('section', {class: 'part'}, h('h2', {}, 'What is asked'), h('div', {class: 'curve-fields'},
		h('div', {class: 'fields'}, field({name: 'curve', label: 'Curve', options: CURVES, value: typed.curve || '1', width: 'medium'}), through),
		field({name: 'at', label: 'And its value at', value: typed.at, width: 'medium', help: 'x, one or several, apart by spaces'}))),
	h('div', {class: 'desk-bar'}, h('p', {class: 'form-error', role: 'alert', hidden: true}), h('div', {class: 'actions'}, h('button', {type: 'submit', class: 'primary'}, 'Work it out'), print, said))));
	let turn = 0;

	/** @param {string} name @param {string} sentence */
	function mark(name, sentence) {
		const holder = /** @type {HTMLElement} */ (form.querySelector(`[data-name="${name}"]`));
		markField(holder, sentence);
		/** @type {HTMLElement|null} */ (holder.querySelector('[aria-invalid]'))?.focus();
	}

	/** @param {any} failure */
	function refuse(failure) {
		const [pointer, sentences] = [...failure.fields ?? []][0] ?? [], name = FIELD_OF[pointer?.split('/')[1]], place = Number(pointer?.split('/')[2]);

		if (!name)
			return showErrors(form, failure);
		clearErrors(form);
		mark(name, `${Number.isInteger(place) ? `Number ${place + 1} of ${pointer.split('/')[1]}: ` : ''}${sentences.join(' ')}.`.replace(/^./, letter => letter.toUpperCase()));
	}

	/** @param {boolean} asked by the button: the result is brought into view */
	async function compute(asked) {
		const values = readForm(form);
		if (!values)
			return;
		const {points, decimals, fault} = readPoints(values.points), places = readPlaces(values.at), mine = turn += 1;
		if (fault)
			return mark('points', fault);
		if (places.fault)
			return mark('at', places.fault);
		try {
			const document = fitDocument(points, {curve: values.curve, through_zero: values.through_zero && values.curve !== '0'}, places.places);
			const answer = await call('POST', '/compute/fit', document);
			if (mine !== turn)
				return;
			fill(result, h('div', {class: 'print-only'}, h('p', {}, `${session.plant.name}, ${date(session.today)}, ${session.person.name}`)), curveResult({points, decimals, x: values.x || 'x', y: values.y || 'y', through: document.through_zero === true}, answer));
			result.classList.remove('stale');
			fill(said);
			print.hidden = false;
			if (asked)
				result.scrollIntoView({block: 'start'});
		} catch (failure) {
			refuse(failure);
		}
	}

	function settle() {
		const curve = /** @type {HTMLSelectElement} */ (form.elements.namedItem('curve')).value;
		through.hidden = curve === '0' || curve === 'robust';
	}

	form.addEventListener('input', () => {
		settle();
		localStorage.setItem(key, JSON.stringify(Object.fromEntries([...new FormData(form)].map(([name, value]) => [name, String(value)]))));
		if (result.childElementCount) {
			result.classList.add('stale');
			fill(said, h('span', {class: 'muted'}, 'Changed since it was worked out.'));
		}
	});
	settle();
	if (typed.points)
		compute(false);
	return h('div', {class: 'stacked-parts'}, form, result);
}

/** @param {string} key @returns {Record<string, string>} */
function kept(key) {
	try {
		return JSON.parse(localStorage.getItem(key) ?? '{}');
	} catch {
		return {};
	}
}
