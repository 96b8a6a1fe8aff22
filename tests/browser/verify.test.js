/* The address on a certificate leads to its verification page; a file laid down there is genuine or it is not. */
import assert from 'node:assert/strict';
import {execFileSync} from 'node:child_process';
import {mkdtemp, readFile, rm, writeFile} from 'node:fs/promises';
import {createRequire} from 'node:module';
import {tmpdir} from 'node:os';
import {join} from 'node:path';
import test from 'node:test';
import {api, open, startPlant} from './support.js';

const plant = startPlant();
const axe = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** @param {import('playwright-core').Page} page @param {string} what */
async function issued(page, what) {
	const {items} = await api(page, '/test-records?state=certified&limit=1');
	const answer = await page.request.get(`/api/v1/test-records/${items[0].id}/certificate.${what}`);

	assert.equal(answer.status(), 200);
	return {record: items[0], bytes: await answer.body()};
}

/** @param {import('playwright-core').Page} page */
async function clean(page) {
	await page.evaluate(axe);
	const found = await page.evaluate(() => /** @type {any} */ (globalThis).axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']}));
	assert.deepEqual(found.violations.map((/** @type {any} */ v) => v.id), []);
}

test('the QR code of a printed certificate leads to its page, and the file is found genuine there', async () => {
	const folder = await mkdtemp(join(tmpdir(), 'verify-'));

	await plant.visit({person: 'ida'}, async page => {
		const {record, bytes} = await issued(page, 'pdf');

		await writeFile(join(folder, 'c.pdf'), bytes);
		execFileSync('pdftoppm', ['-r', '200', '-png', '-f', '1', '-l', '1', join(folder, 'c.pdf'), join(folder, 'page')]);
		const name = execFileSync('sh', ['-c', 'ls page*.png'], {cwd: folder, encoding: 'utf8'}).trim();
		const printed = execFileSync('zbarimg', ['--raw', '-q', join(folder, name)], {encoding: 'utf8'}).trim();
		assert.equal(new URL(printed).pathname, `/verify/${record.certificate_number}`);

		await open(page, new URL(printed).pathname);
		await page.getByText(`${record.certificate_number} stands.`).waitFor();
		assert.ok((await page.locator('main').innerText()).includes(record.tag));
		await page.getByLabel('Is a file in your hand genuine?').setInputFiles({name: 'c.pdf', mimeType: 'application/pdf', buffer: bytes});
		await page.getByText('The file is genuine and unchanged.').waitFor();
		await page.getByText('byte for byte, the PDF issued as').waitFor();
		await clean(page);

		const changed = Buffer.from(bytes);
		changed[Math.floor(changed.length / 2)] ^= 1;
		await page.getByLabel('Is a file in your hand genuine?').setInputFiles({name: 'c.pdf', mimeType: 'application/pdf', buffer: changed});
		await page.locator('.found .verify-state').getByText('The file was changed after it was sealed.').waitFor();
		await page.getByText('No certificate was issued here with exactly these bytes.').waitFor();
		await clean(page);
	});
	await rm(folder, {recursive: true});
});

test('the XML document is judged too, and a file that is none is called so', async () => {
	await plant.visit({person: 'ida'}, async page => {
		const {record, bytes} = await issued(page, 'xml');

		await open(page, `/verify/${record.certificate_number}`);
		await page.getByLabel('Is a file in your hand genuine?').setInputFiles({name: 'c.xml', mimeType: 'application/xml', buffer: bytes});
		await page.getByText('The file is genuine and unchanged.').waitFor();
		await page.getByLabel('Is a file in your hand genuine?').setInputFiles({name: 'note.txt', mimeType: 'text/plain', buffer: Buffer.from('Certified.')});
		await page.getByText('This is no certificate of this plant.').waitFor();
	});
});

test('a number that was never issued is called so', async () => {
	await plant.visit({person: 'ida', expect: /404/}, async page => {
		await open(page, '/verify/BWW-1999-0001');
		await page.getByText('No certificate BWW-1999-0001 was issued here.').waitFor();
		await page.getByLabel('Certificate number').fill('BWW-2026-0001');
		await page.keyboard.press('Enter');
		await page.waitForURL('**/verify/BWW-2026-0001');
	});
});

test('a stranger is asked to sign in until the administrator lets strangers verify', async () => {
	let number = '';

	await plant.visit({person: 'ida'}, async page => { number = (await issued(page, 'pdf')).record.certificate_number; });
	await plant.visit({expect: /401/}, async page => {
		await open(page, `/verify/${number}`);
		await page.getByText('people with an account only').waitFor();
		assert.ok((await page.getByRole('link', {name: 'Sign in'}).getAttribute('href'))?.includes(encodeURIComponent(`/verify/${number}`)));
	});
	await plant.visit({}, async page => {
		const people = (await (await page.request.get('/api/v1/plant')).json()).demo.people;
		const administrator = people.find((/** @type {any} */ person) => person.roles.includes('administrator'));

		await page.goto('/signin?next=/settings');
		await page.getByLabel('Sign-in name').fill(administrator.sign_in);
		await page.getByLabel('Password').fill('brackenholm-demo');
		await page.getByRole('button', {name: 'Sign in', exact: true}).click();
		await page.getByLabel('Who holds a certificate may verify it without signing in').check();
		await page.getByRole('button', {name: 'Save'}).click();
		await page.getByText('Saved.').waitFor();
		await page.reload();
		assert.equal(await page.getByLabel('Who holds a certificate may verify it without signing in').isChecked(), true);
	});
	await plant.visit({}, async page => {
		await open(page, `/verify/${number}`);
		await page.getByText(`${number} stands.`).waitFor();
	});
});
