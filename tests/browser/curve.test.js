/* A table becomes a curve: pasted as a lead would, from published figures, with faults beside their fields. */
import assert from 'node:assert/strict';
import test from 'node:test';
import {open, startPlant} from './support.js';

const plant = startPlant();

/*
 * JCGM 100:2008, H.3, calibration of a thermometer: corrections b over t - 20 °C. Intercept -0.1712 °C, slope 0.002 18, s(y1) 0.0029,
 * s(y2) 0.000 67, s 0.0035; at 30 °C b = -0.1494 °C, u 0.0041 °C.
 */
const THERMOMETER = `t_k\tb_k
1,521\t-0,171
2,012\t-0,169
2,512\t-0,166
3,003\t-0,159
3,507\t-0,164
3,999\t-0,165
4,513\t-0,156
5,002\t-0,157
5,503\t-0,159
6,010\t-0,161
6,511\t-0,160`;

/** Cells of a row, by what stands first in it. @param {import('playwright-core').Page} page @param {string} first */
async function row(page, first) {
	return (await page.locator('.curve-table tr', {has: page.getByRole('rowheader', {name: first, exact: true})}).first().locator('td').allInnerTexts()).map(text => text.replace('\u2212', '-'));
}

test('the thermometer of the guide comes out as printed, from a pasted table with commas', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		await open(page, '/procedures');
		await page.getByRole('link', {name: 'Curves'}).click();
		await page.getByLabel('x is').fill('t \u2212 20 \u00b0C, \u00b0C');
		await page.getByLabel('y is').fill('correction, \u00b0C');
		await page.getByLabel('Points', {exact: true}).fill(THERMOMETER);
		await page.getByLabel('And its value at').fill('10');
		await page.getByRole('button', {name: 'Work it out'}).click();
		await page.locator('.budget-figure', {hasText: 'y = a + b\u00b7x'}).waitFor();
		const [a, sa] = await row(page, 'a'), [b, sb] = await row(page, 'b');
		assert.equal(Number(a).toFixed(4), '-0.1712');
		assert.equal(Number(sa).toFixed(4), '0.0029');
		assert.equal(Number(b).toFixed(5), '0.00218');
		assert.equal(Number(sb).toFixed(5), '0.00067');
		const [value, deviation] = await row(page, '10');
		assert.equal(value, '-0.1494');
		assert.equal(Number(deviation).toFixed(4), '0.0041');
		assert.equal(await page.locator('.left-chart circle').count(), 11);
		assert.equal((await row(page, '6.010'))[0], '-0.161');
		/* what is left at 3.003: -0.159 less (-0.1712 + 0.00218 * 3.003), 0.00565 by the rounded figures */
		assert.ok(Math.abs(Number((await row(page, '3.003'))[2]) - 0.00565) < 0.0001);

		/* a table that goes through zero by itself keeps its constant */
		await page.getByLabel('Points', {exact: true}).fill('1 2\n2 4\n3 6');
		await page.getByRole('button', {name: 'Work it out'}).click();
		await page.getByRole('rowheader', {name: '3', exact: true}).waitFor();
		assert.deepEqual([await row(page, 'a'), (await row(page, 'b'))[0]], [['0', '0'], '2.00000000000']);
		await page.getByLabel('through zero').check();
		await page.getByRole('button', {name: 'Work it out'}).click();
		await page.locator('.budget-figure').getByText('y = b\u00b7x', {exact: true}).waitFor();
		await page.getByLabel('through zero').uncheck();
		await page.getByLabel('Points', {exact: true}).fill(THERMOMETER);

		await page.reload();
		await page.locator('.budget-figure').waitFor();
		assert.equal(await page.getByLabel('And its value at').inputValue(), '10');
		await page.getByLabel('Curve', {exact: true}).selectOption('robust');
		await page.getByText('Changed since it was worked out.').waitFor();
		assert.ok(await page.getByLabel('through zero').isHidden());
		await page.getByRole('button', {name: 'Work it out'}).click();
		await page.getByText('pairs of points').waitFor();
	});
});

test('what cannot be fitted is said beside the field that it is about', async () => {
	await plant.visit({person: 'ruth', expect: /422/}, async page => {
		await open(page, '/curve');
		const points = page.getByLabel('Points', {exact: true}), fault = page.locator('[data-name="points"] .field-error');
		const work = async (/** @type {string} */ text, /** @type {string} */ sentence) => {
			await points.fill(text);
			await page.getByRole('button', {name: 'Work it out'}).click();
			await page.waitForFunction(wanted => document.querySelector('[data-name="points"] .field-error')?.textContent === wanted, sentence);
			assert.ok(await fault.isVisible());
		};
		await work('', 'Type or paste the points, one a line.');
		await work('1 2\n2 three', 'Line 2: three is no number.');
		await work('1 2\n1 3', 'There are too few different values of x for a polynomial of order 1.');
		await work('1 2\n2 3\n2000000000000 3', 'Number 3 of x: the number must be between -1e+12 and 1e+12.');
		await page.getByLabel('And its value at').fill('3 x');
		await points.fill('1 2\n2 3\n3 5');
		await page.getByRole('button', {name: 'Work it out'}).click();
		await page.locator('[data-name="at"] .field-error', {hasText: 'x is no number.'}).waitFor();
	});
});
