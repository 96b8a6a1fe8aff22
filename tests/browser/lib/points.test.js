import assert from 'node:assert/strict';
import test from 'node:test';
import {fitDocument, readPlaces, readPoints} from '../../../static/js/features/curve/points.js';

test('columns stand apart by tabs, semicolons or spaces, and a comma is a decimal sign', () => {
	for (const text of ['1,50\t2,25\n-3\t4', '1,50; 2,25\n-3;4', '  1.50   2.25\n\n\u22123 4\n'])
		assert.deepEqual(readPoints(text), {points: [{x: 1.5, y: 2.25, u: null, typed: {x: '1.50', y: '2.25'}}, {x: -3, y: 4, u: null, typed: {x: '-3', y: '4'}}], decimals: 2, fault: null});
});

test('a first line of words is a heading, a later one is a fault', () => {
	assert.deepEqual(readPoints('\u00b0C\tohm\n0\t100').points.map(({x, y}) => [x, y]), [[0, 100]]);
	assert.match(readPoints('0\t100\n\u00b0C\tohm').fault ?? '', /^Line 2: \u00b0C is no number/);
});

test('a table that is no table is told by its line', () => {
	for (const [text, fault] of [['1 2\n3', /^Line 2 has one number/], ['1 2 3 4', /^Line 1 has 4 numbers/], ['1 2 0', /^Line 1: the standard uncertainty must be above 0/],
		['1 2 1\n3 4', /^Line 2: either every point/], ['1\t1 000', /^Line 1: 1 000 is no number/], ['x y', /^Type or paste/]])
		assert.match(readPoints(/** @type {string} */ (text)).fault ?? '', /** @type {RegExp} */ (fault));
});

test('points known less well weigh less, and only least squares weighs', () => {
	const {points} = readPoints('1 2 0.1\n2 4 0.2\n3 6 0.1');

	assert.deepEqual(fitDocument(points, {curve: '1', through_zero: false}, []), {x: [1, 2, 3], y: [2, 4, 6], order: 1, through_zero: false, weights: [1, 0.25, 1]});
	assert.deepEqual(fitDocument(points, {curve: 'robust', through_zero: true}, [7]), {x: [1, 2, 3], y: [2, 4, 6], method: 'theil_sen', at: [7]});
});

test('places are numbers apart by spaces', () => {
	assert.deepEqual(readPlaces('1,5 2'), {places: [1.5, 2], fault: null});
	assert.deepEqual(readPlaces(''), {places: [], fault: null});
	assert.match(readPlaces('1 b').fault ?? '', /^b is no number/);
});
