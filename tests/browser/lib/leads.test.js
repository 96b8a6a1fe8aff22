import assert from 'node:assert/strict';
import test from 'node:test';
import {arrange, endOf, wrap} from '../../../static/js/lib/leads.js';

const lead = (/** @type {string} */ from, /** @type {string} */ to) => ({from, to});

test('a terminal is what stands after the last comma', () => {
	assert.deepEqual(endOf('positioner of FCV-1205, \u2212'), {name: 'positioner of FCV-1205', terminal: '\u2212'});
	assert.deepEqual(endOf('stem'), {name: 'stem', terminal: ''});
});

test('leads that come back to where they began are a loop, with meter and resistor in the return', () => {
	const {loop, across, chains} = arrange([
		lead('hand pump', 'reference gauge'), lead('reference gauge', 'LT-1103, high side'),
		lead('loop supply, +', 'LT-1103, +'), lead('LT-1103, \u2212', 'mA meter, +'), lead('mA meter, \u2212', 'resistor 250 \u03a9'), lead('resistor 250 \u03a9', 'loop supply, \u2212'),
		lead('HART modem, both leads', 'across the terminals of LT-1103'),
	]);

	assert.equal(loop.left.name, 'loop supply');
	assert.equal(loop.right.name, 'LT-1103');
	assert.deepEqual(loop.between.map((/** @type {any} */ device) => device.name), ['mA meter', 'resistor 250 \u03a9']);
	assert.deepEqual([loop.out.number, ...loop.back.map((/** @type {any} */ one) => one.number)], [3, 4, 5, 6]);
	assert.deepEqual(across.map(one => one.number), [7]);
	assert.deepEqual(chains.map(chain => chain.map(one => one.number)), [[1, 2]]);
});

test('every lead is drawn exactly once, loop or not', () => {
	const connections = [lead('sensor', 'dry block, well that fits'), lead('reference probe', 'dry block, well beside it'), lead('sensor, leads', 'ohmmeter')];
	const {loop, across, chains} = arrange(connections);

	assert.equal(loop, null);
	assert.deepEqual([...across, ...chains.flat()].map(one => one.number).sort(), [1, 2, 3]);
});

test('a long name is broken at its spaces', () => {
	assert.deepEqual(wrap('travel scale or gauge', 12), ['travel scale', 'or gauge']);
	assert.deepEqual(wrap('averylongsingleword x', 5), ['avery', 'longs', 'ingle', 'word', 'x']);
	assert.deepEqual(wrap('of 20-PDT-ROHWASSER-47 now', 12), ['of 20-PDT-', 'ROHWASSER-47', 'now']);
});
