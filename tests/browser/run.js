/* The technician's way through a test, as the pages offer it: by names and roles, not by their insides. */
import {settled} from './support.js';

/** @typedef {import('playwright-core').Page} Page */

/** From the due page into the run. @param {Page} page @param {string} tag */
export async function openTest(page, tag) {
	await page.getByRole('button', {name: new RegExp(`^${tag} ?: open the test$`)}).click();
	await page.waitForURL('**/run?id=*');
	await settled(page);
	await page.getByRole('heading', {level: 1, name: `Run ${tag}`}).waitFor();
}

/** Acknowledges every caution, chooses the first usable standard for each need, notes the surroundings. @param {Page} page */
export async function prepare(page) {
	const seen = page.getByRole('button', {name: /^I have seen to it/});

	for (let left = await seen.count(); left > 0; left--) {
		await seen.first().click();
		await page.waitForFunction(n => document.querySelectorAll('[data-key^="caution-"]').length === n, left - 1);
	}
	const needs = page.locator('fieldset.need');
	for (let i = 0; i < await needs.count(); i++) {
		await lessMissing(page, () => needs.nth(i).getByRole('radio').first().click());
	}
	await note(page, 'Temperature, °C', '14,5');
	await goOn(page, 'prove');
}

/** Does something and waits until the server's answer shows: the list of what is still missing is shorter. @param {Page} page @param {() => Promise<void>} act */
export async function lessMissing(page, act) {
	const before = await page.locator('.way-on li').count();

	await act();
	await page.waitForFunction(n => document.querySelectorAll('.way-on li').length < n, before);
}

/** Types into a field that saves itself when it is left; what is typed is kept on the tablet until it is saved. @param {Page} page @param {string} label @param {string} text */
export async function note(page, label, text) {
	await page.getByLabel(label).fill(text);
	await page.getByLabel(label).press('Tab');
	await page.waitForFunction(() => !Object.keys(localStorage).some(key => key.startsWith('loopledger.typed.')));
}

/** Answers yes to every check. @param {Page} page */
export async function prove(page) {
	const checks = page.getByRole('button', {name: 'yes', exact: true});

	for (let i = 0; i < await checks.count(); i++) {
		await checks.nth(i).click();
		await page.waitForFunction(n => [...document.querySelectorAll('.answers button')].filter(button => button.textContent === 'yes')[n]?.getAttribute('aria-pressed') === 'true', i);
	}
	await goOn(page, 'as found');
}

/** Takes the readings of a run, each with Enter. @param {Page} page @param {string[]} readings as typed @param {number} [count] of the run's points, when these are not all */
export async function read(page, readings, count = readings.length) {
	for (const [i, text] of readings.entries()) {
		await page.getByText(`Point ${i + 1} of ${count}`).waitFor();
		await page.getByLabel(/^Reading, /).fill(text);
		await page.getByLabel(/^Reading, /).press('Enter');
	}
}

/** The one way on at the foot of a phase. @param {Page} page @param {string} phase */
export async function goOn(page, phase) {
	await page.getByRole('link', {name: `Go on: ${phase}`}).click();
	await page.waitForURL(new RegExp(`#${phase.replace(' ', '_')}$`));
}

/** @param {Page} page @param {string} password */
export async function sign(page, password) {
	await page.getByLabel('Your password').fill(password);
	await page.getByRole('button', {name: 'Sign', exact: true}).click();
	await page.getByText('Another person reviews it next').waitFor();
}
