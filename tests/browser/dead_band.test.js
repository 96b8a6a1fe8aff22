/*
 * The dead band from the procedure to the record: written by the lead, sought by the technician once the points are read, and
 * seen by whoever reads the record. Expected values are arithmetic on 4 to 20 mA, a span of 16 mA: 12.03 − 11.98 = 0.05 mA
 * = 0.3125 %, 12.02 − 11.98 = 0.04 mA = 0.25 %.
 */
import assert from 'node:assert/strict';
import {readFile} from 'node:fs/promises';
import {createRequire} from 'node:module';
import test from 'node:test';
import {read, sign} from './run.js';
import {PASSWORD, api, becomes, open, startPlant} from './support.js';

const plant = startPlant();
const axe = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
const SHOTS = process.env.SHOTS;

/** @typedef {import('playwright-core').Page} Page */

/** @param {Page} page @param {string} method @param {string} path @param {object} [data] */
async function ask(page, method, path, data = {}) {
	const {token} = await api(page, '/session');
	const answer = await page.request.fetch(`/api/v1${path}`, {method, data, headers: {'X-Session-Token': token}});

	assert.ok(answer.ok(), `${method} ${path}: ${await answer.text()}`);
	return answer.json();
}

/** @param {Page} page @param {string} where */
async function noViolations(page, where) {
	await page.evaluate(axe);
	for (const colorScheme of /** @type {const} */ (['dark', 'light'])) {
		await page.emulateMedia({colorScheme});
		const found = await page.evaluate(tags => /** @type {any} */ (globalThis).axe.run(document, {runOnly: tags}), RULES);

		assert.deepEqual(found.violations.flatMap((/** @type {any} */ rule) => rule.nodes.map((/** @type {any} */ node) => `${rule.id}: ${node.html.slice(0, 160)}`)), [], `${where}, ${colorScheme}`);
	}
	if (SHOTS)
		for (const width of [360, 800, 1280]) {
			await page.setViewportSize({width, height: 900});
			await page.screenshot({path: `${SHOTS}/${where.replaceAll(' ', '-')}-${width}.png`, fullPage: true});
		}
	await page.setViewportSize({width: 1280, height: 900});
}

const DOCUMENT = {
	title: 'Travel with dead band', purpose: '', kinds: ['control_valve'], preparation: [], cautions: [], needs: [],
	steps: [{kind: 'points', title: 'Travel', percent: [10, 90], pattern: 'up_down', cycles: 1, settle_s: 0, dead_band: {percent: [10, 50], limit: 0.25}}],
	tolerance: {as_found: {terms: [{kind: 'percent_of_span', plus: 1}], join: 'sum'}, adjust: null, as_left: null},
	decision: {rule: 'simple'}, environment: false, adjustment: '',
};
let procedure = '', instrument = '';

/** @param {Page} page @param {string} rising @param {string} falling */
async function take(page, rising, falling) {
	await page.getByLabel('Moved while rising, mA').fill(rising);
	await page.getByLabel('Moved back while falling, mA').fill(falling);
	await page.getByRole('button', {name: 'Enter', exact: true}).click();
}

test('the lead writes where the dead band is sought and how wide it may be', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		const made = await ask(page, 'POST', '/procedures', {code: 'DB-1', document: DOCUMENT});
		procedure = made.id;
		await open(page, `/procedure?id=${procedure}`);
		const places = page.getByLabel(/^Places of the dead band/);
		assert.equal(await places.inputValue(), '10  50');
		await places.fill('10 fifty');
		await page.getByRole('button', {name: 'Save draft'}).click();
		await page.getByText('Numbers with spaces between them, like 10 50 90.').waitFor();
		await places.fill('50');
		await page.getByLabel(/^Largest dead band allowed/).fill('0.3');
		await noViolations(page, 'dead band editor');
		await page.getByRole('button', {name: 'Save draft'}).click();
		await becomes(async () => (await api(page, `/procedures/${procedure}`)).draft.document.steps[0].dead_band.limit, 0.3);
		assert.deepEqual((await api(page, `/procedures/${procedure}`)).draft.document.steps[0].dead_band.percent, [50]);
		const draft = (await api(page, `/procedures/${procedure}`)).draft;
		await ask(page, 'POST', `/procedures/${procedure}/approve`, {password: PASSWORD, content_sha256: draft.content_sha256});
		await open(page, `/procedure?id=${procedure}`);
		await page.getByText('Then the dead band at').waitFor();
		instrument = (await api(page, '/instruments?q=FCV')).items[0].id;
	});
});

test('the technician seeks the dead band after the points, takes one place again, and signs', async () => {
	await plant.visit({person: 'ben', expect: /status of 422/}, async page => {
		const record = await ask(page, 'POST', '/test-records', {instrument_id: instrument, procedure_id: procedure});
		for (const caution of record.cautions)
			await ask(page, 'PUT', `/test-records/${record.id}/cautions/${caution.key}`);
		await open(page, `/run?id=${record.id}#as_found`);
		await read(page, ['10.0', '90.1', '10.2']);
		await page.getByRole('heading', {name: /Dead band, place 1 of 1/}).waitFor();
		await page.getByText('Allowed: at most 0.30 %').waitFor();
		await noViolations(page, 'dead band entry');

		/* what cannot be is refused at its field, and what was typed stays */
		await take(page, '11,98', '12.03');
		await page.getByText('falling cannot be above rising').waitFor();
		assert.equal(await page.getByLabel('Moved while rising, mA').inputValue(), '11,98');
		await take(page, '12,03', '11.98');
		await page.getByRole('heading', {name: 'The as-found run is complete'}).waitFor();
		await page.getByText('all 3 readings inside, dead band outside').waitFor();
		await page.getByText('0.31 % of the input span at 12.00 mA, is more than the 0.30 % allowed').waitFor();
		await noViolations(page, 'dead band outside');
		await page.getByRole('button', {name: /^Again/}).click();
		assert.equal(await page.getByLabel('Moved while rising, mA').inputValue(), '12.03');
		await take(page, '12.02', '11.98');
		await page.getByText('The largest dead band is 0.25 % of the input span, at 12.00 mA.').first().waitFor();
		await page.getByRole('link', {name: /^Go on: adjust/}).click();
		await page.getByRole('button', {name: 'Not adjusted'}).click();
		await sign(page, PASSWORD);
		await open(page, `/record?id=${record.id}`);
		const table = page.getByRole('region', {name: 'Dead band as found'});
		await table.getByRole('cell', {name: '12.02'}).waitFor();
		await table.getByText('0.25').waitFor();
		await noViolations(page, 'dead band record');
	});
});
