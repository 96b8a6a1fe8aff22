/* A reference standard and its certificate, as the API writes them and as their forms hold them. Pure. */
import {typedFigure} from '../../lib/quantity.js';

export const STATUSES = /** @type {Array<[string, string]>} */ ([['in_use', 'in use'], ['out_of_use', 'out of use'], ['failed', 'failed']]);

/** @param {any} standard @returns {Record<string, string|boolean>} */
export function standardValues(standard) {
	const text = (/** @type {string} */ name) => standard?.[name] ?? '';

	return {code: text('code'), name: text('name'), quantity: text('quantity'), maker: text('maker'), model: text('model'), serial: text('serial'),
		status: standard?.status ?? 'in_use', status_reason: text('status_reason')};
}

/** @param {Record<string, any>} values */
export function standardBody({code, name, quantity, maker, model, serial}) {
	return {code, name, quantity, maker: maker || null, model: model || null, serial: serial || null};
}

/** What a new certificate most likely shares with the one before. @param {any} before @param {string} [sign] */
export function calibrationValues(before, sign) {
	const typed = (/** @type {any} */ value) => typedFigure(value, sign);

	return {certificate_number: '', issued_by: before?.issued_by ?? '', calibrated_on: '', valid_until: '', low: typed(before?.low), high: typed(before?.high), unit: before?.unit ?? '',
		expanded_uncertainty: typed(before?.expanded_uncertainty), coverage_factor: typed(before?.coverage_factor ?? 2), traceability: before?.traceability ?? ''};
}

/** @param {Record<string, any>} values as readForm() gives them */
export function calibrationBody(values) {
	const number = (/** @type {string} */ name) => values[name] === null ? null : Number(values[name]);

	return {certificate_number: values.certificate_number, issued_by: values.issued_by, calibrated_on: values.calibrated_on, valid_until: values.valid_until,
		low: number('low'), high: number('high'), unit: values.unit, expanded_uncertainty: number('expanded_uncertainty'), coverage_factor: number('coverage_factor'), traceability: values.traceability};
}
