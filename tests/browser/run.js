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
		await needs.nth(i).getByRole('radio').first().click();
		await page.waitForFunction(n => document.querySelectorAll('fieldset.need')[n]?.querySelector('input:checked'), i);
	}
	await note(page, 'Temperature, °C', '14,5');
	await goOn(page, 'prove');
}

/** Types into a field that saves itself when it is left. @param {Page} page @param {string} label @param {string} text */
export async function note(page, label, text) {
	await page.getByLabel(label).fill(text);
	await page.getByLabel(label).press('Tab');
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

/** Takes the readings of a run, each with Enter. @param {Page} page @param {string[]} readings as typed @param {RegExp} [field] */
export async function read(page, readings, field = /^Reading, /) {
	for (const [i, text] of readings.entries()) {
		await page.getByText(`Point ${i + 1} of ${readings.length}`).waitFor();
		await page.getByLabel(field).fill(text);
		await page.getByLabel(field).press('Enter');
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
