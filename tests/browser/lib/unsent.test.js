import assert from 'node:assert/strict';
import test from 'node:test';
import {backOff, nextToSend, pointsWithUnsent, sender, unsentStore, worthRetrying} from '../../../static/js/lib/unsent.js';

/** localStorage as the browser has it, in memory. @returns {any} */
function memory() {
	const held = new Map();

	return {
		get length() { return held.size; },
		key: (/** @type {number} */ i) => [...held.keys()][i] ?? null,
		getItem: (/** @type {string} */ name) => held.get(name) ?? null,
		setItem: (/** @type {string} */ name, /** @type {string} */ value) => held.set(name, value),
		removeItem: (/** @type {string} */ name) => held.delete(name),
	};
}

/** @param {number} point @param {object} [more] @returns {any} */
const reading = (point, more = {}) => ({key: `key-${point}`, person: 'anna', record: 'r1', number: 'T-1', tag: 'FT-101', run: 'as_found', point,
	body: {run: 'as_found', point, observed: '51.2'}, shown: {applied: '12.00 mA', observed: '51.2 %'}, at: `2026-11-25T10:00:0${point}Z`, ...more});

/** A sender whose server answers as told, and whose timers run when told. @param {(item: any) => any} answer */
function bench(answer, person = 'anna') {
	const store = unsentStore(memory());
	const log = {sent: /** @type {number[]} */ ([]), timers: /** @type {Array<{run: Function, seconds: number}>} */ ([]), changes: /** @type {any[]} */ ([])};
	const sending = sender({
		store, person,
		post: async item => { log.sent.push(item.point); return answer(item); },
		changed: what => log.changes.push(what),
		later: (run, seconds) => { log.timers.push({run, seconds}); },
	});

	return {store, sending, log};
}

const refuse = (/** @type {number} */ status, message = 'no') => { throw Object.assign(new Error(message), {status}); };

test('readings go in the order of the points and leave the tablet when they have arrived', async () => {
	const {store, sending, log} = bench(item => ({id: item.record}));

	store.put(reading(2));
	store.put(reading(0));
	store.put(reading(1));
	await sending.flush();
	assert.deepEqual(log.sent, [0, 1, 2]);
	assert.equal(store.all().length, 0);
});

test('without an answer a reading stays, and it is tried again later and later', async () => {
	let down = true;
	const {store, sending, log} = bench(() => down ? refuse(0) : {});

	store.put(reading(0));
	await sending.flush();
	assert.equal(store.all().length, 1);
	assert.equal(sending.state.reachable, false);
	await log.timers[0].run();
	assert.ok(log.timers[1].seconds > log.timers[0].seconds);
	down = false;
	await log.timers[1].run();
	assert.equal(store.all().length, 0);
	assert.equal(sending.state.reachable, true);
});

test('a refused reading is kept with the sentence of the server and holds back its run only', async () => {
	const {store, sending, log} = bench(item => item.record === 'r1' ? refuse(422, 'far outside the range') : {});

	store.put(reading(0));
	store.put(reading(1));
	store.put(reading(0, {key: 'other', record: 'r2'}));
	await sending.flush();
	assert.deepEqual(log.sent, [0, 0]);
	assert.deepEqual(store.all().map(item => [item.point, item.refused]), [[0, 'far outside the range'], [1, undefined]]);
	assert.equal(log.timers.length, 0);
});

test('readings of somebody else are never sent', async () => {
	const {store, sending, log} = bench(() => ({}), 'ben');

	store.put(reading(0));
	await sending.flush();
	assert.deepEqual(log.sent, []);
	assert.equal(store.all().length, 1);
});

test('when nobody is signed in the readings wait without being refused', async () => {
	const {store, sending} = bench(() => refuse(401));

	store.put(reading(0));
	await sending.flush();
	assert.equal(sending.state.signedOut, true);
	assert.equal(store.all()[0].refused, undefined);
});

test('two flushes at once send nothing twice', async () => {
	const {store, sending, log} = bench(() => ({}));

	store.put(reading(0));
	store.put(reading(1));
	await Promise.all([sending.flush(), sending.flush()]);
	assert.deepEqual(log.sent, [0, 1]);
});

test('only silence, time-outs and a busy or failing server are worth another try', () => {
	assert.deepEqual([0, 408, 429, 500, 503].map(worthRetrying), [true, true, true, true, true]);
	assert.deepEqual([400, 403, 404, 409, 422].map(worthRetrying), [false, false, false, false, false]);
});

test('the wait doubles up to half a minute', () => {
	assert.deepEqual([1, 2, 3, 4, 5, 6, 20].map(backOff), [1, 2, 4, 8, 16, 30, 30]);
});

test('a refused reading can be passed by those of lower points', () => {
	assert.equal(nextToSend([reading(0), reading(1, {refused: 'no'})])?.point, 0);
	assert.equal(nextToSend([reading(1, {refused: 'no'}), reading(2)]), null);
});

test('an unsent reading shows as typed, and never hides one that the server has', () => {
	const run = {kind: 'as_found', input_unit: 'mA', output_unit: '%', points: [{index: 0, reading: {id: 'a'}}, {index: 1, reading: null}, {index: 2, reading: null}]};
	const points = pointsWithUnsent(run, [reading(0), reading(1)]);

	assert.deepEqual(points[0].reading, {id: 'a'});
	assert.equal(points[1].reading.shown_observed, '51.2 %');
	assert.equal(points[2].reading, null);
});
