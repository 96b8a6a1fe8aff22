import assert from 'node:assert/strict';
import test from 'node:test';
import {memberChanges, mergeThree, wordChanges} from '../../../static/js/lib/diff.js';

test('only the members that changed are told, by their path', () => {
	assert.deepEqual(memberChanges({low: 0, unit: 'kPa', loop: {supply_v: 24, hart: true}}, {low: 0, unit: 'bar', loop: {supply_v: 24, hart: false}}),
		[{path: ['unit'], before: 'kPa', after: 'bar'}, {path: ['loop', 'hart'], before: true, after: false}]);
	assert.deepEqual(memberChanges({a: 1}, {a: 1}), []);
});

test('a member that came or went has no other side', () => {
	assert.deepEqual(memberChanges({a: 1}, {b: null}), [{path: ['a'], before: 1, after: undefined}, {path: ['b'], before: undefined, after: null}]);
});

test('a list of figures changes as a whole, a list of objects item by item', () => {
	assert.deepEqual(memberChanges({percent: [0, 50, 100]}, {percent: [0, 25, 50, 100]}), [{path: ['percent'], before: [0, 50, 100], after: [0, 25, 50, 100]}]);
	assert.deepEqual(memberChanges({terms: [{plus: 1}, {plus: 2}]}, {terms: [{plus: 1}]}), [{path: ['terms', 1], before: {plus: 2}, after: undefined}]);
	assert.deepEqual(memberChanges({terms: [{plus: 1}]}, {terms: [{plus: 3}]}), [{path: ['terms', 0, 'plus'], before: 1, after: 3}]);
});

test('words that stay are not marked, and both texts can be put together again', () => {
	const before = 'Pipe gallery, beside filter 7', after = 'Pipe gallery, between filters 7 and 8', pieces = wordChanges(before, after);
	const side = (/** @type {string} */ other) => pieces.filter(piece => piece.kind !== other).map(piece => piece.text).join('').trim();

	assert.equal(side('gone'), after);
	/* a word that stays is given with the space that follows it now */
	assert.equal(side('new'), before);
	assert.deepEqual(pieces.filter(piece => piece.kind === 'same').map(piece => piece.text.trim()), ['Pipe gallery,', '7']);
});

test('what was not touched follows the other, what was touched stays', () => {
	const base = {service: 'a', low: 0, loop: {hart: true, supply: 24}}, mine = {service: 'mine', low: 0, loop: {hart: false, supply: 24}}, theirs = {service: 'theirs', low: 5, loop: {hart: true, supply: 30}};

	assert.deepEqual(mergeThree(base, mine, theirs), {service: 'mine', low: 5, loop: {hart: false, supply: 30}});
	assert.deepEqual(mergeThree(base, base, theirs), theirs);
	assert.deepEqual(mergeThree({list: [1]}, {list: [1, 2]}, {list: [3]}), {list: [1, 2]});
});
