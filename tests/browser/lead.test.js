/* The lead's whole way: a tag, a standard, a procedure with several terms, its approval, a plan; then somebody tests by it. */
import assert from 'node:assert/strict';
import test from 'node:test';
import {goOn, note, openTest, prepare, prove, read, sign} from './run.js';
import {PASSWORD, api, open, settled, startPlant} from './support.js';

const plant = startPlant();

test('the lead adds a tag and a standard, writes a procedure with several terms, approves and plans it, and a technician tests by it', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		await addInstrument(page);
		await addStandard(page);
		await writeProcedure(page);
		await approve(page);
		await planIt(page);
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

/** @param {import('playwright-core').Page} page */
async function addInstrument(page) {
	await open(page, '/instrument?new=1');
	await page.getByLabel('Tag', {exact: true}).fill('PT-9001');
	await page.getByRole('textbox', {name: 'Service'}).fill('Test bench pressure');
	await page.getByLabel('Area', {exact: true}).selectOption({label: 'a new area \u2026'});
	await page.getByLabel('Name of the new area').fill('Workshop');
	const input = page.getByRole('group', {name: 'Input: what goes in'});
	await input.getByLabel('Quantity').fill('pressure');
	await input.getByLabel('At 0 %').fill('0');
	await input.getByLabel('At 100 %').fill('6,5');
	await input.getByLabel('Unit').selectOption('bar');
	await page.getByRole('button', {name: 'Add the instrument'}).click();
	await page.waitForURL('**/instrument?id=*');
	await page.getByRole('heading', {level: 1, name: 'PT-9001'}).waitFor();
	/* half of 0 to 6.5 bar is 3.25 bar, half of 4 to 20 mA is 12 mA */
	await page.getByRole('img', {name: /3\.25\d* bar gives 12\.0+ mA/}).waitFor();
}

/** @param {import('playwright-core').Page} page */
async function addStandard(page) {
	await open(page, '/standard?new=1');
	await page.getByLabel('Code').fill('PX-77');
	await page.getByLabel('Name', {exact: true}).fill('Pressure bench');
	await page.getByLabel('Quantity').fill('pressure');
	await page.getByLabel('Certificate number').fill('FCL-2026-7777');
	await page.getByLabel('Issued by').fill('Fellgate Calibration Laboratory (invented)');
	const today = (await api(page, '/session')).today, year = Number(today.slice(0, 4));
	await page.getByLabel('Calibrated on').fill(today.replace(/^\d+/, String(year - 1)).replace(/02-29$/, '02-28'));
	await page.getByLabel('Valid until').fill(`${year + 1}-12-31`);
	await page.getByLabel('Range from').fill('0');
	await page.getByLabel('to', {exact: true}).fill('10');
	await page.getByLabel('Unit').selectOption('bar');
	await page.getByLabel('Expanded uncertainty U').fill('0,0005');
	await page.getByLabel('Traceability').fill('To the SI through the laboratory.');
	await page.getByRole('button', {name: 'Add the standard'}).click();
	await page.getByRole('heading', {level: 1, name: 'PX-77'}).waitFor();
	await page.getByText('0 to 10 bar, U = 0.0005\u00a0bar (k\u00a0=\u00a02)').waitFor();
}

/** @param {import('playwright-core').Page} page */
async function writeProcedure(page) {
	await open(page, '/procedure?new=1');
	await page.getByLabel('Code').fill('WB-3');
	await page.getByLabel('Title', {exact: true}).fill('Bench test, three points up and down');
	await page.getByLabel('What is needed for the input').fill('Pressure bench');
	await page.getByRole('button', {name: /^Add a line to Caution/}).click();
	await page.keyboard.type('Vent the line first.');
	await page.getByRole('button', {name: /^Add a line to Check/}).click();
	await page.keyboard.type('Is the hose tight?');
	await page.getByLabel(/^Points, in %/).fill('0 50 100');
	await page.getByLabel(/^Settling time/).fill('0');
	await page.getByLabel('As found: error either way').fill('0,25');
	await page.getByRole('button', {name: /^Add a term to As found/}).click();
	await page.keyboard.type('0,1');
	await page.getByLabel('temperature and the rest').check();

	await page.getByLabel('Try it on tag').fill('PT-9001');
	/* the same arithmetic as in the run: 12 mA ± 0.052 mA */
	await page.getByText('At 50 %: 11.948 to 12.052 mA').waitFor();
	await page.getByRole('button', {name: 'Save as a draft'}).click();
	await page.waitForURL('**/procedure?id=*');
	await page.getByRole('button', {name: 'Approve \u2026'}).waitFor();
}

/** @param {import('playwright-core').Page} page */
async function approve(page) {
	await page.getByRole('button', {name: 'Approve \u2026'}).click();
	const dialog = page.getByRole('dialog');
	const hash = (await api(page, `/procedures/${new URL(page.url()).searchParams.get('id')}`)).draft.content_sha256;
	await dialog.getByText(`${hash.slice(0, 4)} ${hash.slice(4, 8)} \u2026 ${hash.slice(-4)}`).waitFor();
	await dialog.getByLabel('Your password').fill(PASSWORD);
	await dialog.getByRole('button', {name: 'Approve'}).click();
	await page.getByText('signed by Ruth Calder').waitFor();
	await page.getByText('\u00b10.25 % of span plus \u00b10.1 % of reading').waitFor();
}

/** @param {import('playwright-core').Page} page */
async function planIt(page) {
	await open(page, '/instruments?q=PT-9001');
	await page.getByRole('link', {name: 'PT-9001'}).click();
	await page.getByRole('button', {name: 'Plan a test'}).click();
	await page.getByLabel('Procedure').selectOption({label: 'WB-3, Bench test, three points up and down'});
	await page.getByLabel('Every, months').fill('6');
	await page.getByLabel('By', {exact: true}).selectOption({label: 'Ben Marsh'});
	await page.getByLabel('Why this interval').fill('New; half of what comparable tags have.');
	await page.getByRole('button', {name: 'Plan it'}).click();
	await page.getByText('every 6 months, by Ben Marsh').waitFor();
	await page.getByText('due today').waitFor();
}

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
