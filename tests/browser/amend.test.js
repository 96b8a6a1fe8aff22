/* The lead amends a certified test: corrected, signed, reviewed, issued under -A1; the first certificate says so. And one made void. */
import assert from 'node:assert/strict';
import {readFile} from 'node:fs/promises';
import {createRequire} from 'node:module';
import test from 'node:test';
import {api, open, PASSWORD, settled, signIn, startPlant} from './support.js';

const plant = startPlant();
const axe = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
const SHOTS = process.env.SHOTS;	/* a folder for pictures to look at */

/** @param {import('playwright-core').Page} page @param {string} where */
async function noViolations(page, where) {
	await page.evaluate(axe);
	for (const colorScheme of /** @type {const} */ (['dark', 'light'])) {
		await page.emulateMedia({colorScheme});
		const found = await page.evaluate(tags => /** @type {any} */ (globalThis).axe.run(document, {runOnly: tags}), RULES);

		assert.deepEqual(found.violations.flatMap((/** @type {any} */ rule) => rule.nodes.map((/** @type {any} */ node) => `${rule.id}: ${node.html.slice(0, 160)}`)), [], `${where}, ${colorScheme}`);
		for (const width of SHOTS ? [360, 800, 1280] : []) {
			await page.setViewportSize({width, height: 900});
			await page.screenshot({path: `${SHOTS}/${where.replaceAll(' ', '-')}-${width}-${colorScheme}.png`, fullPage: true});
		}
	}
	await page.setViewportSize({width: 1280, height: 900});
}

test('a certificate is amended, and the first one leads to the second', async () => {
	let record = '', certificate = '', amendment = '';

	await plant.visit({person: 'ruth'}, async page => {
		const {items} = await api(page, '/test-records?state=certified&limit=1');

		record = items[0].id;
		certificate = items[0].certificate_number;
		await open(page, `/record?id=${record}`);
		await page.getByRole('button', {name: 'Amend the certificate'}).click();
		await page.getByLabel('What is corrected, and why').fill('The remark about the isolating valve was missing');
		await page.getByLabel('Password').fill(PASSWORD);
		await page.getByRole('button', {name: 'Open the amendment'}).click();
		await page.waitForURL(url => url.pathname === '/record' && !url.search.includes(record));
		await settled(page);
		amendment = new URL(page.url()).searchParams.get('id') ?? '';
		await page.getByText(`Amendment of ${certificate}: The remark about the isolating valve was missing`).waitFor();
		await open(page, `/record?id=${record}`);
		await page.getByText('Its amendment is in hand').waitFor();
		assert.equal(await page.getByRole('button', {name: 'Amend the certificate'}).count(), 0);
	});
	await plant.visit({person: 'ida'}, async page => {
		await open(page, `/record?id=${amendment}`);
		await page.getByRole('link', {name: 'Go on with the test'}).click();
		await settled(page);
		await page.getByLabel('Password').fill(PASSWORD);
		await page.getByRole('button', {name: 'Sign', exact: true}).click();
		await page.getByText('Signed. Another person reviews it next').waitFor();
	});
	await plant.visit({}, async page => {
		const people = (await (await page.request.get('/api/v1/plant')).json()).demo.people;
		const lead = people.find((/** @type {any} */ person) => person.roles.includes('lead') && person.sign_in !== 'ida');

		await page.goto(`/signin?next=${encodeURIComponent(`/record?id=${amendment}`)}`);
		await page.getByLabel('Sign-in name').fill(lead.sign_in);
		await page.getByLabel('Password').fill(PASSWORD);
		await page.getByRole('button', {name: 'Sign in', exact: true}).click();
		await page.waitForURL('**/record?id=**');
		await settled(page);
		await page.getByLabel('Password').fill(PASSWORD);
		await page.getByRole('button', {name: 'Sign as reviewed'}).click();
		await page.getByRole('button', {name: 'Issue the certificate'}).click();
		await page.getByRole('link', {name: `${certificate}-A1`}).waitFor();
		await page.getByRole('link', {name: certificate, exact: true}).click();
		await page.getByText(`${certificate} no longer stands.`).waitFor();
		await page.getByRole('link', {name: 'As it was issued'}).waitFor();
		await page.locator('.rows').getByText(/, \d\d:\d\d GMT$/).first().waitFor(); /* a signature's time has its zone */
		assert.equal(await page.getByRole('button', {name: 'Make void'}).count(), 0);
		const xml = await page.request.get(String(await page.getByRole('link', {name: 'XML as issued'}).getAttribute('href')));
		assert.ok(!(await xml.text()).includes('<!-- not sealed'));
		await noViolations(page, 'amended record');
		await page.getByRole('link', {name: `${certificate}-A1`}).click();
		await page.getByText(`Amendment of ${certificate}: The remark`).waitFor();
		await noViolations(page, 'amendment');
		const instrument = (await api(page, `/test-records/${record}`)).instrument.id;
		await open(page, `/instrument?id=${instrument}`);
		const row = page.getByRole('row').filter({has: page.locator(`a[href="/record?id=${record}"]`)});
		await row.getByText('certificate amended').waitFor();
		await noViolations(page, 'instrument history');
		await open(page, `/verify/${certificate}`);
		await page.getByText(`${certificate} no longer stands: ${certificate}-A1 replaces it`).waitFor();
		await page.getByRole('link', {name: `To ${certificate}-A1`}).click();
		await page.getByText(`${certificate}-A1 stands.`).waitFor();
	});
});

test('a certificate made void says so on its record and on its verification page', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		const {items} = await api(page, '/test-records?state=certified&limit=10');
		const one = items[5];

		await open(page, `/record?id=${one.id}`);
		await page.getByRole('button', {name: 'Make void'}).click();
		await page.getByLabel('Reason').fill('The wrong instrument was tested');
		await page.getByLabel('Password').fill(PASSWORD);
		await page.getByRole('dialog').getByRole('button', {name: 'Make void'}).click();
		await page.getByText(`${one.certificate_number} is void: The wrong instrument was tested`).waitFor();
		await open(page, `/verify/${one.certificate_number}`);
		await page.getByText(`${one.certificate_number} is void: The wrong instrument was tested`).waitFor();
		const issued = await (await page.request.get(`/api/v1/test-records/${one.id}/certificate.pdf?as=issued`)).body();

		await page.getByLabel('Is a file in your hand genuine?').setInputFiles({name: 'c.pdf', mimeType: 'application/pdf', buffer: issued});
		await page.getByText('The file is genuine and unchanged, but its certificate no longer stands.').waitFor();
	});
});

/** As an administrator, on the settings page. @param {string} address */
async function setTimeStamp(address) {
	await plant.visit({}, async page => {
		const {people} = (await (await page.request.get('/api/v1/plant')).json()).demo;

		await signIn(page, people.find((/** @type {any} */ person) => person.roles.includes('administrator')).sign_in);
		await open(page, '/settings');
		await page.getByLabel('Time stamp authority').fill(address);
		await page.getByRole('button', {name: 'Save', exact: true}).click();
		await page.getByText('Saved').waitFor();
	});
}

test('a certificate that could not be issued says why and what to do, after a reload as well, until it is', async () => {
	/* nobody listens on port 1 (RFC 6335: tcpmux), and no authority is trusted */
	await setTimeStamp('http://127.0.0.1:1/');
	await plant.visit({person: 'ruth', expect: /422/}, async page => {
		const {items} = await api(page, '/test-records?state=performed&limit=50');
		const mine = (await api(page, '/session')).person.name;

		await open(page, `/record?id=${items.find((/** @type {any} */ one) => one.performed_by !== mine).id}`);
		await page.getByLabel('Password').fill(PASSWORD);
		await page.getByRole('button', {name: 'Sign as reviewed'}).click();
		await page.getByRole('button', {name: 'Issue the certificate'}).click();
		const notice = page.getByRole('alert').filter({hasText: 'The certificate was not issued'});
		await notice.getByText('time stamp authority is set').waitFor();
		await notice.getByText('an administrator corrects it in the settings').waitFor();
		await page.reload();
		await notice.getByText('Record and signatures are safe').waitFor();
		await noViolations(page, 'not issued');
		await setTimeStamp('');
		await page.getByRole('button', {name: 'Issue the certificate again'}).click();
		await page.getByRole('link', {name: 'Certificate, A4'}).waitFor();
		assert.equal(await notice.count(), 0);
	});
});
