/* Writing about a standard: itself, and each certificate it comes back with. */
import {call} from '../../lib/api.js';
import {amountField, askFor, unitField} from '../../lib/amount.js';
import {h} from '../../lib/dom.js';
import {field, form} from '../../lib/form.js';
import {draftUpon, sharedRow} from '../../lib/newer.js';
import {STATUSES, calibrationBody, calibrationValues, standardBody, standardValues} from './values.js';

/** @param {{units: any[], saved: (standard: any) => void, cancel: () => void}} spec */
export function newStandardForm({units, saved, cancel}) {
	const certificate = h('div', {class: 'stacked-fields'}, calibrationFields(calibrationValues(null), units, '/calibration'));
	const element = form({
		class: 'form register-form', submit: 'Add the standard', draft: 'standard-new', cancel,
		fields: [part('Which one', identityFields(standardValues(null))),
			part('Its certificate', field({name: 'certified', label: 'It has a valid certificate', check: true, value: true, help: 'Without one it cannot be used in a test.'}), certificate)],
		onsubmit: async values => saved(await call('POST', '/standards', {...standardBody(values), ...(values.certified && {calibration: calibrationBody(values)})})),
	});
	const settle = () => askFor(certificate, /** @type {any} */ (element.elements.namedItem('certified')).checked);

	element.addEventListener('change', settle);
	settle();
	return element;
}

/** @param {{standard: any, saved: (standard: any) => void, cancel: () => void}} spec */
export function standardForm({standard, saved, cancel}) {
	const values = standardValues(standard);
	const row = sharedRow({row: standard, path: `/standards/${standard.id}`, thing: 'standard', values: standardValues});

	return form({
		class: 'form register-form', submit: 'Save', draft: draftUpon(`standard-${standard.id}`, standard, standardValues), cancel,
		fields: [part('Which one', identityFields(values)),
			part('May it be used', field({name: 'status', label: 'It is', value: values.status, width: 'short', options: STATUSES}),
				field({name: 'status_reason', label: 'Why', value: values.status_reason, rows: 2, help: 'When it is out of use or has failed: what happened, and what was done.', attributes: {optional: true}}))],
		onsubmit: async (typed, self) => saved(await row.save(self, version =>
			call('PUT', row.path, {...standardBody(typed), status: typed.status, status_reason: typed.status_reason || null}, {version}))),
	});
}

/** @param {{standard: any, units: any[], saved: (standard: any) => void, cancel: () => void}} spec */
export function calibrationForm({standard, units, saved, cancel}) {
	return form({
		class: 'form calibration-form', submit: 'Add the certificate', draft: `calibration-${standard.id}`, cancel,
		fields: calibrationFields(calibrationValues(standard.calibration), units, ''),
		onsubmit: async values => saved(await call('POST', `/standards/${standard.id}/calibrations`, calibrationBody(values))),
	});
}

/** @param {any} values */
function identityFields(values) {
	return [
		field({name: 'code', label: 'Code', value: values.code, required: true, width: 'short', help: 'As on its label: STD-14.', attributes: {maxlength: 20, spellcheck: 'false'}}),
		field({name: 'name', label: 'Name', value: values.name, required: true, attributes: {maxlength: 120}}),
		field({name: 'quantity', label: 'Quantity', value: values.quantity, required: true, width: 'medium', help: 'What it gives or measures: current, pressure.', attributes: {maxlength: 60}}),
		h('div', {class: 'fields'}, field({name: 'maker', label: 'Maker', value: values.maker, width: 'short', attributes: {optional: true}}),
			field({name: 'model', label: 'Model', value: values.model, width: 'short', attributes: {optional: true}}),
			field({name: 'serial', label: 'Serial number', value: values.serial, width: 'short', attributes: {optional: true, spellcheck: 'false'}})),
	];
}

/** @param {any} values @param {any[]} units @param {string} at pointer of the certificate in the body */
function calibrationFields(values, units, at) {
	const end = (/** @type {string} */ name, /** @type {string} */ label) => {
		const element = field({name, pointer: `${at}/${name}`, label, number: true, required: true, width: 'figure'});
		/** @type {any} */ (element.querySelector('input')).value = values[name];
		return element;
	};
	const text = (/** @type {string} */ name, /** @type {string} */ label, /** @type {any} */ more = {}) => field({name, pointer: `${at}/${name}`, label, value: values[name], required: true, ...more});

	return [
		h('div', {class: 'fields'}, text('certificate_number', 'Certificate number', {width: 'short', attributes: {maxlength: 60, spellcheck: 'false'}}), text('issued_by', 'Issued by', {width: 'medium', attributes: {maxlength: 120}})),
		h('div', {class: 'fields'}, text('calibrated_on', 'Calibrated on', {type: 'date', width: 'short'}), text('valid_until', 'Valid until', {type: 'date', width: 'short'})),
		h('div', {class: 'fields'}, end('low', 'Range from'), end('high', 'to'), unitField({name: 'unit', pointer: `${at}/unit`, label: 'Unit', value: values.unit, required: true}, units)),
		h('div', {class: 'fields'}, amountField({name: 'expanded_uncertainty', pointer: `${at}/expanded_uncertainty`, label: 'Expanded uncertainty U', value: values.expanded_uncertainty, required: true}),
			amountField({name: 'coverage_factor', pointer: `${at}/coverage_factor`, label: 'Coverage factor k', value: values.coverage_factor, required: true})),
		text('traceability', 'Traceability', {rows: 2, help: 'Through which standards it leads to the SI, as the certificate says.'}),
	];
}

/** @param {string} title @param {...any} children */
function part(title, ...children) {
	return h('section', {class: 'part'}, h('h2', {}, title), h('div', {}, children));
}
