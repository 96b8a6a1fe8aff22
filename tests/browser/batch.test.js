/* Many records at once from the list: an archive, pages to print, certificates to issue, with progress that a reload finds again. */
import assert from 'node:assert/strict';
import {execFileSync} from 'node:child_process';
import {mkdtemp, rm} from 'node:fs/promises';
import {tmpdir} from 'node:os';
import {join} from 'node:path';
import test from 'node:test';
import {api, open, PASSWORD, startPlant} from './support.js';

const plant = startPlant();

test('an archive of chosen certificates is packed and saved, by keyboard too', async () => {
	const folder = await mkdtemp(join(tmpdir(), 'batch-'));

	await plant.visit({person: 'ida'}, async page => {
		await open(page, '/records?state=certified');
		const {items} = await api(page, '/test-records?state=certified');

		await page.getByLabel(`Choose ${items[0].number}`).focus();
		await page.keyboard.press('Space');
		await page.getByLabel(`Choose ${items[1].number}`).check();
		await page.getByText('2 records chosen').waitFor();
		await page.getByRole('button', {name: 'Archive'}).click();
		const link = page.getByRole('link', {name: 'Save the archive'});
		await link.waitFor();
		await page.reload();
		await link.waitFor();	/* the batch is found again */
		const [saved] = await Promise.all([page.waitForEvent('download'), link.click()]);
		await saved.saveAs(join(folder, 'a.zip'));
		const names = execFileSync('unzip', ['-Z1', join(folder, 'a.zip')], {encoding: 'utf8'}).trim().split('\n').sort();
		assert.deepEqual(names, [...items.slice(0, 2).flatMap((/** @type {any} */ one) => [`${one.certificate_number}.pdf`, `${one.certificate_number}.xml`]), 'index.csv'].sort());
		await page.getByRole('button', {name: 'Done'}).click();
		await page.reload();
		assert.equal(await link.count(), 0);
	});
	await rm(folder, {recursive: true});
});

test('all that are shown are drawn for printing, and that can be cancelled', async () => {
	await plant.visit({person: 'ida'}, async page => {
		await open(page, '/records?state=certified');
		await page.getByLabel('Choose all that are shown').check();
		await page.getByText('50 records chosen').waitFor();
		await page.getByRole('button', {name: 'Pages to print'}).click();
		await page.getByRole('button', {name: 'Cancel'}).click();
		await page.getByText('Cancelled.').waitFor();
		assert.equal(await page.getByRole('link', {name: 'Open the pages'}).count(), 0);
		await page.getByRole('button', {name: 'Done'}).click();
		assert.equal(await page.getByText('records chosen').isVisible(), false);
	});
});

test('a batch that the server no longer knows is not waited for', async () => {
	await plant.visit({person: 'ida', expect: /404/}, async page => {
		await open(page, '/records?state=certified');
		await page.getByLabel('Choose all that are shown').check();
		await page.route('**/api/v1/certificate-batches/*', route => route.request().method() === 'GET' ?
			route.fulfill({status: 404, contentType: 'application/problem+json', body: '{"title": "not found", "status": 404}'}) : route.continue());
		await page.getByRole('button', {name: 'Pages to print'}).click();
		await page.getByText('The server was started anew. Begin once more.').waitFor();
		await page.getByRole('button', {name: 'Done'}).click();
		assert.equal(await page.getByText('started anew').isVisible(), false);
	});
});

test('a lead issues the certificates of what is reviewed; a technician is not offered it', async () => {
	let reviewed = 0;

	await plant.visit({person: 'ruth'}, async page => {
		const {token} = await api(page, '/session');

		for (const {id} of (await api(page, '/test-records?state=performed')).items) {
			const {content_sha256} = await api(page, `/test-records/${id}`);
			await page.request.post(`/api/v1/test-records/${id}/sign`, {data: {meaning: 'reviewed', password: PASSWORD, content_sha256}, headers: {'X-Session-Token': token}});
		}
		reviewed = (await api(page, '/test-records?state=reviewed')).items.length;
		assert.ok(reviewed > 0, 'some tests of the demo plant wait for their review');
	});
	await plant.visit({person: 'ben'}, async page => {
		await open(page, '/records?state=reviewed');
		await page.getByLabel('Choose all that are shown').check();
		assert.equal(await page.getByRole('button', {name: 'Issue certificates'}).count(), 0);
	});
	await plant.visit({person: 'ruth'}, async page => {
		await open(page, '/records?state=reviewed');
		await page.getByLabel('Choose all that are shown').check();
		await page.getByRole('button', {name: 'Issue certificates'}).click();
		await page.getByText(`${reviewed} ${reviewed === 1 ? 'certificate' : 'certificates'} issued.`).waitFor();
		await page.getByRole('button', {name: 'Show the list anew'}).click();
		await page.getByText('Nothing was found for this search.').waitFor();
		assert.equal((await api(page, '/test-records?state=reviewed')).items.length, 0);
	});
});
