/* Tolerance rules and classes: written, previewed on a tag, taken into a procedure; and what is late stands first on Due. */
import assert from 'node:assert/strict';
import test from 'node:test';
import {api, becomes, open, startPlant} from './support.js';

const plant = startPlant();

/** Adds a rule as the signed-in page would. @param {import('playwright-core').Page} page @param {string} method @param {string} path @param {object} data @param {Record<string, string>} [headers] */
async function send(page, method, path, data, headers = {}) {
	const {token} = await api(page, '/session');
	const answer = await page.request.fetch(`/api/v1${path}`, {method, data, headers: {'X-Session-Token': token, ...headers}});

	assert.ok(answer.ok(), `${path}: ${answer.status()}`);
	return answer.json();
}

test('the lead writes a rule of several terms beside what it allows on a tag, and it stands in the list in words', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		await open(page, '/procedures');
		await page.getByRole('link', {name: 'Tolerance rules'}).click();
		await page.getByRole('link', {name: 'Write a rule'}).click();
		await page.getByLabel('Name', {exact: true}).fill('Loop check, uneven');
		await page.getByLabel('Limits: error either way').fill('0,2');
		await page.getByRole('button', {name: 'Add a term to Limits'}).click();
		await page.keyboard.type('0.1');
		/* 4 to 20 mA read in %, at 50 %: 0.2 % of 100 % and 0.1 % of 50 % are 0.25 % */
		await page.getByRole('row', {name: '12.00 50.00 \u00b10.25'}).waitFor();
		await page.getByRole('button', {name: 'Up and down differ for Limits, term 1'}).click();
		await page.getByLabel('Limits, term 1: error downwards').fill('0.3');
		await page.getByRole('row', {name: '12.00 50.00 \u22120.35 to +0.25'}).waitFor();

		/* the same on a tag: FT-2108 gives 4 to 20 mA; at 4 mA 0.3 % of 16 mA and 0.1 % of 4 mA are 0.052, 0.2 and 0.1 % 0.036 */
		await page.getByLabel('Try it on tag').fill('FT-2108');
		await page.getByRole('row', {name: '0.00 4.000 \u22120.052 to +0.036'}).waitFor();

		await page.reload();
		assert.equal(await page.getByLabel('Limits, term 1: error downwards').inputValue(), '0.3');
		assert.equal(await page.getByLabel('Name', {exact: true}).inputValue(), 'Loop check, uneven');
		await page.getByRole('button', {name: 'Add the rule'}).click();
		await page.waitForURL('**/tolerances');
		await page.getByRole('row', {name: 'Loop check, uneven +0.2 / \u22120.3 % of span plus \u00b10.1 % of reading'}).waitFor();
	});
});

test('a rule typed wrong is refused beside its field, and a name that is taken beside the name', async () => {
	await plant.visit({person: 'ruth', expect: /4(09|22)/}, async page => {
		const taken = (await api(page, '/tolerance-rules')).items[0].name;
		await open(page, '/tolerance?new=1');
		await page.getByLabel('Limits: error either way').fill('a lot');
		await page.getByRole('button', {name: 'Add the rule'}).click();
		await page.getByText('This is needed.').waitFor();
		assert.equal(await page.getByLabel('Limits: error either way').getAttribute('aria-invalid'), 'true');
		await page.getByLabel('Limits: error either way').fill('-1');
		await page.getByLabel('Name', {exact: true}).fill(taken);
		await page.getByRole('button', {name: 'Add the rule'}).click();
		await page.locator('.term .field-error:not([hidden])').waitFor();
		await page.getByLabel('Limits: error either way').fill('1');
		await page.getByRole('button', {name: 'Add the rule'}).click();
		await becomes(() => page.getByLabel('Name', {exact: true}).getAttribute('aria-invalid'), 'true');
		assert.equal(await page.getByLabel('Name', {exact: true}).inputValue(), taken);
	});
});

test('who was slower with a rule is told, and what either wrote stays', async () => {
	await plant.visit({person: 'ruth', expect: /412/}, async page => {
		const rule = await send(page, 'POST', '/tolerance-rules', {name: 'Shared rule', rule: {join: 'sum', terms: [{kind: 'percent_of_span', plus: 1}]}});
		await open(page, `/tolerance?id=${rule.id}`);
		await page.getByLabel('Name', {exact: true}).fill('Shared rule, renamed');
		await plant.visit({person: 'owen'}, async other => {
			await send(other, 'PUT', `/tolerance-rules/${rule.id}`, {name: 'Shared rule', rule: {join: 'sum', terms: [{kind: 'percent_of_span', plus: 2}]}}, {'If-Match': '"v1"'});
		});
		await page.getByRole('button', {name: 'Save the rule'}).click();
		await page.getByText('Owen Pike changed this meanwhile').waitFor();
		await page.getByRole('button', {name: 'Take in the newer, keep what I wrote'}).click();
		assert.equal(await page.getByLabel('Limits: error either way').inputValue(), '2');
		await page.getByRole('button', {name: 'Save the rule'}).click();
		await page.waitForURL('**/tolerances');
		await page.getByRole('row', {name: 'Shared rule, renamed \u00b12 % of span'}).waitFor();
	});
});

/* IEC 60751, Pt100 class A: 0.35 degC and 0.13 ohm at 100 degC, where the element has 138.51 ohm and rises by 0.37928 ohm a degree; Pt1000 ten times that */
test('a class is worked out over temperature by the server, in degrees and in ohm', async () => {
	await plant.visit({person: 'ida', expect: /422/}, async page => {
		await open(page, '/tolerances');
		await page.getByRole('link', {name: 'Pt, class A, wire wound'}).click();
		await page.getByRole('row', {name: '100 \u00b10.35 138.506 \u00b10.133'}).waitFor();
		await page.getByLabel('At a temperature').fill('100');
		await page.getByLabel('R\u2080').fill('1000');
		await page.keyboard.press('Enter');
		await page.getByText('At 100 \u00b0C: \u00b10.35 \u00b0C, which is \u00b11.327 ohm of 1385.055 ohm.').waitFor();
		await page.getByLabel('At a temperature').fill('451');
		await page.keyboard.press('Enter');
		await page.getByText('The class holds from -100 to 450 \u00b0C.').waitFor();
		assert.equal(await page.getByLabel('At a temperature').getAttribute('aria-invalid'), 'true');
		assert.equal(await page.getByRole('link', {name: 'Write a rule'}).count(), 0, 'a technician writes no rules');
	});
});

test('a procedure takes its limits from a class or a rule, as far as terms can say it', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		await open(page, '/procedure?new=1');
		const source = page.getByLabel('Take them from for As found');
		await source.locator('optgroup').first().waitFor({state: 'attached'});
		assert.equal(await source.getByRole('option', {name: 'Thermocouple type S, class 1', includeHidden: true}).count(), 0, 'what terms cannot say is not offered');
		await source.selectOption({label: 'Pt, class B, wire wound'});
		/* IEC 60751: 0.30 degC + 0.005 |t|, that is 0.5 % of the reading */
		await page.getByText('Taken from \u201cPt, class B, wire wound\u201d. It holds from \u2212196 to 600 \u00b0C').waitFor();
		assert.equal(await page.getByLabel('As found, term 1: error either way').inputValue(), '0.3');
		assert.equal(await page.getByLabel('As found, term 2: error either way').inputValue(), '0.5');
		assert.equal(await page.getByLabel('As found, term 2: of what').inputValue(), 'percent_of_reading');
		await source.selectOption({label: 'Control valve travel, \u00b13 % of span'});
		await page.getByText('At 25 %: 22.0 to 28.0 %').waitFor();
		assert.equal(await page.getByLabel('As found: error either way').inputValue(), '3');
	});
});

test('what is overdue stands first on Due, whatever area it is in', async () => {
	await plant.visit({person: 'ida'}, async page => {
		await open(page, '/due?within=366');
		const {counts} = await api(page, '/due?within=366');
		const days = await page.locator('.due-part .due-when span:first-child').allInnerTexts();
		assert.ok(counts.overdue > 0);
		assert.equal(await page.locator('#due-overdue .due-row').count(), counts.overdue);
		assert.equal(await page.locator('#due-week .due-row').count(), counts.this_week);
		assert.ok(days.slice(0, counts.overdue).every(text => text.startsWith('overdue')), 'the first are overdue');
		assert.ok(days.slice(counts.overdue).every(text => !text.startsWith('overdue')), 'the others are not');
		await page.getByRole('link', {name: /overdue$/}).click();
		assert.ok(page.url().endsWith('#due-overdue'));
	});
});
