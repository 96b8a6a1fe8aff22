/*
 * The browser's core in the browser: loaded under the policy of the pages, with the answers that node gets of the same module
 * (tests/wasm holds those against the native build), and used where a reading is typed.
 */
import assert from 'node:assert/strict';
import test from 'node:test';
import {loadMetrology} from '../../static/js/lib/metrology.js';
import {openTest, prepare, prove} from './run.js';
import {api, becomes, startPlant} from './support.js';

const plant = startPlant();

/** Setups of every kind of characteristic and rule, each with a run of readings; the same wherever it runs. */
function questions() {
	const kinds = [
		{kind: 'linear'}, {kind: 'square_root', cutoff: 1}, {kind: 'rtd', r0: 100}, {kind: 'thermocouple', type: 'K'}, {kind: 'thermocouple', type: 'B'},
		{kind: 'callendar_van_dusen', r0: 100, a: 3.9083e-3, b: -5.775e-7, c: -4.183e-12}, {kind: 'equal_percentage', rangeability: 50},
		{kind: 'table', points: [[0, 0], [40, 1.611], [80, 3.266], [120, 4.919]], interpolation: 'monotone_cubic'},
		{kind: 'polynomial', coefficients: [0.5, 1.25, 1e-3], validity: {low: -10, high: 200}},
	];

	return kinds.flatMap((characteristic, k) => ['simple', 'guarded'].flatMap(rule => [0.1, 0.5, 1].map(plus => ({
		setup: {input: {low: 0, high: 100}, output: {low: 4, high: 20}, characteristic, decision: {rule, guard_factor: 1}, input_unit: 'mA', output_unit: 'mA', output_decimals: 3,
			tolerance: {join: k % 2 ? 'sum' : 'greatest', terms: [{kind: 'percent_of_span', plus}, {kind: 'absolute', plus: plus / 10, minus: plus / 20}]}},
		readings: [0, 25, 50, 75, 100, 75, 50, 25, 0].map((set, i) => ({set, observed: 4 + 0.16 * set + 0.0137 * i * plus, direction: i > 4 ? 'falling' : 'rising', u: i / 1000})),
	}))));
}

test('Chromium loads the core under the policy of the pages and answers as node does', async () => {
	await plant.visit({person: 'ida'}, async page => {
		const answer = await page.request.get('/metrology.wasm');
		assert.equal(answer.headers()['content-type'], 'application/wasm');
		const core = await loadMetrology(await answer.body()), asked = questions();
		/* JSON knows no NaN, so texts of the numbers are compared, and they tell every bit but a NaN's */
		const there = await page.evaluate(async list => {
			const {loadMetrology} = await import(/** @type {string} */ ('/js/lib/metrology.js'));
			const core = await loadMetrology();
			return list.map(({setup, readings}) => JSON.stringify(readings.map(reading => core.judge(setup, reading)), (_, v) => typeof v === 'number' ? (Object.is(v, -0) ? '-0' : String(v)) : v));
		}, asked);
		const here = asked.map(({setup, readings}) => JSON.stringify(readings.map(reading => core.judge(setup, reading)), (_, v) => typeof v === 'number' ? (Object.is(v, -0) ? '-0' : String(v)) : v));

		assert.deepEqual(there, here);
		assert.equal(there.length, 54);
		assert.ok(there.filter(text => !text.includes('null')).length > 40, 'most setups can be judged');
	});
});

test('a reading has its verdict at once while the server is away, and the server says the same later', async () => {
	await plant.visit({person: 'ida', expect: /ERR_CONNECTION_REFUSED|ERR_FAILED|Failed to load resource/}, async page => {
		await openTest(page, 'FCV-2107');
		await prepare(page);
		await prove(page);
		const id = String(new URL(page.url()).searchParams.get('id'));
		await plant.server.stop();
		for (const [i, text] of ['0,4', '60', '50.9'].entries()) {
			await page.getByText(`Point ${i + 1} of 9`).waitFor();
			await page.getByLabel(/^Reading, /).fill(text);
			await page.getByLabel(/^Reading, /).press('Enter');
		}
		await page.getByText('3 readings are on this tablet, not yet on the server').waitFor();
		/* at 50 % 50.9 is 0.9 % of a span of 100 % high, at 25 % 60 is 35 % */
		await page.locator('.run-verdict').getByText('0.9').waitFor();
		assert.match(await page.locator('.run-verdict').innerText(), /% of span high, limit .*: inside\. On this tablet, not yet sent/);
		assert.equal(await page.locator('.rung.held .mark.ok').count(), 2);
		assert.equal(await page.locator('.rung.held .mark.bad').count(), 1);
		const said = (await page.locator('.run-verdict').innerText()).replace(/\. On this tablet.*/, '');

		await plant.restart();
		const readings = async () => (await api(page, `/test-records/${id}`)).runs[0].points.map((/** @type {any} */ point) => point.reading).filter(Boolean);
		await becomes(async () => (await readings()).length, 3);
		const stored = await readings();
		assert.deepEqual(stored.map((/** @type {any} */ reading) => reading.client_verdict), ['pass', 'fail', 'pass']);
		assert.deepEqual(stored.map((/** @type {any} */ reading) => reading.verdict), ['pass', 'fail', 'pass']);
		assert.equal(stored[2].sentence.replace(/\s/g, ' '), said.replace(/\s/g, ' '), 'the tablet said it in the same words');
	});
});
