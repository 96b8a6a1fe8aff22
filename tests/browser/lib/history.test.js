/* The history of a record in the words of the crew. */
import assert from 'node:assert/strict';
import test from 'node:test';
import {doings} from '../../../static/js/features/record/history.js';

/** @param {number} number @param {string} action @param {string|null} person @param {string|null} [reason] */
function entry(number, action, person, reason = null) {
	return {number, action, person, reason, at: `2026-03-04T10:00:${String(number).padStart(2, '0')}.000Z`};
}

test('what one person does over and over is one line that counts, newest first', () => {
	const lines = doings([entry(9, 'sign', 'Ida Holt'), entry(8, 'read', 'Ida Holt'), entry(7, 'read', 'Ida Holt'), entry(6, 'read', 'Ben Marsh'), entry(5, 'acknowledge', 'Ben Marsh'), entry(4, 'acknowledge', 'Ben Marsh')]);

	assert.deepEqual(lines.map(({person, deed, count, first, last}) => [person, deed, count, first.number, last.number]), [
		['Ida Holt', 'signed', 1, 9, 9], ['Ida Holt', 'entered a reading', 2, 7, 8], ['Ben Marsh', 'entered a reading', 1, 6, 6], ['Ben Marsh', 'acknowledged a caution', 2, 4, 5]]);
});

test('what was done for different reasons stays apart, and the program has its name', () => {
	assert.deepEqual(doings([entry(3, 'return', 'Ruth Calder', 'Second point'), entry(2, 'return', 'Ruth Calder', 'First point'), entry(1, 'seal', null)]).map(({person, reason, count}) => [person, reason, count]), [
		['Ruth Calder', 'Second point', 1], ['Ruth Calder', 'First point', 1], ['Loopledger', '', 1]]);
});
