import assert from 'node:assert/strict';
import test from 'node:test';
import {placeValues} from '../../../static/js/features/chart/errchart.js';
import {date, datesInWords, dueWords, shown} from '../../../static/js/lib/format.js';
import {linear, roundTicks, tickText} from '../../../static/js/lib/scale.js';
import {t} from '../../../static/js/lib/words.js';

test('only the decimal sign of a shown number is swapped', () => {
	assert.equal(shown('12.00 mA \u2192 51.2 %: 1.2 % of span high', ','), '12,00 mA \u2192 51,2\u00a0%: 1,2\u00a0% of span high');
	assert.equal(shown('\u22120.350 mA', ','), '\u22120,350 mA');
	assert.equal(shown('The end. 3 readings', ','), 'The end. 3 readings');
	assert.equal(shown(null), '\u2013');
});

test('a plain date is the same day everywhere, with its month in words', () => {
	assert.match(date('2026-11-25'), /25/);
	assert.match(date('2026-11-25'), /Nov/);
	assert.equal(date(null), '\u2013');
});

test('a date within a sentence of the server stands in words too, and numbers that look like one do not', () => {
	assert.match(shown('its calibration ran out on 2026-11-05'), /^its calibration ran out on 5\u00a0Nov\u00a02026$/);
	assert.match(datesInWords('from 2026-01-31 to 2026-02-28.'), /^from 31\u00a0Jan\u00a02026 to 28\u00a0Feb\u00a02026\.$/);
	for (const text of ['R-2026-00072', 'FCL-2026-01-02', '2026-11-25T10:00:00Z', '2026-13-45', '12026-11-25'])
		assert.equal(datesInWords(text), text);
});

test('what is due is said in words', () => {
	assert.deepEqual([-12, -1, 0, 1, 2].map(dueWords), ['overdue 12 days', 'overdue 1 day', 'due today', 'due tomorrow', 'in 2 days']);
});

test('a key without a word shows itself readably', () => {
	assert.equal(t('state.some_new_state'), 'some new state');
});

test('ticks are round and inside the range', () => {
	assert.deepEqual(roundTicks(4, 20, 4).ticks, [5, 10, 15, 20]);
	assert.deepEqual(roundTicks(0, 1, 4), {ticks: [0, 0.25, 0.5, 0.75, 1], decimals: 2});
	const {ticks, decimals} = roundTicks(-3.9, 3.9, 6);
	assert.deepEqual([ticks, decimals], [[-2, 0, 2], 0]);
	assert.ok(roundTicks(-0.05, 0.05, 6).ticks.every(tick => tick >= -0.05 - 1e-12 && tick <= 0.05 + 1e-12));
});

test('a tick below zero has the true minus sign, and zero has none', () => {
	assert.equal(tickText(-0.5, 2), '\u22120.50');
	assert.equal(tickText(-0.0001, 2), '0.00');
});

test('a scale maps its ends to its pixels', () => {
	const x = linear(4, 20, 50, 210);
	assert.deepEqual([x(4), x(12), x(20)], [50, 130, 210]);
});

test('of errors that are written beside a chart\u2019s points none covers another, and one alone stands on the outer side', () => {
	const row = (/** @type {number[]} */ at) => placeValues(at.map(x => ({at: x, sides: [20, 64], text: '+29.0 %'})));
	assert.deepEqual(row([100]).map(one => one.level), [20]);
	assert.deepEqual(row([100, 150, 260]).map(one => one.level), [20, 64, 20]);
	assert.deepEqual(row([100, 120, 140, 160, 180]).map(one => [one.at, one.level]), [[100, 20], [120, 64], [180, 20]]);
});
