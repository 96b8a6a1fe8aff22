import assert from 'node:assert/strict';
import test from 'node:test';
import {significant, toDecimals} from '../../../static/js/lib/significant.js';

test('a number is shown with as many significant digits as asked for', () => {
	assert.equal(significant(0.00265894716006118, 3), '0.00266');
	assert.equal(significant(12.006, 3), '12.0');
	assert.equal(significant(-1234.5, 3), '\u22121230');
	assert.equal(significant(96.4214891974604, 3), '96.4');
	assert.equal(significant(2, 3), '2.00');
	assert.equal(significant(0, 3), '0');
	assert.equal(significant(null, 3), '\u2013');
});

/* ISO 80000-1:2009, B.3 rule B: 0.125 to two decimals is 0.13, 1.005 is 1.01 although the binary number lies below it */
test('a half goes away from zero, by the decimal digits', () => {
	assert.equal(significant(0.125, 2), '0.13');
	assert.equal(significant(-0.125, 2), '\u22120.13');
	assert.equal(significant(1.005, 3), '1.01');
	assert.equal(significant(0.9996, 3), '1.00');
	assert.equal(significant(99.96, 3), '100');
});

test('what is very small or very large is written with a power of ten', () => {
	assert.equal(significant(3.24e-7, 2), '3.2\u00b710\u207b\u2077');
	assert.equal(significant(-5e12, 1), '\u22125\u00b710\u00b9\u00b2');
	assert.equal(significant(0.00001, 1), '0.00001');
});

/* the same rule counted in decimals: 2.5 units of the last place are 3 */
test('a number is shown with as many decimals as asked for', () => {
	assert.equal(toDecimals(0.000183945440141997, 5), '0.00018');
	assert.equal(toDecimals(11.8204828, 2), '11.82');
	assert.equal(toDecimals(-0.004, 2), '0.00');
	assert.equal(toDecimals(-0.025, 2), '\u22120.03');
	assert.equal(toDecimals(999.96, 1), '1000.0');
	assert.equal(toDecimals(0.5, 0), '1');
	assert.equal(toDecimals(0.04, 0), '0');
	assert.equal(toDecimals(1234567, 0), '1234567');
	assert.equal(toDecimals(0, 3), '0.000');
	assert.equal(toDecimals(Infinity, 3), '\u2013');
});
