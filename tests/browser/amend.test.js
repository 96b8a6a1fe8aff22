/* The lead amends a certified test: corrected, signed, reviewed, issued under -A1; the first certificate says so. And one made void. */
import assert from 'node:assert/strict';
import test from 'node:test';
import {api, open, PASSWORD, settled, startPlant} from './support.js';

const plant = startPlant();

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
	});
});
