import assert from 'node:assert/strict';
import test from 'node:test';
import {outputShares} from '../../../static/js/features/instruments/scale.js';
import {instrumentBody, instrumentValues} from '../../../static/js/features/instruments/values.js';
import {dayWords, pathWords} from '../../../static/js/features/ledger/entry.js';
import {calibrationBody, calibrationValues} from '../../../static/js/features/standards/values.js';
import {figure, rangeText, shortHash, typedFigure} from '../../../static/js/lib/quantity.js';

const INSTRUMENT = {
	tag: 'TT-1', service: 'Store', kind: 'sensing_element', area_id: 'a', status: 'in_service', location: null, maker: null, model: 'M', serial: null,
	input: {quantity: 'temperature', low: -50, high: 150.5, unit: '°C'}, output: {quantity: 'resistance', low: 80.31, high: 157.33, unit: 'ohm'},
	characteristic: {kind: 'rtd', r0: 100}, loop: {supply_v: 24, device_v: 8.5, series_ohm: 250, cable_ohm: 0, hart: true}, switch: null, hazards: ['Hot', 'High'],
};

/** What readForm() makes of the texts in the fields: numbers with a point and a plain minus. @param {Record<string, any>} values @param {string[]} numbers */
function asRead(values, numbers) {
	return Object.fromEntries(Object.entries(values).map(([name, value]) => [name, numbers.includes(name) ? value.replace(',', '.').replace('\u2212', '-') : value]));
}

test('an instrument that is read and not touched is saved as it was', () => {
	const numbers = ['input_low', 'input_high', 'output_low', 'output_high', 'r0', 'supply_v', 'device_v', 'series_ohm', 'cable_ohm'];

	for (const sign of ['.', ','])
		assert.deepEqual(instrumentBody(asRead(instrumentValues(INSTRUMENT, sign), numbers)), INSTRUMENT);
	assert.equal(instrumentBody(asRead(instrumentValues({...INSTRUMENT, loop: null, characteristic: {kind: 'linear'}}, '.'), numbers)).loop, null);
});

test('a switch is saved with what its data sheet says, or without when nothing is known of it', () => {
	const numbers = ['input_low', 'input_high', 'output_low', 'output_high', 'set_point', 'reset_point', 'dead_band_low', 'dead_band_high'];
	const input = {quantity: 'pressure', low: 0, high: 20, unit: 'bar'};
	const plain = {...INSTRUMENT, kind: 'switch', loop: null, input, output: {...input, quantity: 'switching pressure'}, characteristic: {kind: 'linear'}};

	for (const points of [{set_point: 16, reset_point: null, acts_on: 'rising', dead_band: {low: 0.5, high: null}}, {set_point: 0.3, reset_point: 0.35, acts_on: 'falling', dead_band: null}, null])
		assert.deepEqual(instrumentBody(asRead(instrumentValues({...plain, switch: points}, ','), numbers)), {...plain, switch: points});
});

test('a new certificate takes over what seldom changes, and never its number and dates', () => {
	const before = {certificate_number: 'X-1', issued_by: 'Lab', calibrated_on: '2026-01-02', valid_until: '2027-01-02', low: -1, high: 10, unit: 'bar', expanded_uncertainty: 0.0005, coverage_factor: 2, traceability: 'SI'};
	const values = calibrationValues(before, '.');

	assert.deepEqual([values.certificate_number, values.calibrated_on, values.valid_until], ['', '', '']);
	const body = calibrationBody(asRead({...values, certificate_number: 'X-2', calibrated_on: '2027-01-05', valid_until: '2028-01-05'}, ['low', 'high', 'expanded_uncertainty', 'coverage_factor']));
	assert.deepEqual(body, {...before, certificate_number: 'X-2', calibrated_on: '2027-01-05', valid_until: '2028-01-05'});
});

test('figures of the register are written for the reader and never rounded', () => {
	assert.equal(figure(-12.5, ','), '\u221212,5');
	assert.equal(figure(null), '\u2013');
	assert.equal(typedFigure(0.0005, ','), '0,0005');
	assert.equal(rangeText({low: 0, high: 250, unit: 'kPa'}), '0 to 250 kPa');
	assert.equal(shortHash('3f9a22c1'.padEnd(60, '0') + '07be'), '3f9a 22c1 \u2026 07be');
});

test('the scale shows where each output lies, a falling one upside down', () => {
	/* square root of 0, 25, 50, 75 and 100 %: 0, 1/2, 0.7071, 0.8660, 1 */
	assert.deepEqual(outputShares([4, 12, 15.314, 17.856, 20]).map(share => Number(share.toFixed(3))), [0, 0.5, 0.707, 0.866, 1]);
	assert.deepEqual(outputShares([20, 4]), [1, 0]);
	assert.deepEqual(outputShares([5, 5]), [0, 0]);
});

test('a path into a document counts from one, as people do', () => {
	assert.equal(pathWords(['document', 'steps', 1, 'settle_s']), 'document, steps, 2, settle s');
});

test('a value of the ledger that is a date stands in words, and a text that holds one stays as it was written', () => {
	assert.match(dayWords('2026-12-05'), /^5\u00a0Dec\u00a02026$/);
	assert.match(dayWords('2026-01-05T12:00:00.000Z'), /^\d\u00a0Jan\u00a02026, \d\d:\d\d/);
	for (const text of ['seen on 2026-12-05', 'R-2026-00072', '2026-12-05T', ''])
		assert.equal(dayWords(text), text);
});
