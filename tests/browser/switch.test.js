/* The whole test of a pressure switch: from Due to the certificate; and a procedure for switches, written and read. */
import assert from 'node:assert/strict';
import {execFile} from 'node:child_process';
import {readFile, writeFile} from 'node:fs/promises';
import {createRequire} from 'node:module';
import {join} from 'node:path';
import test from 'node:test';
import {promisify} from 'node:util';
import {goOn, lessMissing, openTest, prove, sign} from './run.js';
import {PASSWORD, api, becomes, open, startPlant} from './support.js';

const run = promisify(execFile), plant = startPlant();
const axe = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/*
 * PSH-4105 of the demo plant: 0 to 20 bar, acts at 16 bar rising, dead band 0.5 to 2 bar. Procedure PS-1: three times, as found
 * ±2 % of span = ±0.40 bar, as left ±1 % = ±0.20 bar. Pairs: acted, went back.
 */
const AS_FOUND = [['16,62', '15.41'], ['16.58', '15.50'], ['16.60', '15.47']];
const AS_LEFT = [['16.02', '14.91'], ['15.98', '14.88'], ['16.03', '14.93']];

/** @typedef {import('playwright-core').Page} Page */

/** The input is typed where it acted, then where it went back, each with Enter. @param {Page} page @param {string[][]} pairs @param {number} [first] */
async function actuate(page, pairs, first = 1) {
	for (const [i, pair] of pairs.entries())
		for (const [k, text] of pair.entries()) {
			await page.getByText(`Actuation ${first + i} of 3`).waitFor();
			const field = page.getByLabel(k ? 'Went back at, bar' : 'Acted at, bar');
			await field.fill(text);
			await field.press('Enter');
		}
}

/** @param {Page} page */
async function prepareSwitch(page) {
	const seen = page.getByRole('button', {name: /^I have seen to it/});

	for (let left = await seen.count(); left > 0; left--) {
		await seen.first().click();
		await page.waitForFunction(n => document.querySelectorAll('[data-key^="caution-"]').length === n, left - 1);
	}
	await lessMissing(page, () => page.locator('fieldset.need').first().getByRole('radio').first().click());
	await goOn(page, 'prove');
}

/** @param {Page} page @param {string} where */
async function noViolations(page, where) {
	await page.evaluate(axe);
	for (const colorScheme of /** @type {const} */ (['dark', 'light'])) {
		await page.emulateMedia({colorScheme});
		const found = await page.evaluate(tags => /** @type {any} */ (globalThis).axe.run(document, {runOnly: tags}), RULES);

		assert.deepEqual(found.violations.flatMap((/** @type {any} */ rule) => rule.nodes.map((/** @type {any} */ node) => `${rule.id}: ${node.html.slice(0, 160)}`)), [], `${where}, ${colorScheme}`);
	}
}

test('a technician tests a pressure switch from Due to the signature, and the certificate says where it acted', async () => {
	let record = '';

	await plant.visit({person: 'ben'}, async page => {
		await openTest(page, 'PSH-4105');
		await prepareSwitch(page);
		await prove(page);

		/* each value is on the server as soon as it is entered, with its verdict; the newest goes by one tap */
		await page.getByText('Raise slowly until it acts').waitFor();
		await page.getByText('Should act at').getByText('16.00 bar').waitFor();
		await page.getByText('15.60 bar').waitFor();
		await actuate(page, [['16.9']]);
		await page.getByText('Acted at 16.90 bar: 0.90 bar late, limit ±0.40 bar: outside').waitFor();
		await page.getByText('Lower slowly until it goes back').waitFor();
		/* 16.90 − 2.00 and 16.90 − 0.50 */
		await page.getByText('14.90 bar').waitFor();
		await page.getByText('16.40 bar').waitFor();
		await page.getByRole('button', {name: 'Undo last'}).click();
		await page.getByLabel('Acted at, bar').waitFor();
		record = new URL(page.url()).searchParams.get('id') ?? '';
		await becomes(async () => (await api(page, `/test-records/${record}`)).runs[0].points.filter((/** @type {any} */ point) => point.reading).length, 0);

		await actuate(page, [AS_FOUND[0]]);
		/* 16.62 − 15.41 = 1.21 */
		await page.getByText('Went back at 15.41 bar: dead band 1.21 bar, allowed 0.50 to 2.00 bar: inside').waitFor();
		await page.reload();
		await actuate(page, AS_FOUND.slice(1), 2);
		await page.getByText('The as-found run is complete').waitFor();
		/* means: (16.62 + 16.58 + 16.60) / 3 = 16.60, 0.60 late; range 0.04; dead bands 1.21, 1.08, 1.13: mean 1.14 */
		await page.getByText('Acts 0.60 bar late, repeats within 0.04 bar, and goes back after 1.14 bar.').first().waitFor();
		await noViolations(page, 'as found');
		await goOn(page, 'adjust');
		/* 0.60 of 20 bar is 3 % of span; what then remains is half a hundredth short of nothing: |16.62 − 16.60| = 0.02 */
		await page.getByText('Set it 0.60 bar lower (3.0 % of span), then run as left: the error should be at most 0.02 bar.').first().waitFor();
		await noViolations(page, 'adjust');
		await page.getByLabel('What was adjusted').fill('Set screw one turn out, sealed again.');
		await page.getByRole('button', {name: 'Adjusted', exact: true}).click();
		await page.waitForURL(/#as_left$/);
		await actuate(page, AS_LEFT);
		await page.getByText('The as-left run is complete').waitFor();
		await page.getByText('No further adjustment: every actuation is inside the as-left limits.').first().waitFor();
		await goOn(page, 'sign');
		await noViolations(page, 'sign');
		await sign(page, PASSWORD);
	});

	await plant.visit({person: 'ruth'}, async page => {
		await open(page, `/record?id=${record}`);
		await page.getByText('PSH-4105 was found outside its limits. Acted at 16.62 bar: 0.62 bar late, limit ±0.40 bar: outside.').waitFor();
		const rows = page.getByRole('region', {name: 'Results as found'}).getByRole('row');
		/* error: acted less 16; dead band: acted less went back */
		for (const [i, cells] of [['16.62', '+0.62', '15.41', '1.21'], ['16.58', '+0.58', '15.50', '1.08'], ['16.60', '+0.60', '15.47', '1.13']].entries())
			assert.deepEqual((await rows.nth(i + 1).getByRole('cell').allInnerTexts()).slice(0, 4), cells);
		await page.getByLabel('Your password').fill(PASSWORD);
		await page.getByRole('button', {name: 'Sign as reviewed'}).click();
		await page.getByRole('button', {name: 'Issue the certificate'}).click();
		const certificate = page.getByRole('link', {name: 'Certificate, A4'});
		await certificate.waitFor();
		await noViolations(page, 'record');
		await readBack(page, String(await certificate.getAttribute('href')));
	});
});

/** @param {Page} page @param {string} address */
async function readBack(page, address) {
	const path = join(plant.folder, 'switch.pdf');

	await writeFile(path, await (await page.request.get(address)).body());
	const {stdout: text} = await run('pdftotext', ['-layout', path, '-']);
	for (const word of ['PSH-4105', '16 bar, rising; dead band 0.5 to 2 bar', 'Ben Marsh', 'Ruth Calder', 'Set screw one turn out, sealed again.', 'Acts 0.60 bar late, repeats within 0.04 bar'])
		assert.ok(text.includes(word), `${word} stands in the certificate`);
	/* actuation, acted, error, limits, went back, dead band and its limits, U, verdict */
	const rows = [...text.matchAll(/^\s*([123])\s+(\d\d\.\d\d.*?)\s+(fail|pass)$/gm)].map(([, n, figures, verdict]) => [n, ...figures.split(/\s+/).slice(0, 8), verdict]);
	assert.deepEqual(rows, [
		['1', '16.62', '+0.62', '\u22120.40', '+0.40', '15.41', '1.21', '0.50', '2.00', 'fail'],
		['2', '16.58', '+0.58', '\u22120.40', '+0.40', '15.50', '1.08', '0.50', '2.00', 'fail'],
		['3', '16.60', '+0.60', '\u22120.40', '+0.40', '15.47', '1.13', '0.50', '2.00', 'fail'],
		['1', '16.02', '+0.02', '\u22120.20', '+0.20', '14.91', '1.11', '0.50', '2.00', 'pass'],
		['2', '15.98', '\u22120.02', '\u22120.20', '+0.20', '14.88', '1.10', '0.50', '2.00', 'pass'],
		['3', '16.03', '+0.03', '\u22120.20', '+0.20', '14.93', '1.10', '0.50', '2.00', 'pass'],
	]);
	/* means as left: 16.01, and 0.01 high; range 0.05 */
	assert.match(text, /As left\s+16\.01\s+\+0\.01\s+\+0\.03\s+0\.05\s+14\.91\s+0\.05\s+1\.10/);
}

test('the lead turns a procedure into one for switches, sees the example, and reads it approved', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		await open(page, '/procedure?new=1');
		await page.getByLabel('Code').fill('LS-2');
		await page.getByLabel('Title', {exact: true}).fill('Switch, twice');
		await page.getByLabel('What is judged').selectOption('switch');
		assert.ok(await page.getByLabel('switch', {exact: true}).isChecked(), 'it is for switches');
		assert.ok(!await page.getByLabel('transmitter', {exact: true}).isChecked());
		await page.getByLabel('How many times it is made to act').fill('2');
		await page.getByLabel('Title of step 2').fill('Acts');
		await page.getByLabel('What is needed for the input').fill('Pump and gauge');
		await page.getByLabel('Try it on tag').fill('PSL-1114');
		/* falling at 0.3 bar, ±0.5 % of 1 bar with two digits of it; it goes back 0.02 to 0.1 bar above */
		await page.getByText('0.2950 to 0.3050 bar').waitFor();
		await page.getByRole('row', {name: /goes back/}).getByText('0.3200').waitFor();
		await page.getByRole('row', {name: /goes back/}).getByText('0.4000').waitFor();
		await noViolations(page, 'editor');
		await page.getByRole('button', {name: 'Save as a draft'}).click();
		await page.waitForURL('**/procedure?id=*');
		await page.getByRole('button', {name: 'Approve'}).click();
		await page.getByRole('dialog').getByLabel('Your password').fill(PASSWORD);
		await page.getByRole('dialog').getByRole('button', {name: 'Approve', exact: true}).click();
		await page.getByText('The input is moved slowly until the switch acts, 2 times').waitFor();
		await noViolations(page, 'reading');
	});
});

test('the lead chooses points by name, patterns from the top, and sees the order that comes of it', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		await open(page, '/procedure?new=1');
		await page.getByRole('img', {name: '9 readings, 5 rising and 4 falling: 0, 25, 50, 75, 100, 75, 50, 25, 0 %'}).waitFor();
		await page.getByLabel('Choice of points').selectOption('inside');
		await becomes(() => page.getByLabel(/^Points, in %/).inputValue(), '10  50  90');
		await page.getByLabel('Direction').selectOption('down_up');
		await page.getByRole('img', {name: '5 readings, 2 rising and 3 falling: 90, 50, 10, 50, 90 %'}).waitFor();
		await page.getByLabel('How many times over').fill('2');
		await page.getByRole('img', {name: /^10 readings/}).waitFor();
		await page.getByLabel(/^Points, in %/).fill('0 50 105');
		await becomes(() => page.getByLabel('Choice of points').inputValue(), 'own');
		await page.getByLabel('Direction').selectOption('up');
		await page.getByLabel('How many times over').fill('1');
		/* 105 % of 4 to 20 mA is 20.8 mA; NE 43 ends at 20.5 mA, which is 103.125 % */
		await page.getByText('20.80').waitFor();
		await page.getByLabel(/are drawn in to 3.8 and 20.5 mA/).check();
		await page.getByText('20.50').waitFor();
		await page.getByLabel('Where the error is taken').selectOption('set');
		await noViolations(page, 'points');
	});
});

test('where a switch acted is judged at once while the server is away, and the server says the same later', async () => {
	await plant.visit({person: 'ben', expect: /ERR_CONNECTION_REFUSED|ERR_FAILED|Failed to load resource/}, async page => {
		const {token} = await api(page, '/session'), [instrument] = (await api(page, '/instruments?q=PSL-1114')).items, procedure = (await api(page, '/procedures')).items.find((/** @type {any} */ one) => one.code === 'PS-1');
		const opened = await page.request.post('/api/v1/test-records', {data: {instrument_id: instrument.id, procedure_id: procedure.id}, headers: {'X-Session-Token': token}});
		const {id} = await opened.json();
		await open(page, `/run?id=${id}`);
		await prepareSwitch(page);
		await prove(page);
		const {runs: [run]} = await api(page, `/test-records/${id}`);
		const {set_point: set, acts_on: on, dead_band: band, limit_high: limit} = run.switch, way = on === 'rising' ? 1 : -1;
		const inside = set + way * limit / 2, outside = set + way * limit * 2, back = inside - way * (band.low + band.high) / 2;
		await plant.server.stop();
		await actuate(page, [[inside.toFixed(4), back.toFixed(4)], [outside.toFixed(4)]]);
		await page.getByText('3 readings are on this tablet, not yet on the server').waitFor();
		assert.match(await page.locator('.run-verdict').innerText(), /^Acted at .* late, limit .*: outside\. On this tablet, not yet sent/);
		assert.equal(await page.locator('.rung.held .mark.ok').count(), 2);
		assert.equal(await page.locator('.rung.held .mark.bad').count(), 1);
		const said = (await page.locator('.run-verdict').innerText()).replace(/\. On this tablet.*/, '');

		await plant.restart();
		const readings = async () => (await api(page, `/test-records/${id}`)).runs[0].points.map((/** @type {any} */ point) => point.reading).filter(Boolean);
		await becomes(async () => (await readings()).length, 3);
		const stored = await readings();
		assert.deepEqual(stored.map((/** @type {any} */ reading) => reading.client_verdict), ['pass', 'pass', 'fail']);
		assert.deepEqual(stored.map((/** @type {any} */ reading) => reading.verdict), ['pass', 'pass', 'fail']);
		assert.equal(stored[2].sentence.replace(/\s/g, ' '), said.replace(/\s/g, ' '), 'the tablet said it in the same words');
	});
});
