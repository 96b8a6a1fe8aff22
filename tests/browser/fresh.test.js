/* The first day of a plant of one's own: nobody and nothing in the book, and at its end a certificate. */
import assert from 'node:assert/strict';
import {execFile} from 'node:child_process';
import {writeFile} from 'node:fs/promises';
import {join} from 'node:path';
import test from 'node:test';
import {promisify} from 'node:util';
import {addInstrument, addStandard, approve, planIt, writeProcedure} from './lead.js';
import {goOn, note, openTest, prepare, prove, read, sign} from './run.js';
import {api, open, signIn, startPlant} from './support.js';

const run = promisify(execFile), plant = startPlant({demo: false});
const ADA = {name: 'Ada Fenn', signIn: 'ada', password: 'stays in the book'}, TOM = {name: 'Tom Ryle', signIn: 'tom', password: 'reads and measures'};

test('the first page asks for the plant and its first administrator, says beside each field what is wrong, and keeps what was typed', async () => {
	await plant.visit({expect: /401|422/}, async page => {
		await page.goto('/');
		await page.getByRole('heading', {level: 1, name: 'A new test book'}).waitFor();
		await page.getByRole('button', {name: 'Begin the book'}).click();
		await page.getByText('This is needed.').nth(3).waitFor();
		await page.getByLabel('Name of the plant').fill('Ostermoor Pumping Station');
		await page.getByLabel('Your name').fill(ADA.name);
		await page.getByLabel('Sign-in name').fill(ADA.signIn);
		await page.getByLabel('Password').fill('short');
		await page.getByRole('button', {name: 'Begin the book'}).click();
		await page.locator('[aria-invalid=true]').first().waitFor();
		assert.deepEqual(await page.locator('[aria-invalid=true]').evaluateAll(fields => fields.map(field => /** @type {any} */ (field).name)), ['password']);
		assert.equal(await page.getByLabel('Name of the plant').inputValue(), 'Ostermoor Pumping Station');
		await page.getByLabel('Password').fill(ADA.password);
		await page.getByRole('button', {name: 'Begin the book'}).click();
		await page.waitForURL('**/instruments');
		await page.getByText('Ostermoor Pumping Station').waitFor();
	});
});

test('a page of an empty plant says what belongs there and offers the first step', async () => {
	await plant.visit({}, async page => {
		await signIn(page, ADA.signIn, ADA.password);
		for (const [path, step] of [['/due', 'Go to Instruments'], ['/instruments', 'Add the first instrument'], ['/procedures', 'Write the first procedure'], ['/standards', 'Add the first standard'], ['/records', 'Go to Due'], ['/findings', 'Look at the records']]) {
			await open(page, path);
			const way = page.locator('.empty').getByRole('link', {name: step});
			assert.notEqual(await way.getAttribute('href'), path);
			assert.ok((await page.locator('.empty p').first().innerText()).length > 30, path);
		}
	});
});

test('from nothing a tag, a standard, a procedure and a plan are made, and their test ends in a certificate', async () => {
	let record = '';

	await plant.visit({}, async page => {
		await signIn(page, ADA.signIn, ADA.password);
		await open(page, '/person?new=1');
		await page.getByLabel('Name', {exact: true}).fill(TOM.name);
		await page.getByLabel('Sign-in name').fill(TOM.signIn);
		await page.getByLabel('Password').fill(TOM.password);
		await page.getByLabel(/^technician/).check();
		await page.getByRole('button', {name: 'Add the person'}).click();
		await page.waitForURL('**/people');
		await page.getByText(TOM.name).waitFor();
		await addInstrument(page);
		await addStandard(page);
		await writeProcedure(page);
		await approve(page, ADA);
		await planIt(page, TOM.name);
	});
	await plant.visit({}, async page => {
		await signIn(page, TOM.signIn, TOM.password);
		await openTest(page, 'PT-9001');
		await prepare(page);
		await prove(page);
		/* 0, 50 and 100 % of 4 to 20 mA are 4, 12 and 20 mA; the least that the rule allows is 0.040 mA */
		await read(page, ['4.010', '12.012', '20.003', '12.015', '4.004']);
		await goOn(page, 'adjust');
		await page.getByRole('button', {name: 'Not adjusted'}).click();
		await page.waitForURL(/#sign$/);
		await note(page, 'Remarks on this test', 'The first one here.');
		await sign(page, TOM.password);
		record = new URL(page.url()).searchParams.get('id') ?? '';
	});
	await plant.visit({}, async page => {
		await signIn(page, ADA.signIn, ADA.password);
		await open(page, `/record?id=${record}`);
		await page.getByLabel('Your password').fill(ADA.password);
		await page.getByRole('button', {name: 'Sign as reviewed'}).click();
		await page.getByRole('button', {name: 'Issue the certificate'}).click();
		const address = await page.getByRole('link', {name: 'Certificate, A4'}).getAttribute('href'), path = join(plant.folder, 'first.pdf');
		await writeFile(path, await (await page.request.get(String(address))).body());
		const {stdout: text} = await run('pdftotext', ['-layout', path, '-']);
		for (const word of ['Ostermoor Pumping Station', 'PT-9001', ADA.name, TOM.name, 'PX-77', (await api(page, `/test-records/${record}`)).certificate.number])
			assert.ok(text.includes(word), `${word} stands in the certificate`);
	});
});
