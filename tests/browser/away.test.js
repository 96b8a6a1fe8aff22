/* The server goes away in the middle of a run, and comes back: what was read is kept, and sent once. */
import assert from 'node:assert/strict';
import test from 'node:test';
import {openTest, prepare, prove, read} from './run.js';
import {api, becomes, startPlant} from './support.js';

const plant = startPlant();

test('readings taken while the server is away outlive a reload and are each sent once', async () => {
	await plant.visit({person: 'ida', expect: /ERR_CONNECTION_REFUSED|ERR_FAILED|Failed to load resource/}, async page => {
		await openTest(page, 'FCV-2107');
		await prepare(page);
		await prove(page);
		const id = String(new URL(page.url()).searchParams.get('id'));
		const stored = async () => (await api(page, `/test-records/${id}`)).runs[0].points.filter((/** @type {any} */ point) => point.reading).length;
		await first(page, ['0.4', '25.6']);
		await page.getByText('2 of 9 points').waitFor();
		await becomes(stored, 2);

		await plant.server.stop();
		await page.getByLabel(/^Reading, /).fill('50,9');
		await page.getByLabel(/^Reading, /).press('Enter');
		await page.getByText('1 reading is on this tablet, not yet on the server').waitFor();
		await page.getByLabel(/^Reading, /).fill('75.7');
		await page.getByLabel(/^Reading, /).press('Enter');
		await page.getByText('2 readings are on this tablet, not yet on the server').waitFor();
		await page.getByText('Point 5 of 9').waitFor();
		await page.getByLabel(/^Reading, /).fill('100,');

		const address = page.url();
		await assert.rejects(page.reload(), /ERR_CONNECTION_REFUSED/);
		await page.waitForURL(/^chrome-error:/);
		await plant.restart();
		await page.goto(address);
		await page.getByText('Point 5 of 9').waitFor();
		assert.equal(await page.getByLabel(/^Reading, /).inputValue(), '100,');
		await becomes(stored, 4);
		await allSent(page);
		const observed = (await api(page, `/test-records/${id}`)).runs[0].points.slice(0, 5).map((/** @type {any} */ point) => point.reading?.observed ?? null);
		assert.deepEqual(observed, [0.4, 25.6, 50.9, 75.7, null]);
		const entries = (await api(page, `/ledger?thing=test_record&thing_id=${id}&limit=200`)).items.filter((/** @type {any} */ entry) => entry.action === 'read');
		assert.equal(entries.length, 4, 'the ledger has each reading once');
	});
});

test('a page that waits sends by itself when the server is back, and an answer that was lost does no harm', async () => {
	await plant.visit({person: 'ben', expect: /ERR_CONNECTION_REFUSED|ERR_FAILED|Failed to load resource/}, async page => {
		await openTest(page, 'FCV-1205');
		await prepare(page);
		await prove(page);
		const id = String(new URL(page.url()).searchParams.get('id'));

		/* the request arrives, its answer does not: the sender must ask again, with the same key */
		let lost = 0;
		await page.route(`**/test-records/${id}/readings`, async route => {
			if (lost++)
				return route.continue();
			await route.fetch();
			return route.abort('connectionreset');
		});
		await first(page, ['0.4']);
		await becomes(async () => (await api(page, `/ledger?thing=test_record&thing_id=${id}&limit=200`)).items.filter((/** @type {any} */ entry) => entry.action === 'read').length, 1);
		await page.getByText('1 of 9 points').waitFor();
		await allSent(page);
		assert.equal(lost, 2, 'it was sent twice');

		await plant.server.stop();
		await page.getByLabel(/^Reading, /).fill('25.3');
		await page.getByLabel(/^Reading, /).press('Enter');
		await page.getByText('1 reading is on this tablet, not yet on the server').waitFor();
		await plant.restart();
		await allSent(page);
		const points = (await api(page, `/test-records/${id}`)).runs[0].points;
		assert.deepEqual(points.filter((/** @type {any} */ point) => point.reading).map((/** @type {any} */ point) => point.reading.observed), [0.4, 25.3]);
	});
});

/** The strip above the page says what is not yet sent. @param {import('playwright-core').Page} page */
async function allSent(page) {
	await page.waitForFunction(() => !document.getElementById('strip')?.textContent?.includes('on this tablet'));
}

/** The first readings of a run of nine. @param {import('playwright-core').Page} page @param {string[]} readings */
async function first(page, readings) {
	await read(page, readings, 9);
}
