/* What is typed wrong is said beside the field and stays as it was typed; what looks like markup stays text. */
import assert from 'node:assert/strict';
import test from 'node:test';
import {openTest, prepare, prove} from './run.js';
import {api, open, settled, startPlant} from './support.js';

const plant = startPlant();

/** The sentence that a field's own description gives. @param {import('playwright-core').Locator} input */
async function sentence(input) {
	const ids = (await input.getAttribute('aria-describedby') ?? '').split(' ');

	assert.equal(await input.getAttribute('aria-invalid'), 'true');
	return (await Promise.all(ids.map(id => input.page().locator(`[id="${id}"]`).innerText()))).join(' ').trim();
}

test('an instrument typed wrong is refused field by field, and a reload keeps what was typed', async () => {
	await plant.visit({person: 'ruth', expect: /4(09|22)/}, async page => {
		await open(page, '/instrument?new=1');
		const tag = page.getByLabel('Tag', {exact: true}), service = page.getByRole('textbox', {name: 'Service'});
		const input = page.getByRole('group', {name: 'Input: what goes in'}), high = input.getByLabel('At 100 %'), low = input.getByLabel('At 0 %');

		await page.getByRole('button', {name: 'Add the instrument'}).click();
		assert.equal(await sentence(tag), 'As it stands on the plate. This is needed.');
		assert.ok(await tag.evaluate(element => element === document.activeElement), 'the first wrong field has the focus');
		await tag.fill('PT-1111');
		await service.fill('A second one of that name');
		await input.getByLabel('Quantity').fill('pressure');
		await low.fill('0');
		await high.fill('1,234.5');
		await input.getByLabel('Unit').selectOption('kPa');
		await page.getByRole('button', {name: 'Add the instrument'}).click();
		assert.equal(await sentence(high), 'Write it without separators between the thousands.');
		await high.fill('ten');
		await page.getByRole('button', {name: 'Add the instrument'}).click();
		assert.match(await sentence(high), /not a number/);
		assert.equal(await high.inputValue(), 'ten');

		/* the server's own words, beside the same field: high must not be low */
		await high.fill('0');
		await page.getByRole('button', {name: 'Add the instrument'}).click();
		await page.getByText(/range must not be empty/).waitFor();
		assert.match(await sentence(high), /range must not be empty/);
		await high.fill('250');
		await page.getByRole('button', {name: 'Add the instrument'}).click();
		await page.waitForFunction(() => document.querySelector('[name="tag"]')?.getAttribute('aria-invalid') === 'true');
		assert.match(await sentence(tag), /PT-1111/);

		await page.reload();
		await settled(page);
		for (const [field, text] of /** @type {const} */ ([[tag, 'PT-1111'], [service, 'A second one of that name'], [high, '250']]))
			assert.equal(await field.inputValue(), text);
	});
});

test('a reading that is no number is refused beside the field and stays; comma and point are one', async () => {
	await plant.visit({person: 'ida'}, async page => {
		await openTest(page, 'FCV-2107');
		await prepare(page);
		await prove(page);
		const reading = page.getByLabel(/^Reading, /);
		for (const [text, why] of /** @type {const} */ ([['', /number is needed/], ['12.0.1', /separators/], ['1 200', /separators/], ['abc', /not a number/], ['1e3', /not a number/]])) {
			await reading.fill(text);
			await reading.press('Enter');
			assert.match(await sentence(reading), why);
			assert.equal(await reading.inputValue(), text);
		}
		await reading.fill('0,4');
		await reading.press('Enter');
		await page.getByText('Point 2 of 9').waitFor();
		await page.getByRole('cell', {name: '0.4 inside'}).waitFor();
	});
});

test('a draft of a procedure with wrong numbers says where, keeps them, and outlives a reload', async () => {
	await plant.visit({person: 'owen', expect: /422/}, async page => {
		const draft = (await api(page, '/procedures')).items.find((/** @type {any} */ procedure) => procedure.draft);
		await open(page, `/procedure?id=${draft.id}`);
		const points = page.getByLabel(/^Points, in %/);
		const before = await page.getByLabel('As found: error either way').first().inputValue();
		await points.fill('0 50 25 100');
		await page.getByText(/Not yet: the points must ascend/).waitFor();
		await page.getByRole('button', {name: 'Save draft'}).click();
		await page.getByText(/The points must ascend/).waitFor();
		assert.match(await sentence(points), /must ascend/);
		await points.fill('0 x 100');
		await page.getByRole('button', {name: 'Save draft'}).click();
		assert.match(await sentence(points), /Numbers with spaces between them/);
		await page.reload();
		await settled(page);
		assert.equal(await points.inputValue(), '0 x 100');
		await page.getByText('Not yet saved; kept in this tab.').waitFor();
		await points.fill('0 12,5 25 100');
		await page.getByRole('button', {name: 'Save draft'}).click();
		await page.getByText('Saved.', {exact: true}).waitFor();
		const saved = (await api(page, `/procedures/${draft.id}`)).draft.document;
		assert.deepEqual(saved.steps.find((/** @type {any} */ step) => step.kind === 'points').percent, [0, 12.5, 25, 100]);
		assert.equal(await page.getByLabel('As found: error either way').first().inputValue(), before);
	});
});

test('a script in a tag, a service and a title stays text on every page that shows it', async () => {
	const script = '<script>document.title="in"</script>', image = '<img src=x onerror="document.title=1">';

	await plant.visit({person: 'ruth'}, async page => {
		await open(page, '/instrument?new=1');
		await page.getByLabel('Tag', {exact: true}).fill(script);
		await page.getByRole('textbox', {name: 'Service'}).fill(image);
		const input = page.getByRole('group', {name: 'Input: what goes in'});
		await input.getByLabel('Quantity').fill('pressure');
		await input.getByLabel('At 0 %').fill('0');
		await input.getByLabel('At 100 %').fill('10');
		await input.getByLabel('Unit').selectOption('bar');
		await page.getByLabel('Hazards').fill(`${image}\nsecond`);
		await page.getByRole('button', {name: 'Add the instrument'}).click();
		await page.getByRole('heading', {level: 1, name: script}).waitFor();
		const address = page.url();
		for (const place of [address, '/instruments?q=onerror', '/ledger?thing=instrument']) {
			await open(page, place);
			await page.getByText(script).first().waitFor();
			assert.notEqual(await page.title(), 'in');
			assert.equal(await page.locator('main img, main script').count(), 0);
		}
		await open(page, address);
		assert.equal(await page.title(), `${script} \u00b7 Loopledger`);
	});
});
