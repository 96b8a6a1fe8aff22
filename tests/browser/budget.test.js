/* Budgets and calculations: published examples typed in as a lead or a technician would, faults beside their fields. */
import assert from 'node:assert/strict';
import test from 'node:test';
import {open, startPlant} from './support.js';

const plant = startPlant();

/** @typedef {import('playwright-core').Page} Page */

/** @param {Page} page @param {number} i @param {{name: string, estimate: string, given: string, figure: string, distribution?: string, dof?: string}} part */
async function component(page, i, {name, estimate, given, figure, distribution, dof}) {
	if (i > 1)
		await page.getByRole('button', {name: 'Add a component'}).click();
	const line = page.locator('.component').nth(i);
	await line.getByLabel(`Name of component ${i + 1}`).fill(name);
	await line.getByLabel(/^How the uncertainty/).selectOption(given);
	await line.getByLabel(/^Estimate of/).fill(estimate);
	await line.getByLabel(given === 'half_width' ? /^half-width a/ : given === 'expanded' ? /^expanded U/ : /^standard u/).fill(figure);
	if (distribution)
		await line.getByLabel(/^Distribution of/).selectOption(distribution);
	if (dof)
		await line.getByLabel(/^Degrees of freedom/).fill(dof);
}

/** The value beside a word of the facts. @param {Page} page @param {string} word */
function fact(page, word) {
	return page.locator('.budget-result dt', {hasText: new RegExp(`^${word}$`)}).locator('xpath=following-sibling::dd[1]').innerText();
}

/*
 * EA-4/02 M:2022, S2, calibration of a weight of 10 kg: the mass is 10.000 025 kg +- 59 mg with k = 2, u = 29.3 mg
 * (25 mg / sqrt 3 for three weighings). In grams.
 */
test('the weight of EA-4/02 comes out as printed, with shares, simulation and conformity', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		await open(page, '/procedures');
		await page.getByRole('link', {name: 'Uncertainty'}).click();
		await page.getByLabel('Title', {exact: true}).fill('Weight of 10 kg');
		await page.getByLabel('Result, with its unit').fill('g');
		await component(page, 0, {name: 'm_S', estimate: '10000.005', given: 'expanded', figure: '0,045'});
		await component(page, 1, {name: 'd_D', estimate: '0', given: 'half_width', figure: '0.015'});
		await component(page, 2, {name: 'd_m', estimate: '0.020', given: 'standard', figure: '0.01443376'});
		await component(page, 3, {name: 'd_C', estimate: '0', given: 'half_width', figure: '0.010'});
		await component(page, 4, {name: 'd_B', estimate: '0', given: 'half_width', figure: '0.010'});
		await page.getByLabel('also by simulation').check();
		await page.getByLabel('judge a measured value').check();
		await page.getByLabel(/^High limit/).fill('10000.1');
		await page.getByLabel(/^High limit/).press('Enter');
		await page.locator('.budget-figure', {hasText: '10000.025 \u00b1 0.059'}).waitFor();
		assert.equal(await fact(page, 'combined standard uncertainty'), '0.0293');
		assert.equal(await fact(page, 'coverage factor k'), '2.00');
		/* 22.5 squared of 856.25: 59.1 % */
		assert.match(await page.locator('.budget-table tbody tr').first().innerText(), /m_S[\s\S]*59\.1\u00a0%/);
		/* the normal distribution at 75 / 29.262 = 2.563: 0.9948 in the tables */
		assert.match(await fact(page, 'probability of conformity'), /^99\.48/);
		await page.locator('.budget-result').getByText(/the budget is (not )?borne out/).waitFor();

		await page.reload();
		assert.equal(await page.getByLabel('Title', {exact: true}).inputValue(), 'Weight of 10 kg');
		assert.equal(await page.locator('.component').count(), 5);
		await page.locator('.budget-figure', {hasText: '10000.025 \u00b1 0.059'}).waitFor();
		await page.getByLabel('Coverage probability, in %').fill('99');
		await page.getByText('Changed since it was worked out.').waitFor();

		await page.emulateMedia({media: 'print'});
		assert.ok(await page.getByRole('heading', {name: 'Weight of 10 kg'}).isVisible());
		assert.ok(!await page.getByRole('button', {name: 'Work it out'}).isVisible());
		assert.ok(await page.locator('.budget-table').isVisible());
	});
});

test('a ready model begins a budget, and another one asks before it takes its place', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		await open(page, '/uncertainty');
		await page.getByLabel('Begin with').selectOption({label: 'Loop current by a shunt resistor'});
		await page.locator('.budget-figure').waitFor();
		/* 1000 * 3.0012 V / 250.01 ohm = 12.0043 mA */
		assert.match(await fact(page, 'estimate'), /^12\.004/);
		await page.getByLabel('Estimate of V').fill('3.1');
		await page.getByLabel('Begin with').selectOption({label: 'Position of a valve against its signal'});
		await page.getByRole('dialog').getByRole('button', {name: 'Cancel'}).click();
		assert.equal(await page.getByLabel('Estimate of V').inputValue(), '3.1');
		await page.getByLabel('Begin with').selectOption({label: 'Position of a valve against its signal'});
		await page.getByRole('dialog').getByRole('button', {name: 'Begin another'}).click();
		await page.getByLabel('Estimate of x', {exact: true}).waitFor();
	});
});

/* x squared at 0: the slope is 0, and the variance of the square of a normal quantity 2u to the fourth, so 0.0141 for u = 0.1. */
test('a budget whose uncertainty comes to nothing, or is very small, has its result too', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		await open(page, '/uncertainty');
		await component(page, 0, {name: 'x', estimate: '0', given: 'standard', figure: '0.1'});
		await component(page, 1, {name: 'd_s', estimate: '0', given: 'standard', figure: '0'});
		await page.getByLabel(/^Expression/).fill('x^2 + d_s');
		await page.getByRole('button', {name: 'Work it out'}).click();
		await page.locator('.budget-figure', {hasText: '0 \u00b1 0'}).waitFor();
		await page.getByText('To second order the combined standard uncertainty is 0.0141').waitFor();
		await page.getByLabel(/^Expression/).fill('');
		await page.getByLabel('Estimate of x', {exact: true}).fill('0,000000000012');
		await page.getByLabel('standard u of x').fill('0.000000000003');
		await page.getByRole('button', {name: 'Work it out'}).click();
		/* k = 2.00 for 95.45 % */
		await page.locator('.budget-figure', {hasText: '1.20000\u00b710\u207b\u00b9\u00b9 \u00b1 6.0\u00b710\u207b\u00b9\u00b2'}).waitFor();
	});
});

test('what is wrong in a budget stands beside the field that the server or the page names', async () => {
	await plant.visit({person: 'ruth', expect: /422/}, async page => {
		await open(page, '/uncertainty');
		const work = page.getByRole('button', {name: 'Work it out'}), wrong = async (/** @type {import('playwright-core').Locator} */ field, /** @type {RegExp} */ sentence) => {
			await work.click();
			await page.locator('.field-error:not([hidden])', {hasText: sentence}).first().waitFor();
			assert.equal(await field.getAttribute('aria-invalid'), 'true');
		};

		await wrong(page.getByLabel('standard u of x'), /A number is needed/);
		await page.getByLabel('standard u of x').fill('0.1');
		await page.getByLabel('expanded U of d_s').fill('-1');
		await wrong(page.getByLabel('expanded U of d_s'), /./);
		await page.getByLabel('expanded U of d_s').fill('0.1');
		await page.getByLabel('Coverage factor of d_s').fill('0');
		await wrong(page.getByLabel('Coverage factor of d_s'), /./);
		await page.getByLabel('Coverage factor of d_s').fill('2');
		await page.getByLabel('Coverage probability, in %').fill('100');
		await wrong(page.getByLabel('Coverage probability, in %'), /./);
		await page.getByLabel('Coverage probability, in %').fill('95');
		await page.getByLabel(/^Expression/).fill('x + nothing');
		await wrong(page.getByLabel(/^Expression/), /./);
		await page.getByLabel(/^Expression/).fill('x + d_s');
		await page.getByRole('button', {name: 'Add a correlation'}).click();
		await page.getByLabel('Correlation 1: coefficient').fill('2');
		await wrong(page.getByLabel('Correlation 1: coefficient'), /./);
		await page.getByLabel('Correlation 1: coefficient').fill('0.5');
		await page.getByLabel('judge a measured value').check();
		await page.getByLabel(/^Low limit/).fill('1');
		await page.getByLabel(/^High limit/).fill('0');
		await wrong(page.getByLabel(/^High limit/), /must lie above the low one/);
		/* what could be worked out stands all the same: u\u00b2 = 0.1\u00b2 + 0.05\u00b2 + 2 \u00b7 0.5 \u00b7 0.1 \u00b7 0.05 = 0.0175 */
		assert.equal(await fact(page, 'combined standard uncertainty'), '0.132');
	});
});

/*
 * A loop at half of its range carries 12 mA, and by a square root at a quarter. IEC 60751: 138.51 ohm at 100 degC. ITS-90, type K: 4.096 mV at
 * 100 degC, 1.000 mV at 25 degC. 2.5 bar = 250 kPa / 6.894757 = 36.2594 psi.
 */
test('a technician works out a value either way, by the keyboard, and a reload keeps it', async () => {
	await plant.visit({person: 'ida', expect: /422/}, async page => {
		await open(page, '/due');
		await page.getByRole('link', {name: 'Work out a value'}).click();
		const value = (/** @type {string} */ label) => page.getByLabel(label, {exact: true});
		const loop = page.locator('.calculation', {hasText: 'A loop, 4 to 20 mA'}), becomesText = async (/** @type {import('playwright-core').Locator} */ field, /** @type {string} */ text) => {
			const handle = await field.elementHandle();
			await page.waitForFunction(({element, wanted}) => /** @type {any} */ (element).value === wanted, {element: handle, wanted: text});
		};

		await becomesText(loop.getByLabel('Current, mA'), '12.000');
		await loop.getByLabel('The current follows').selectOption('square_root');
		await loop.getByLabel('Value').fill('25');
		await becomesText(loop.getByLabel('Current, mA'), '12.000');
		await loop.getByLabel('Current, mA').focus();
		await page.keyboard.press('Control+a');
		await page.keyboard.type('20');
		await becomesText(loop.getByLabel('Value'), '100.00');

		await becomesText(value('It gives, ohm'), '138.506');
		await page.getByLabel('Element').selectOption('thermocouple K');
		await becomesText(value('It gives, mV'), '4.096');
		await page.getByLabel('Junction at').fill('25');
		await becomesText(value('It gives, mV'), '3.096');
		await value('It gives, mV').fill('3.096');
		await becomesText(value('Temperature, \u00b0C'), '100.00');
		await value('It gives, mV').fill('900');
		await page.locator('.pair-error:not([hidden])').waitFor();

		const unit = page.locator('.calculation', {hasText: 'A unit'});
		await unit.getByLabel('To', {exact: true}).selectOption('psi');
		await unit.getByLabel('Value').fill('2,5');
		await becomesText(unit.getByLabel('In the other unit'), '36.2594');
		await unit.getByLabel('To', {exact: true}).selectOption('mA');
		await unit.locator('.pair-error', {hasText: /measures pressure, but mA measures current/}).waitFor();

		await page.reload();
		await becomesText(value('It gives, mV'), '900');
		assert.equal(await page.getByLabel('Junction at').inputValue(), '25');
	});
});
