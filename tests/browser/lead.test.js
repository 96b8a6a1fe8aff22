/* The lead's whole way: a tag, a standard, a procedure with several terms, its approval, a plan; then somebody tests by it. */
import assert from 'node:assert/strict';
import test from 'node:test';
import {addInstrument, addStandard, approve, planIt, writeProcedure} from './lead.js';
import {goOn, note, openTest, prepare, prove, read, sign} from './run.js';
import {PASSWORD, api, open, settled, startPlant} from './support.js';

const plant = startPlant();

test('the lead adds a tag and a standard, writes a procedure with several terms, approves and plans it, and a technician tests by it', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		await addInstrument(page);
		await addStandard(page);
		await writeProcedure(page);
		await approve(page, {name: 'Ruth Calder', password: PASSWORD});
		await planIt(page, 'Ben Marsh');
	});

	await plant.visit({person: 'ben'}, async page => {
		await openTest(page, 'PT-9001');
		await prepare(page);
		await prove(page);
		/* ±(0.25 % of 16 mA + 0.1 % of reading) at 12 mA: ±(0.040 + 0.012) = ±0.052 mA; so 12.053 mA is outside, 12.050 mA inside */
		await read(page, ['4.010', '12.050', '20.000', '12.053', '4.000']);
		await page.getByText('1 of 5 readings outside').first().waitFor();
		await goOn(page, 'adjust');
		await page.getByRole('button', {name: 'Not adjusted'}).click();
		await page.waitForURL(/#sign$/);
		await note(page, 'Remarks on this test', 'To be trimmed in the next outage.');
		await sign(page, PASSWORD);
		const verdicts = (await api(page, `/test-records/${new URL(page.url()).searchParams.get('id')}`)).runs[0].points.map((/** @type {any} */ point) => point.reading.verdict);
		assert.deepEqual(verdicts, ['pass', 'pass', 'pass', 'fail', 'pass']);
	});
});

test('the lead is told who was quicker, takes that in, and loses nothing of what was typed', async () => {
	await plant.visit({person: 'ruth', expect: /412/}, async page => {
		const {items: [tag]} = await api(page, '/instruments?q=PT-1111');
		await open(page, `/instrument?id=${tag.id}&edit=1`);
		await page.getByRole('textbox', {name: 'Service'}).fill('Raw water pressure, typed by Ruth');

		await plant.visit({person: 'owen'}, async other => {
			await open(other, `/instrument?id=${tag.id}&edit=1`);
			await other.getByLabel('Where it is found').fill('Moved by Owen');
			await other.getByRole('button', {name: 'Save'}).click();
			await other.getByText('Moved by Owen').waitFor();
		});

		await page.getByRole('button', {name: 'Save'}).click();
		await page.getByText('Owen Pike changed this meanwhile').waitFor();
		await page.getByRole('button', {name: 'Take in the newer, keep what I typed'}).click();
		assert.equal(await page.getByRole('textbox', {name: 'Service'}).inputValue(), 'Raw water pressure, typed by Ruth');
		assert.equal(await page.getByLabel('Where it is found').inputValue(), 'Moved by Owen');
		await page.getByRole('button', {name: 'Save'}).click();
		await page.getByText('Raw water pressure, typed by Ruth').waitFor();
		await page.getByText('Moved by Owen').waitFor();

		await page.getByRole('link', {name: 'Every change to this instrument'}).click();
		await settled(page);
		await page.getByRole('row', {name: /service/}).locator('ins').filter({hasText: 'Ruth'}).waitFor();
		await page.getByRole('button', {name: 'Check the chain'}).click();
		await page.getByText(/Sound: \d+ entries/).waitFor();
	});
});
