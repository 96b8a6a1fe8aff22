/* The whole test of a control valve: from Due to the certificate. */
import assert from 'node:assert/strict';
import {execFile} from 'node:child_process';
import {writeFile} from 'node:fs/promises';
import {join} from 'node:path';
import test from 'node:test';
import {promisify} from 'node:util';
import {goOn, note, openTest, prepare, prove, read, sign} from './run.js';
import {PASSWORD, api, open, startPlant} from './support.js';

const run = promisify(execFile), plant = startPlant();

/* FCV-2107 of the demo plant: 4 to 20 mA in, 0 to 100 % of travel out, linear. */
const SETS = [4, 8, 12, 16, 20, 16, 12, 8, 4];
const AS_FOUND = ['1,9', '27.1', '53.6', '77.2', '101.8', '76.4', '51.8', '26.2', '1.1'];
const AS_LEFT = ['0.1', '25.3', '50.4', '75.2', '100.1', '75.0', '49.9', '24.8', '-0.2'];

/** The error in % of span by the definition of a linear characteristic, (20 − 4) mA make 100 %, with the decimals of the reading. @param {number} set @param {string} reading */
function error(set, reading) {
	const value = Number(reading.replace(',', '.')) - (set - 4) / 16 * 100;

	return `${value > 0.05 ? '+' : value < -0.05 ? '\u2212' : ''}${Math.abs(value).toFixed(1)}`;
}

/** A reading as it is shown: a point, and the minus sign. @param {string} typed */
function figure(typed) {
	return typed.replace(',', '.').replace('-', '\u2212');
}

test('a technician tests a valve from Due to the signature, a lead reviews it, and the certificates say what the screen says', async () => {
	let number = '', record = '';

	await plant.visit({person: 'ida'}, async page => {
		await openTest(page, 'FCV-2107');
		await prepare(page);
		await prove(page);
		await read(page, AS_FOUND);
		await page.getByText('The as-found run is complete').waitFor();
		/* 12 mA rising is 3.6 % high, beyond the 3 % of the procedure; every other error is smaller */
		await page.getByText('1 of 9 readings outside').first().waitFor();
		await goOn(page, 'adjust');
		await page.getByLabel('What was adjusted').fill('Zero and span trimmed at the positioner, zero from +1.9 % to 0.1 %.');
		await page.getByRole('button', {name: 'Adjusted', exact: true}).click();
		await page.waitForURL(/#as_left$/);
		await read(page, AS_LEFT);
		await page.getByText('The as-left run is complete').waitFor();
		await page.getByText('all 9 readings').first().waitFor();
		await goOn(page, 'sign');
		await note(page, 'Remarks on this test', 'Packing is dry; greased.');
		await sign(page, PASSWORD);
		record = new URL(page.url()).searchParams.get('id') ?? '';
	});

	await plant.visit({person: 'owen', context: {acceptDownloads: true}}, async page => {
		await open(page, '/due');
		await page.getByRole('region', {name: 'Waiting for review'}).or(page.locator('#reviews')).getByRole('link', {name: 'FCV-2107'}).click();
		await page.waitForURL(`**/record?id=${record}`);
		await page.getByLabel('Your password').fill(PASSWORD);
		await page.getByRole('button', {name: 'Sign as reviewed'}).click();
		await page.getByRole('button', {name: 'Issue the certificate'}).click();
		const certificate = page.getByRole('link', {name: 'Certificate, A4'});
		await certificate.waitFor();
		number = (await api(page, `/test-records/${record}`)).certificate.number;
		await page.getByText(number).first().waitFor();

		for (const [name, readings] of /** @type {const} */ ([['Results as found', AS_FOUND], ['Results as left', AS_LEFT]])) {
			const rows = page.getByRole('region', {name}).getByRole('row');
			for (const [i, set] of SETS.entries()) {
				const cells = await rows.nth(i + 1).getByRole('cell').allInnerTexts();
				assert.deepEqual([cells[1], cells[3], cells[4]], [set.toFixed(2), figure(readings[i]), error(set, readings[i])], `${name}, point ${i + 1}`);
			}
		}
		for (const [paper, width, height] of /** @type {const} */ ([['A4', 595.28, 841.89], ['US Letter', 612, 792]])) {
			const address = await page.getByRole('link', {name: `Certificate, ${paper}`}).getAttribute('href');
			await readBack(page, String(address), number, width, height);
		}
	});
});

/** @param {import('playwright-core').Page} page @param {string} address @param {string} number @param {number} width points @param {number} height */
async function readBack(page, address, number, width, height) {
	const answer = await page.request.get(address), path = join(plant.folder, 'certificate.pdf');

	assert.equal(answer.headers()['content-type'], 'application/pdf');
	await writeFile(path, await answer.body());
	const {stdout: about} = await run('pdfinfo', [path]);
	const size = /Page size:\s+([\d.]+) x ([\d.]+)/.exec(about);
	/* ISO 216 and ANSI sizes in points of 1/72 inch */
	assert.ok(size && Math.abs(Number(size[1]) - width) < 1 && Math.abs(Number(size[2]) - height) < 1, about);
	const {stdout: text} = await run('pdftotext', ['-layout', path, '-']);
	for (const word of [number, 'FCV-2107', 'Ida Holt', 'Owen Pike', 'Packing is dry; greased.'])
		assert.ok(text.includes(word), `${word} stands in the certificate`);
	/* columns: direction, set, applied, expected, observed, error in %, error in % of span, … */
	const rows = [...text.matchAll(/^\s*[△▲▽▼]\s+(\S.*)$/gm)].map(([, row]) => row.split(/\s+/));
	const wanted = [AS_FOUND, AS_LEFT].flatMap(readings => SETS.map((set, i) => [set.toFixed(2), figure(readings[i]), error(set, readings[i])]));
	assert.deepEqual(rows.map(row => [row[1], row[3], row[5]]), wanted);
}

test('a test that was found outside leaves a finding, which a lead answers for', async () => {
	await plant.visit({person: 'ruth', expect: /401/}, async page => {
		await open(page, '/findings?state=open');
		const line = page.getByRole('listitem').filter({hasText: 'FCV-2107'});
		await line.getByText('+3.60 % of span at 12.00 mA rising').waitFor();
		await line.getByRole('button', {name: /^Close/}).click();
		const dialog = page.getByRole('dialog');
		await dialog.getByLabel('What was decided').fill('Backwash ran by level, not by this valve: nothing was touched.');
		await dialog.getByLabel('Your password').fill('not the password');
		await dialog.getByRole('button', {name: 'Sign and close'}).click();
		await dialog.getByText(/password/i).nth(1).waitFor();
		assert.match(await dialog.getByLabel('What was decided').inputValue(), /nothing was touched/);
		await dialog.getByLabel('Your password').fill(PASSWORD);
		await dialog.getByRole('button', {name: 'Sign and close'}).click();
		await line.waitFor({state: 'detached'});
		await open(page, '/findings?state=closed');
		await page.getByText('nothing was touched').waitFor();
	});
});
