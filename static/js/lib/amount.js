/* Fields of the register that form.js does not have: an amount that is never negative, a unit by dimension, words to tick. */
import {h, uniqueId} from './dom.js';
import {field} from './form.js';

/** A number without the ± button, for what cannot be negative. @param {any} spec as for field(); value as typedFigure() gives it */
export function amountField(spec) {
	const element = field({width: 'short', ...spec, attributes: {inputmode: 'decimal', autocomplete: 'off', spellcheck: 'false', ...spec.attributes}});

	element.dataset.number = 'decimal';
	element.querySelector('input')?.classList.add('number');
	return element;
}

/** @param {any} spec @param {{symbol: string, dimension: string}[]} units in the order of the server, dimension by dimension */
export function unitField(spec, units) {
	const element = field({width: 'short', ...spec, options: [['', 'choose']]});
	const select = /** @type {HTMLSelectElement} */ (element.querySelector('select'));

	for (const dimension of new Set(units.map(unit => unit.dimension)))
		select.append(h('optgroup', {label: dimension}, units.filter(unit => unit.dimension === dimension).map(unit => h('option', {value: unit.symbol}, unit.symbol))));
	select.value = spec.value ?? '';
	return element;
}

/**
 * Several words of which any may be ticked; each is a check box of its own name, the error of them all stands below.
 *
 * @param {{legend: string, pointer: string, help?: string, options: Array<{name: string, word: string, value: boolean}>}} spec
 */
export function ticks({legend, pointer, help, options}) {
	const id = uniqueId('ticks');

	return h('fieldset', {class: 'field choices ticks', 'data-pointer': pointer, 'aria-describedby': `${id}-error`},
		h('legend', {}, legend), help && h('p', {class: 'field-help'}, help),
		h('div', {class: 'tick-row'}, options.map(({name, word, value}) =>
			h('div', {class: 'tick', 'data-name': name, 'data-pointer': `/-/${name}`},
				h('label', {class: 'choice'}, h('input', {type: 'checkbox', name, checked: value}), h('span', {}, word)),
				h('p', {class: 'field-error', hidden: true})))),
		h('p', {class: 'field-error', id: `${id}-error`, hidden: true}));
}

/** Shows or hides a part of a form; what is hidden is not asked for. @param {HTMLElement} part @param {boolean} on */
export function askFor(part, on) {
	part.hidden = !on;
	for (const input of part.querySelectorAll('[required], [data-required]')) {
		input.setAttribute('data-required', 'yes');
		input.toggleAttribute('required', on);
	}
}
