/*
 * A HART modem at the technician's browser: its bytes go to a simulated device's own line, its answers become the channel's values,
 * and a follow run records them.
 */
import assert from 'node:assert/strict';
import {test} from 'node:test';
import {sender, startDevices} from './devices.js';
import {wireModem} from './serial.js';
import {api, becomes, open, startPlant} from './support.js';
import {leadToSimulation, setSource, toReadings} from './valve.js';

const plant = startPlant();
/** @type {Map<string, string>} */ const lines = new Map();
const ports = startDevices(lines);
const OUTPUT = '.live-value:nth-child(2) .live-number';

/** The positioner is asked by a modem at a browser from here on. @param {import('playwright-core').Page} page */
async function byModem(page) {
	await leadToSimulation(page, ports);
	const send = await sender(page), valve = (await api(page, '/channels')).items.find((/** @type {any} */ one) => one.label === 'FCV-2107');

	await send('PUT', `/channels/${valve.id}`, {source: {protocol: 'hart_browser', variable: 'pv', unit: '%'}, period_ms: 1000}, {'If-Match': `"v${valve.version}"`});
	return valve.id;
}

/** @param {import('playwright-core').Page} page @param {RegExp} words */
const says = (page, words) => page.locator('.modem-state').filter({hasText: words}).waitFor();

/** @param {import('playwright-core').Page} page @param {string} id */
const readings = async (page, id) => (await api(page, `/test-records/${id}`)).runs[0].points.map((/** @type {any} */ point) => point.reading).filter(Boolean);

test('a follow run records what a modem at the browser brings, and waits while its cable is out', {timeout: 150000}, async () => {
	await plant.visit({person: 'ruth'}, async page => { await byModem(page); });
	await plant.visit({person: 'ida'}, async page => {
		const id = await toReadings(page), modem = await wireModem(page, lines.get('FCV-2107') ?? '');

		page.setDefaultTimeout(90000);
		await setSource(ports.get('MA-01') ?? 0, 4);
		await open(page, `/run?id=${id}#as_found`);
		await page.getByText('no modem is attached at a browser').waitFor();
		await page.getByRole('button', {name: 'Attach modem of FCV-2107'}).click();
		await says(page, /^Attached: f9e0-021070, tag FCV-2107 answers\.$/);
		await becomes(async () => /^\u2212?\d+\.\d{3}\s%$/.test(await page.locator(OUTPUT).textContent() ?? ''), true);

		await page.getByRole('button', {name: 'Follow me'}).click();
		await page.getByText('Point 2 of 9').waitFor();
		const [first] = await readings(page, id);
		assert.ok(Math.abs(first.applied - 4) < 0.05, `applied ${first.applied}`);
		/* the sticky valve of the simulation: zero 0.5 %, stick band 1.2 % */
		assert.ok(Math.abs(first.observed) < 2, `observed ${first.observed}`);
		assert.equal(first.captured.output.device, 'f9e0-021070');
		assert.equal(first.captured.output.from, 'HART modem at a browser, primary variable');
		assert.match(first.captured.output.raw, /^86b9e0021070/);	/* an answer by long address: 3fff & f9e0, bit 7 for the primary master */
		assert.ok(first.captured.output.n >= 5);

		await modem.pull();
		await says(page, /^The modem is no longer there\. The modem is detached\.$/);
		await setSource(ports.get('MA-01') ?? 0, 8);
		await page.getByText('no value from the instrument: Ida Holt has detached the modem').waitFor();
		assert.equal(await page.locator(OUTPUT).textContent(), '\u2013');
		assert.equal((await readings(page, id)).length, 1);

		await page.getByRole('button', {name: 'Attach modem of FCV-2107'}).click();
		await page.getByText('Point 3 of 9').waitFor();
		const second = (await readings(page, id))[1];
		assert.ok(Math.abs(second.applied - 8) < 0.05 && Math.abs(second.observed - 25) < 2, `${second.observed} at ${second.applied}`);
		await page.getByRole('button', {name: 'Stop', exact: true}).click();
		modem.close();
	});
});

test('another device at the modem is refused by name', async () => {
	await plant.visit({person: 'ida', expect: /409/}, async page => {
		const modem = await wireModem(page, lines.get('PT-4101') ?? '');

		await open(page, '/live');
		await page.getByRole('button', {name: 'Attach modem of FCV-2107'}).click();
		await says(page, /calls itself PT-4101, not FCV-2107\. The modem is detached\.$/);
		modem.close();
	});
});

test('one session feeds a channel, and leaving its page detaches the modem', async () => {
	await plant.visit({person: 'ida'}, async (page, context) => {
		const modem = await wireModem(page, lines.get('FCV-2107') ?? '');

		await open(page, '/live');
		await page.getByRole('button', {name: 'Attach modem of FCV-2107'}).click();
		await says(page, /^Attached/);
		await plant.visit({person: 'ben', expect: /409/}, async other => {
			const second = await wireModem(other, lines.get('FCV-2107') ?? '');

			await open(other, '/live');
			await other.getByRole('button', {name: 'Attach modem of FCV-2107'}).click();
			await says(other, /^A modem at the browser of Ida Holt feeds FCV-2107 now/);
			await page.goto('/due');
			await other.getByText('Ida Holt has detached the modem').waitFor();
			await other.getByRole('button', {name: 'Attach modem of FCV-2107'}).click();
			await says(other, /^Attached/);
			await other.getByRole('button', {name: 'Detach modem of FCV-2107'}).click();
			await says(other, /^Detached\.$/);
			second.close();
		});
		assert.ok(context);
		modem.close();
	});
});

test('a browser that knows no serial ports says what is needed', async () => {
	await plant.visit({person: 'ida'}, async page => {
		await page.addInitScript("Object.defineProperty(navigator, 'serial', {value: undefined})");
		await open(page, '/live');
		await page.getByText('a browser with Web Serial').waitFor();
		assert.equal(await page.getByRole('button', {name: 'Attach modem'}).count(), 0);
	});
});
