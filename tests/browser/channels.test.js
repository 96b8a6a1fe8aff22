/* From which device a tag is read: the lead says it on the page, the technician sees who answers and what it says now. */
import assert from 'node:assert/strict';
import {test} from 'node:test';
import {sender, startDevices} from './devices.js';
import {api, open, startPlant} from './support.js';

const plant = startPlant();
const ports = startDevices();

/** @param {import('playwright-core').Page} page @param {string} tag */
async function openInstrument(page, tag) {
	const {id} = (await api(page, `/instruments?q=${tag}`)).items[0];

	await open(page, `/instrument?id=${id}`);
	return page.locator('#channels');
}

test('the lead says where an input is read; what is missing is named, and what was typed stays', async () => {
	await plant.visit({person: 'ruth', expect: /422/}, async page => {
		const part = await openInstrument(page, 'PT-4101');

		await part.getByRole('button', {name: /^Read it from a device.*its input/}).click();
		await part.getByLabel('How it is spoken to').selectOption('scpi');
		await part.getByLabel('Name or address').fill('127.0.0.1');
		await part.getByLabel('Port').fill(String(ports.get('MA-02')));
		await part.getByLabel('Query').fill('MEAS:CURR:DC');
		await part.getByLabel('Factor').fill('1000');
		await part.getByLabel('Its unit').selectOption('mA');
		await part.getByRole('button', {name: 'Save'}).click();
		await part.getByText('A query has a question mark').waitFor();
		assert.equal(await part.getByLabel('Name or address').inputValue(), '127.0.0.1');
		await part.getByLabel('How it is spoken to').selectOption('hart_ip_tcp');
		await part.getByLabel('How it is spoken to').selectOption('scpi');
		assert.equal(await part.getByLabel('Factor').inputValue(), '1000', 'another protocol and back');
		await part.getByLabel('Query').fill('MEAS:CURR:DC?');
		await part.getByRole('button', {name: 'Save'}).click();
		await part.getByText('SCPI 127.0.0.1, MEAS:CURR:DC?').waitFor();

		await part.getByRole('button', {name: 'Who answers? PT-4101, input'}).click();
		await part.getByText(/Now [\d.]+ mA/).waitFor();
		const saved = (await api(page, '/channels')).items.find((/** @type {any} */ one) => one.label === 'PT-4101' && one.side === 'input');
		assert.equal(saved.source.read_factor, 1000);
		assert.equal(saved.source.drive, undefined);
	});
});

test('the right device is kept by its own name, and the channel is taken away again', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		const send = await sender(page), channel = (await api(page, '/channels')).items.find((/** @type {any} */ one) => one.label === 'FCV-2107');

		await send('PUT', `/channels/${channel.id}`, {source: {...channel.source, port: ports.get('FCV-2107')}}, {'If-Match': `"v${channel.version}"`});
		const part = await openInstrument(page, 'FCV-2107');
		await part.getByRole('button', {name: 'Who answers? FCV-2107, output'}).click();
		await part.getByText('tag FCV-2107. It is the right one.').waitFor();
		await part.getByRole('button', {name: 'Keep it as the right one'}).click();
		await part.getByText('Another device will be refused by name.').waitFor();
		assert.equal((await api(page, '/channels')).items.find((/** @type {any} */ one) => one.label === 'FCV-2107').device_id, 'f9e0-021070');

		await page.reload();
		await part.getByText('The right device is f9e0-021070').waitFor();
		await part.getByRole('button', {name: 'Take away the channel of its output'}).click();
		await page.getByRole('button', {name: 'Take it away'}).click();
		await part.getByRole('button', {name: /^Read it from a device.*its output/}).waitFor();
		assert.ok(!(await api(page, '/channels')).items.some((/** @type {any} */ one) => one.label === 'FCV-2107'));
	});
});

test('the technician sees what the channels say now, and cannot change where they lead', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		const send = await sender(page);

		for (const channel of (await api(page, '/channels')).items)
			if (ports.has(channel.label) && channel.source.protocol === 'hart_ip_udp')
				await send('PUT', `/channels/${channel.id}`, {source: {...channel.source, port: ports.get(channel.label)}, period_ms: 200}, {'If-Match': `"v${channel.version}"`});
	});
	await plant.visit({person: 'ida'}, async page => {
		const part = await openInstrument(page, 'TT-4111');
		await part.getByText('HART-IP 127.0.0.1').waitFor();
		assert.equal(await part.getByRole('button', {name: 'Change'}).count(), 0);

		await open(page, '/live?area=Pump+hall');
		const row = page.locator('.live-row', {hasText: 'TT-4111'});
		await row.getByText(/[\d.]+ to [\d.]+ in \d+ s/).waitFor();
		assert.match(await row.locator('.live-now').innerText(), /^[\d.]+ \u00b0C$/);
		assert.equal(await page.locator('.live-row', {hasText: 'MA-01'}).count(), 0, 'of another place');
		await page.getByLabel('Where').selectOption('standards');
		await page.locator('.live-row', {hasText: 'MA-01'}).waitFor();
	});
});

test('a device of the same model is spoken to in the same way; that one may be driven does not go for the other', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		const send = await sender(page), channel = (await api(page, '/channels')).items.find((/** @type {any} */ one) => one.label === 'MA-02');

		await send('DELETE', `/channels/${channel.id}`, undefined, {'If-Match': `"v${channel.version}"`});
		await open(page, `/standard?id=${channel.standard_id}`);
		await page.getByRole('button', {name: /^Read it from a device.*what it gives/}).click();
		await page.getByText('As for MA-01, of the same model').waitFor();
		assert.equal(await page.getByLabel('Query').inputValue(), 'MEAS:CURR:DC?');
		assert.equal(await page.getByLabel('Factor').inputValue(), '1000');
		assert.equal(await page.getByLabel('Name or address').inputValue(), '');
		assert.ok(!await page.getByLabel('The program may drive it').isChecked());
	});
});
