/* Labels from the record: a lead limits the use, and the label says so; a refusal stays in the dialog. */
import assert from 'node:assert/strict';
import test from 'node:test';
import {api, open, startPlant} from './support.js';

const plant = startPlant();

test('a lead states a limitation, which the record and its label show from then on', async () => {
	await plant.visit({person: 'ruth'}, async (page, context) => {
		const {items} = await api(page, '/test-records?state=certified&limit=1');

		await open(page, `/record?id=${items[0].id}`);
		await page.getByRole('button', {name: 'Label'}).click();
		await page.getByLabel('Limited use: for what only').fill('Indication only');
		await page.getByLabel('Paper').selectOption('a4');
		await page.getByLabel('First free label of the sheet').fill('5');
		const [tab] = await Promise.all([context.waitForEvent('page'), page.getByRole('button', {name: 'Show the labels'}).click()]);
		assert.match(tab.url(), /paper=a4&start=5$/);
		await open(page, `/record?id=${items[0].id}`);
		await page.locator('main').getByText('Limited use: Indication only (Ruth Calder').waitFor();

		await page.getByRole('button', {name: 'Label'}).click();
		assert.equal(await page.getByLabel('Paper').inputValue(), 'a4', 'the paper is remembered');
		assert.equal(await page.getByLabel('Limited use: for what only').inputValue(), 'Indication only');
		await page.getByRole('button', {name: 'Cancel'}).click();

		await page.getByRole('button', {name: 'Lift the limitation'}).click();
		await page.getByLabel('Why it may be used in full again').fill('New element fitted');
		await page.getByRole('button', {name: 'Lift it'}).click();
		await page.getByText('Ruth Calder lifted the limitation').waitFor();
		assert.equal(await page.locator('main').getByText('Limited use: Indication only').count(), 0);
	});
});

test('a label that the record does not allow is refused in the dialog', async () => {
	await plant.visit({person: 'ida', expect: /4(09|22)/}, async page => {
		const {items} = await api(page, '/test-records?state=certified&limit=2');

		await open(page, `/record?id=${items[1].id}`);
		await page.getByRole('button', {name: 'Label'}).click();
		assert.equal(await page.getByLabel('Limited use: for what only').count(), 0, 'a technician limits nothing');
		await page.getByLabel('What it says').selectOption('limited');
		await page.getByRole('button', {name: 'Show the labels'}).click();
		await page.getByText('nobody has stated a limitation').waitFor();
		await page.getByLabel('What it says').selectOption('');
		await page.getByLabel('First free label of the sheet').fill('28');
		await page.getByRole('button', {name: 'Show the labels'}).click();
		await page.getByText('start must be a whole number from 1 to 27').waitFor();
	});
});
