/* By keyboard alone: from signing in to a reading, and through the register. Only Tab, Enter, Space, arrows and typing. */
import assert from 'node:assert/strict';
import test from 'node:test';
import {lessMissing} from './run.js';
import {PASSWORD, open, settled, startPlant} from './support.js';

const plant = startPlant();

/** @typedef {import('playwright-core').Page} Page */

/** Tabs until what has the focus is named so; every stop on the way must show a focus ring. @param {Page} page @param {RegExp} name @param {number} [most] */
async function tabTo(page, name, most = 120) {
	for (let i = 0; i < most; i++) {
		await page.keyboard.press('Tab');
		const here = await page.evaluate(() => {
			const element = /** @type {HTMLElement} */ (document.activeElement), style = getComputedStyle(element), after = getComputedStyle(element, '::after');
			const labels = [.../** @type {any} */ (element).labels ?? []].map(label => label.innerText);
			return {name: element.getAttribute('aria-label') ?? (labels.join(' ') || element.innerText || element.id), ring: [style, after].some(one => one.outlineStyle !== 'none' && parseFloat(one.outlineWidth) >= 2), byTab: element.tabIndex >= 0 && element !== document.body && element !== document.documentElement};
		});
		assert.ok(here.ring || !here.byTab, `"${here.name}" shows that it has the focus`);
		if (name.test(here.name.replace(/\s+/g, ' ')))
			return;
	}
	assert.fail(`Tab does not reach ${name}`);
}

/** The page has gone on to a phase and put the focus at its beginning. @param {Page} page */
async function inPhase(page) {
	await page.waitForFunction(() => document.activeElement?.matches('.run-phase, .run-phase *'));
}

test('a technician signs in, opens a test and enters a reading without a pointer', async () => {
	await plant.visit({}, async page => {
		await open(page, '/signin');
		await page.waitForFunction(() => document.activeElement?.getAttribute('name') === 'sign_in');
		await page.keyboard.type('ida');
		await page.keyboard.press('Tab');
		await page.keyboard.type(PASSWORD);
		await page.keyboard.press('Enter');
		await page.waitForURL('**/due');
		await settled(page);

		await tabTo(page, /^FCV-2107 ?: open the test/);
		await page.keyboard.press('Enter');
		await page.waitForURL('**/run?id=*');
		await page.getByRole('heading', {level: 1, name: 'Run FCV-2107'}).waitFor();

		const seen = page.getByRole('button', {name: /^I have seen to it/});
		await seen.first().waitFor();
		for (let left = await seen.count(); left > 0; left--) {
			await tabTo(page, /^I have seen to it/);
			await page.keyboard.press('Enter');
			await page.waitForFunction(n => document.querySelectorAll('[data-key^="caution-"]').length === n, left - 1);
		}
		for (const role of ['input', 'output']) {
			await tabTo(page, role === 'input' ? /MA-01/ : /TS-01/);
			await lessMissing(page, () => page.keyboard.press('Space'));
		}
		await tabTo(page, /^Go on: prove/);
		await page.keyboard.press('Enter');
		await page.waitForURL(/#prove$/);
		await inPhase(page);
		const checks = page.getByRole('button', {name: 'yes', exact: true});
		await checks.first().waitFor();
		const count = await checks.count();
		for (let i = 0; i < count; i++) {
			await tabTo(page, /^yes$/);
			await page.keyboard.press('Enter');
			await page.waitForFunction(n => document.querySelectorAll('.answers [aria-pressed="true"]').length === n, i + 1);
			await page.waitForFunction(() => document.activeElement?.textContent === 'yes');
		}
		await tabTo(page, /^Go on: as found/);
		await page.keyboard.press('Enter');
		await page.waitForURL(/#as_found$/);
		await inPhase(page);
		await tabTo(page, /^Reading, %/);
		await page.keyboard.type('0,6');
		await page.keyboard.press('Enter');
		await page.getByText('Point 2 of 9').waitFor();
		await page.waitForFunction(() => document.activeElement?.id === 'entry-observed');
		await page.keyboard.type('25.6');
		await page.keyboard.press('Enter');
		await page.getByText('Point 3 of 9').waitFor();
	});
});

test('the lead writes a caution, moves it up and reaches every field of a draft without a pointer', async () => {
	await plant.visit({person: 'owen'}, async page => {
		await open(page, '/procedures');
		await tabTo(page, /^AT-3$/);
		await page.keyboard.press('Enter');
		await page.waitForURL('**/procedure?id=*');
		await settled(page);
		await tabTo(page, /^Caution 1$/);
		await page.keyboard.press('Enter');
		await page.keyboard.type('Written by keyboard.');
		await tabTo(page, /^Up with Caution 2/);
		await page.keyboard.press('Enter');
		await page.waitForFunction(() => /** @type {any} */ (document.activeElement).value === 'Written by keyboard.');
		assert.equal(await page.getByLabel('Caution 1', {exact: true}).inputValue(), 'Written by keyboard.');
		await tabTo(page, /^Save draft/);
		await page.keyboard.press('Enter');
		await page.getByText('Saved.', {exact: true}).waitFor();
		await tabTo(page, /^Approve/);
		await page.keyboard.press('Enter');
		await page.getByRole('dialog').waitFor();
		assert.ok(await page.evaluate(() => document.querySelector('dialog')?.contains(document.activeElement)), 'the focus is in the dialog');
		await page.keyboard.press('Escape');
		await page.waitForFunction(() => !document.querySelector('dialog'));
		assert.match(await page.evaluate(() => document.activeElement?.textContent ?? ''), /^Approve/);
	});
});

test('the skip link leads past the frame, and a list goes on where its new rows begin', async () => {
	await plant.visit({person: 'nell'}, async page => {
		await open(page, '/instruments');
		await page.keyboard.press('Tab');
		await page.keyboard.press('Enter');
		assert.equal(await page.evaluate(() => document.activeElement?.id), 'main');
		await tabTo(page, /^Show 50 more/);
		await page.keyboard.press('Enter');
		await page.getByText(/instruments, all shown/).waitFor();
		assert.equal(await page.evaluate(() => [...document.querySelectorAll('tbody tr')].findIndex(row => row.contains(document.activeElement))), 50);
		await page.reload();
		await settled(page);
		await page.getByText(/instruments, all shown/).waitFor();
	});
});
