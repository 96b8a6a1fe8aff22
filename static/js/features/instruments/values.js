/*
 * An instrument as the API writes it, and as the fields of its form hold it. Pure, and the inverse of each other: what is read
 * and not touched is saved as it was.
 */
import {typedFigure} from '../../lib/quantity.js';

export {KINDS} from '../../lib/kinds.js';
export const STATUSES = ['in_service', 'out_of_service', 'retired'];
export const CHARACTERISTICS = [['linear', 'linear'], ['square_root', 'square root of the input (flow from differential pressure)'],
	['rtd', 'platinum resistance thermometer'], ['thermocouple', 'thermocouple, type K']];

/** What a new one starts from. */
export const NEW_INSTRUMENT = {
	tag: '', service: '', kind: 'transmitter', area_id: '', location: null, maker: null, model: null, serial: null,
	input: {quantity: '', low: null, high: null, unit: ''}, output: {quantity: 'current', low: 4, high: 20, unit: 'mA'},
	characteristic: {kind: 'linear'}, loop: null, switch: null, hazards: [], status: 'in_service',
};

/** @param {any} instrument @param {string} [sign] the decimal sign @returns {Record<string, string|boolean>} by field name */
export function instrumentValues(instrument, sign) {
	const {input, output, loop, characteristic, switch: points} = instrument, typed = (/** @type {any} */ value) => typedFigure(value, sign);

	return {
		tag: instrument.tag, service: instrument.service, kind: instrument.kind, area_id: instrument.area_id, status: instrument.status,
		location: instrument.location ?? '', maker: instrument.maker ?? '', model: instrument.model ?? '', serial: instrument.serial ?? '',
		input_quantity: input.quantity, input_low: typed(input.low), input_high: typed(input.high), input_unit: input.unit,
		output_quantity: output.quantity, output_low: typed(output.low), output_high: typed(output.high), output_unit: output.unit,
		characteristic: characteristic.kind, r0: typed(characteristic.r0 ?? 100),
		loop: Boolean(loop), supply_v: typed(loop?.supply_v ?? 24), device_v: typed(loop?.device_v ?? 12), series_ohm: typed(loop?.series_ohm ?? 250),
		cable_ohm: typed(loop?.cable_ohm ?? 0), hart: loop?.hart ?? false,
		set_point: typed(points?.set_point), reset_point: typed(points?.reset_point), acts_on: points?.acts_on ?? 'rising',
		dead_band_low: typed(points?.dead_band?.low), dead_band_high: typed(points?.dead_band?.high),
		hazards: instrument.hazards.join('\n'),
	};
}

/** The body to send. @param {Record<string, any>} values as readForm() gives them: numbers as text with a point, or null */
export function instrumentBody(values) {
	const number = (/** @type {string} */ name) => values[name] == null || values[name] === '' ? null : Number(values[name]);
	const quantity = (/** @type {string} */ end) => ({quantity: values[`${end}_quantity`], low: number(`${end}_low`), high: number(`${end}_high`), unit: values[`${end}_unit`]});

	return {
		tag: values.tag, service: values.service, kind: values.kind, area_id: values.area_id, status: values.status,
		location: values.location || null, maker: values.maker || null, model: values.model || null, serial: values.serial || null,
		input: quantity('input'), ...values.kind === 'switch' ? switchOutput(values, quantity('input')) : {output: quantity('output'), characteristic: characteristicBody(values)},
		loop: values.loop ? {supply_v: number('supply_v'), device_v: number('device_v'), series_ohm: number('series_ohm'), cable_ohm: number('cable_ohm'), hart: values.hart} : null,
		switch: values.kind === 'switch' ? switchBody(values, number) : null,
		hazards: values.hazards.split('\n').map((/** @type {string} */ line) => line.trim()).filter(Boolean),
	};
}

/** What comes out of a switch is told on the scale of what goes in. @param {Record<string, any>} values @param {any} input */
function switchOutput(values, input) {
	return {output: {...input, quantity: values.output_quantity || `switching ${input.quantity}`}, characteristic: {kind: 'linear'}};
}

/** Null when nothing of it was filled in: a switch whose data sheet is not at hand. @param {Record<string, any>} values @param {(name: string) => number|null} number */
function switchBody(values, number) {
	const [set, reset, low, high] = ['set_point', 'reset_point', 'dead_band_low', 'dead_band_high'].map(number);

	if (set === null && reset === null && low === null && high === null)
		return null;
	return {set_point: set, reset_point: reset, acts_on: values.acts_on, dead_band: low === null && high === null ? null : {low, high}};
}

/** @param {Record<string, any>} values */
function characteristicBody({characteristic: kind, r0}) {
	if (kind === 'rtd')
		return {kind, r0: r0 === null ? null : Number(r0)};
	return kind === 'thermocouple' ? {kind, type: 'K'} : {kind};
}
