import assert from 'node:assert/strict';
import test from 'node:test';
import {readNumber, turnSign} from '../../../static/js/lib/number.js';

test('comma and point are the same decimal sign', () => {
	assert.deepEqual(readNumber('12,004'), {ok: true, text: '12.004', value: 12.004, decimals: 3});
	assert.deepEqual(readNumber(' 12.004 '), {ok: true, text: '12.004', value: 12.004, decimals: 3});
});

test('zeros at the end are kept, because they say how finely it was read', () => {
	assert.equal(/** @type {any} */ (readNumber('12.00')).text, '12.00');
	assert.equal(/** @type {any} */ (readNumber('12,0')).decimals, 1);
});

test('a minus of any kind is a minus', () => {
	for (const typed of ['-0.35', '\u22120.35', '\u20130,35'])
		assert.equal(/** @type {any} */ (readNumber(typed)).text, '-0.35');
});

test('a number may begin with its decimal sign', () => {
	assert.equal(/** @type {any} */ (readNumber(',5')).text, '0.5');
	assert.equal(/** @type {any} */ (readNumber('-.5')).text, '-0.5');
});

test('grouping is refused, not guessed at', () => {
	for (const typed of ['1,234.5', '1.234,5', '1 234', '1\u00a0234', '1\u202f234,5', "1'234", '1,234,567'])
		assert.deepEqual(readNumber(typed), {ok: false, why: 'grouping'}, typed);
});

test('what is no number is refused', () => {
	for (const typed of ['abc', '12 mA', '--1', '1-', '.', '-', '1e3', '0x10', '12.0a'])
		assert.equal(/** @type {any} */ (readNumber(typed)).why, 'not_a_number', typed);
	assert.deepEqual(readNumber('  '), {ok: false, why: 'empty'});
});

test('the sign button turns the sign and back', () => {
	assert.equal(turnSign('12,5'), '\u221212,5');
	assert.equal(turnSign('\u221212,5'), '12,5');
	assert.equal(turnSign('-3'), '3');
	assert.equal(turnSign(''), '\u2212');
});
