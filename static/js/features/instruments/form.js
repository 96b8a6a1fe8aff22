/* The form of an instrument, new or known. */
import {call} from '../../lib/api.js';
import {amountField, askFor, unitField} from '../../lib/amount.js';
import {h} from '../../lib/dom.js';
import {field, form} from '../../lib/form.js';
import {draftUpon, sharedRow} from '../../lib/newer.js';
import {t} from '../../lib/words.js';
import {CHARACTERISTICS, KINDS, NEW_INSTRUMENT, STATUSES, instrumentBody, instrumentValues} from './values.js';

const NEW_AREA = '+';

/**
 * @param {{instrument: any|null, areas: any[], units: any[], saved: (instrument: any) => void, cancel: () => void}} spec instrument null
 *   for a new one
 */
export function instrumentForm({instrument, areas, units, saved, cancel}) {
	const values = instrumentValues(instrument ?? {...NEW_INSTRUMENT, area_id: areas[0]?.id ?? NEW_AREA});
	const parts = [identity(values, areas), measures(values, units), switching(values), loop(values), care(values, Boolean(instrument))];
	const row = instrument && sharedRow({row: instrument, path: `/instruments/${instrument.id}`, thing: 'instrument', values: instrumentValues, settled: () => settle()});

	const element = form({
		fields: parts, submit: instrument ? 'Save' : 'Add the instrument', class: 'form register-form', cancel,
		draft: instrument ? draftUpon(`instrument-${instrument.id}`, instrument, instrumentValues) : 'instrument-new',
		onsubmit: async (typed, self) => {
			if (typed.area_id === NEW_AREA)
				typed.area_id = await addArea(typed, self);
			const body = instrumentBody(typed);
			saved(row ? await row.save(self, version => call('PUT', row.path, body, {version})) : await call('POST', '/instruments', body));
		},
	});
	const settle = () => settleParts(element);
	element.addEventListener('change', settle);
	settle();
	return element;
}

/** What is asked depends on what was answered. @param {HTMLFormElement} element */
function settleParts(element) {
	const value = (/** @type {string} */ name) => /** @type {any} */ (element.elements.namedItem(name));

	for (const part of /** @type {NodeListOf<HTMLElement>} */ (element.querySelectorAll('[data-when], [data-unless]'))) {
		const [name, wanted] = String(part.dataset.when ?? part.dataset.unless).split('=');
		const input = value(name), is = input.type === 'checkbox' ? input.checked : input.value === wanted;
		askFor(part, is === Boolean(part.dataset.when));
	}
}

/** A new area is added first; its id then stands in the form, so that a second try does not add it again. @param {any} typed @param {HTMLFormElement} element */
async function addArea(typed, element) {
	const area = await call('POST', '/areas', {name: typed.area_name, ...(typed.area_parent && {parent_id: typed.area_parent})}).catch(error => {
		/* the pointers of an area are not those of an instrument */
		error.fields = new Map([...error.fields ?? []].map(([pointer, sentences]) => [`/area${pointer}`, sentences]));
		throw error;
	});
	const select = /** @type {HTMLSelectElement} */ (element.elements.namedItem('area_id'));
	select.prepend(h('option', {value: area.id}, area.path ?? area.name));
	select.value = area.id;
	select.dispatchEvent(new Event('change', {bubbles: true}));
	return area.id;
}

/** @param {any} values @param {any[]} areas */
function identity(values, areas) {
	const places = areas.map(area => /** @type {[string, string]} */ ([area.id, area.path]));

	return part('Which one',
		field({name: 'tag', label: 'Tag', value: values.tag, required: true, width: 'medium', help: 'As it stands on the plate.', attributes: {maxlength: 40, autocapitalize: 'characters', spellcheck: 'false'}}),
		field({name: 'service', label: 'Service', value: values.service, required: true, help: 'What it does for the plant, in the words the crew uses.', attributes: {maxlength: 120}}),
		pair(field({name: 'kind', label: 'Kind', value: values.kind, width: 'medium', options: KINDS.map(kind => [kind, t(`kind.${kind}`)])}),
			field({name: 'area_id', label: 'Area', value: values.area_id, width: 'medium', options: [...places, [NEW_AREA, 'a new area \u2026']]})),
		h('div', {class: 'fields', 'data-when': `area_id=${NEW_AREA}`},
			field({name: 'area_name', label: 'Name of the new area', pointer: '/area/name', required: true, width: 'medium'}),
			places.length > 0 && field({name: 'area_parent', label: 'It lies in', pointer: '/area/parent_id', width: 'medium', options: [['', 'the plant itself'], ...places]})),
		field({name: 'location', label: 'Where it is found', value: values.location, attributes: {maxlength: 120, optional: true}}),
		pair(field({name: 'maker', label: 'Maker', value: values.maker, width: 'short', attributes: {optional: true}}),
			field({name: 'model', label: 'Model', value: values.model, width: 'short', attributes: {optional: true}}),
			field({name: 'serial', label: 'Serial number', value: values.serial, width: 'short', attributes: {optional: true, spellcheck: 'false'}})));
}

/** @param {any} values @param {any[]} units */
function measures(values, units) {
	const end = (/** @type {string} */ name, /** @type {string} */ title) => h('fieldset', {class: 'quantity'}, h('legend', {}, title), h('div', {class: 'fields'},
		field({name: `${name}_quantity`, pointer: `/${name}/quantity`, label: 'Quantity', value: values[`${name}_quantity`], required: true, width: 'short'}),
		number(`${name}_low`, `/${name}/low`, 'At 0 %', values),
		number(`${name}_high`, `/${name}/high`, 'At 100 %', values),
		unitField({name: `${name}_unit`, pointer: `/${name}/unit`, label: 'Unit', value: values[`${name}_unit`], required: true}, units)));

	return part('What it does',
		end('input', 'Input: what goes in'), h('div', {class: 'stacked', 'data-unless': 'kind=switch'}, end('output', 'Output: what comes out'),
		pair(field({name: 'characteristic', pointer: '/characteristic/kind', label: 'The output follows the input', value: values.characteristic, options: /** @type {any} */ (CHARACTERISTICS)}),
			h('div', {'data-when': 'characteristic=rtd'}, amountField({name: 'r0', pointer: '/characteristic/r0', label: 'Resistance at 0 °C', unit: 'ohm', value: values.r0, required: true})))));
}

/** @param {string} name @param {string} pointer @param {string} label @param {any} values */
function number(name, pointer, label, values) {
	const element = field({name, pointer, label, number: true, required: true, width: 'figure'});

	/** @type {any} */ (element.querySelector('input')).value = values[name];
	return element;
}

/** The data sheet of a switch; a test of its switch point is judged by it. @param {any} values */
function switching(values) {
	const point = (/** @type {string} */ name, /** @type {string} */ pointer, /** @type {string} */ label) => {
		const element = field({name, pointer, label, number: true, width: 'figure', attributes: {optional: name !== 'set_point'}});
		/** @type {any} */ (element.querySelector('input')).value = values[name];
		return element;
	};
	const band = (/** @type {string} */ name, /** @type {string} */ pointer, /** @type {string} */ label) => amountField({name, pointer, label, value: values[name], width: 'figure', attributes: {optional: true}});
	const element = part('Where it switches',
		h('p', {class: 'field-help'}, 'From its data sheet or the alarm list, in the unit of its input. A test of the switch point needs the set point.'),
		pair(point('set_point', '/switch/set_point', 'Set point'),
			field({name: 'acts_on', pointer: '/switch/acts_on', label: 'It acts when the input', value: values.acts_on, width: 'short', options: [['rising', 'rises'], ['falling', 'falls']]}),
			point('reset_point', '/switch/reset_point', 'Reset point')),
		h('fieldset', {class: 'quantity', 'data-pointer': '/switch/dead_band'}, h('legend', {}, 'Dead band: how far it comes back before the contact does'),
			h('div', {class: 'fields'}, band('dead_band_low', '/switch/dead_band/low', 'At least'), band('dead_band_high', '/switch/dead_band/high', 'At most')),
			h('p', {class: 'field-error', hidden: true})));

	element.dataset.when = 'kind=switch';
	return element;
}

/** @param {any} values */
function loop(values) {
	const amount = (/** @type {string} */ name, /** @type {string} */ label, /** @type {string} */ unit) =>
		amountField({name, pointer: `/loop/${name}`, label, unit, value: values[name], required: true});

	return part('Its loop',
		field({name: 'loop', label: 'It lies in a current loop with a supply of its own', check: true, value: values.loop}),
		h('div', {class: 'fields', 'data-when': 'loop=true'},
			amount('supply_v', 'Supply', 'V'), amount('device_v', 'The device needs', 'V'), amount('series_ohm', 'Resistor in series', 'ohm'), amount('cable_ohm', 'Cable, both ways', 'ohm'),
			field({name: 'hart', pointer: '/loop/hart', label: 'It speaks HART', check: true, value: values.hart})));
}

/** @param {any} values @param {boolean} known */
function care(values, known) {
	return part('What can hurt',
		field({name: 'hazards', label: 'Hazards', value: values.hazards, rows: 3, help: 'One a line. Whoever tests it acknowledges each by name before anything is touched.', attributes: {optional: true}}),
		field({name: 'status', label: 'It is', value: values.status, width: 'short', options: (known ? STATUSES : STATUSES.slice(0, 2)).map(status => [status, t(`status.${status}`)])}));
}

/** @param {string} title @param {...any} children */
function part(title, ...children) {
	return h('section', {class: 'part'}, h('h2', {}, title), h('div', {}, children));
}

/** @param {...any} children */
function pair(...children) {
	return h('div', {class: 'fields'}, children);
}
