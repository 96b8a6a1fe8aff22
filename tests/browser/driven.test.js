/*
 * The run that does itself, on simulated devices: from Due to the certificate with a driven five-point run up and down, stopped
 * from another page, and ended by the server when its page is gone.
 */
import assert from 'node:assert/strict';
import {execFileSync} from 'node:child_process';
import {before, test} from 'node:test';
import {sender, startDevices} from './devices.js';
import {api, becomes, open, PASSWORD, settled, startPlant} from './support.js';
import {leadToSimulation, toReadings} from './valve.js';

const plant = startPlant();
const ports = startDevices();

/** @param {import('playwright-core').Page} page */
async function armAndStart(page) {
	await page.getByRole('button', {name: 'Drive the source'}).click();
	await page.getByText('the source goes to 4 mA').waitFor();
	await page.getByRole('button', {name: 'Arm', exact: true}).click();
	await page.getByText('Nothing is armed without it.').waitFor();
	await page.getByLabel('I stand at the instrument').check();
	await page.getByLabel('Not faster than').fill('16');
	await page.getByRole('button', {name: 'Arm', exact: true}).click();
	const hold = page.getByRole('button', {name: 'Hold to start'});

	await hold.waitFor();
	await hold.dispatchEvent('pointerdown');
	await hold.dispatchEvent('pointerup');	/* a touch in passing starts nothing */
	assert.equal(await page.locator('.live-state').textContent(), 'Armed: nothing moves yet');
	await hold.focus();
	await page.keyboard.down('Space');
	await page.getByRole('button', {name: 'Stop, to the safe value'}).waitFor();
	await page.keyboard.up('Space');
}

test('values of input and output stand on the run page as they come', async () => {
	await plant.visit({person: 'ruth'}, page => leadToSimulation(page, ports));
	await plant.visit({person: 'ida'}, async page => {
		const id = await toReadings(page);

		await open(page, `/run?id=${id}#as_found`);
		await page.getByRole('heading', {name: 'From the devices'}).waitFor();
		await becomes(async () => /^\d+\.\d{3}\smA$/.test(await page.locator('.live-number').first().textContent() ?? ''), true);
		await becomes(async () => /^\u2212?\d+\.\d{3}\s%$/.test(await page.locator('.live-number').nth(1).textContent() ?? ''), true);
	});
});

test('a driven run is seen and stopped on every page, and ends by itself when its page is gone', async () => {
	await plant.visit({person: 'ida'}, async (page, context) => {
		const id = (await api(page, '/test-records?state=in_progress&q=FCV-2107')).items[0].id;

		await open(page, `/run?id=${id}#as_found`);
		await armAndStart(page);
		const other = await context.newPage();
		await open(other, '/due');
		await other.getByText('FCV-2107 is being driven').waitFor();
		await other.getByRole('button', {name: 'Stop, to the safe value'}).click();
		await page.getByText('Stopped: Ida Holt stopped it').waitFor();

		await page.reload();
		await settled(page);
		await armAndStart(page);
		await page.close();	/* the tablet falls into the river */
		await becomes(async () => (await api(other, `/test-records/${id}/live`)).run.sentence, 'stopped: the page that watched it is gone');
		await other.close();
	});
});

test('from Due to the certificate with a driven run up and down', {timeout: 400000}, async () => {
	let id = '';

	await plant.visit({person: 'ida'}, async page => {
		id = (await api(page, '/test-records?state=in_progress&q=FCV-2107')).items[0].id;
		await open(page, '/due');
		await page.getByRole('link', {name: 'FCV-2107'}).first().waitFor();
		await open(page, `/run?id=${id}#as_found`);
		await page.getByText('Record other channels with it').click();
		await page.getByLabel('MA-02 output').check();
		await armAndStart(page);
		page.setDefaultTimeout(300000);
		await page.getByRole('heading', {name: 'The as-found run is complete'}).waitFor();
		page.setDefaultTimeout(20000);
		const record = await api(page, `/test-records/${id}`);
		assert.equal(record.runs[0].points.length, 9);
		for (const point of record.runs[0].points) {
			assert.ok(Math.abs(point.reading.applied - point.set) < 0.05, `applied ${point.reading.applied} at ${point.set}`);
			assert.ok(point.reading.captured.output.n >= 5);
		}
		const actions = (await api(page, `/ledger?thing=test_record&thing_id=${id}&limit=100`)).items.map((/** @type {any} */ entry) => entry.action);
		for (const action of ['arm', 'start', 'drive', 'safe', 'finish'])
			assert.ok(actions.includes(action), `the ledger tells ${action}`);
		const send = await sender(page);
		await send('PUT', `/test-records/${id}/adjustment`, {made: false});
		const {content_sha256} = await api(page, `/test-records/${id}`);
		await send('POST', `/test-records/${id}/sign`, {meaning: 'performed', password: PASSWORD, content_sha256});
	});
	await plant.visit({person: 'ruth'}, async page => {
		await open(page, `/record?id=${id}`);
		await page.getByLabel('Password').fill(PASSWORD);
		await page.getByRole('button', {name: 'Sign as reviewed'}).click();
		await page.getByRole('button', {name: 'Issue the certificate'}).click();
		await page.getByRole('link', {name: 'Certificate, A4'}).waitFor();
		await page.getByText('All readings were taken from devices: input from SCPI').waitFor();
		await page.getByRole('img', {name: /^as found: input from [\d.]+ to [\d.]+ mA, output from [\d.]+ to [\d.]+ %, MA-02 output from [\d.]+ to [\d.]+ mA, over \d+ s, 9 readings taken/}).waitFor();
		await page.getByText('left the source at its safe value').first().waitFor();
		const pdf = await page.request.get(`/api/v1/test-records/${id}/certificate.pdf`);
		const text = execFileSync('pdftotext', ['-', '-'], {input: await pdf.body(), encoding: 'utf8'}).replace(/\s+/g, ' ');
		assert.match(text, /All readings were taken from devices: input from SCPI 127\.0\.0\.1, MEAS:CURR:DC\? .*; output from HART-IP 127\.0\.0\.1, primary variable \(f9e0-021070\)\. Each is the mean of \d+ or more values/);
	});
});
