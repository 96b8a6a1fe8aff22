/* The lead's way to a test that can be run: the tag PT-9001, the standard PX-77, the procedure WB-3 and its plan. */
import {api, open} from './support.js';

/** @param {import('playwright-core').Page} page */
export async function addInstrument(page) {
	await open(page, '/instrument?new=1');
	await page.getByLabel('Tag', {exact: true}).fill('PT-9001');
	await page.getByRole('textbox', {name: 'Service'}).fill('Test bench pressure');
	await page.getByLabel('Area', {exact: true}).selectOption({label: 'a new area \u2026'});
	await page.getByLabel('Name of the new area').fill('Workshop');
	const input = page.getByRole('group', {name: 'Input: what goes in'});
	await input.getByLabel('Quantity').fill('pressure');
	await input.getByLabel('At 0 %').fill('0');
	await input.getByLabel('At 100 %').fill('6,5');
	await input.getByLabel('Unit').selectOption('bar');
	await page.getByRole('button', {name: 'Add the instrument'}).click();
	await page.waitForURL('**/instrument?id=*');
	await page.getByRole('heading', {level: 1, name: 'PT-9001'}).waitFor();
	/* half of 0 to 6.5 bar is 3.25 bar, half of 4 to 20 mA is 12 mA */
	await page.getByRole('img', {name: /3\.25\d* bar gives 12\.0+ mA/}).waitFor();
}

/** @param {import('playwright-core').Page} page */
export async function addStandard(page) {
	await open(page, '/standard?new=1');
	await page.getByLabel('Code').fill('PX-77');
	await page.getByLabel('Name', {exact: true}).fill('Pressure bench');
	await page.getByLabel('Quantity').fill('pressure');
	await page.getByLabel('Certificate number').fill('FCL-2026-7777');
	await page.getByLabel('Issued by').fill('Fellgate Calibration Laboratory (invented)');
	const today = (await api(page, '/session')).today, year = Number(today.slice(0, 4));
	await page.getByLabel('Calibrated on').fill(today.replace(/^\d+/, String(year - 1)).replace(/02-29$/, '02-28'));
	await page.getByLabel('Valid until').fill(`${year + 1}-12-31`);
	await page.getByLabel('Range from').fill('0');
	await page.getByLabel('to', {exact: true}).fill('10');
	await page.getByLabel('Unit').selectOption('bar');
	await page.getByLabel('Expanded uncertainty U').fill('0,0005');
	await page.getByLabel('Traceability').fill('To the SI through the laboratory.');
	await page.getByRole('button', {name: 'Add the standard'}).click();
	await page.getByRole('heading', {level: 1, name: 'PX-77'}).waitFor();
	await page.getByText('0 to 10 bar, U = 0.0005\u00a0bar (k\u00a0=\u00a02)').waitFor();
}

/** @param {import('playwright-core').Page} page */
export async function writeProcedure(page) {
	await open(page, '/procedure?new=1');
	await page.getByLabel('Code').fill('WB-3');
	await page.getByLabel('Title', {exact: true}).fill('Bench test, three points up and down');
	await page.getByLabel('What is needed for the input').fill('Pressure bench');
	await page.getByRole('button', {name: /^Add a line to Caution/}).click();
	await page.keyboard.type('Vent the line first.');
	await page.getByRole('button', {name: /^Add a line to Check/}).click();
	await page.keyboard.type('Is the hose tight?');
	await page.getByLabel(/^Points, in %/).fill('0 50 100');
	await page.getByLabel(/^Settling time/).fill('0');
	await page.getByLabel('As found: error either way').fill('0,25');
	await page.getByRole('button', {name: /^Add a term to As found/}).click();
	await page.keyboard.type('0,1');
	await page.getByLabel('temperature and the rest').check();

	await page.getByLabel('Try it on tag').fill('PT-9001');
	/* the same arithmetic as in the run: 12 mA ± 0.052 mA */
	await page.getByText('At 50 %: 11.948 to 12.052 mA').waitFor();
	await page.getByRole('button', {name: 'Save as a draft'}).click();
	await page.waitForURL('**/procedure?id=*');
	await page.getByRole('button', {name: 'Approve \u2026'}).waitFor();
}

/** @param {import('playwright-core').Page} page @param {{name: string, password: string}} by */
export async function approve(page, by) {
	await page.getByRole('button', {name: 'Approve \u2026'}).click();
	const dialog = page.getByRole('dialog');
	const hash = (await api(page, `/procedures/${new URL(page.url()).searchParams.get('id')}`)).draft.content_sha256;
	await dialog.getByText(`${hash.slice(0, 4)} ${hash.slice(4, 8)} \u2026 ${hash.slice(-4)}`).waitFor();
	await dialog.getByLabel('Your password').fill(by.password);
	await dialog.getByRole('button', {name: 'Approve'}).click();
	await page.getByText(`signed by ${by.name}`).waitFor();
	await page.getByText('\u00b10.25 % of span plus \u00b10.1 % of reading').waitFor();
}

/** @param {import('playwright-core').Page} page @param {string} by */
export async function planIt(page, by) {
	await open(page, '/instruments?q=PT-9001');
	await page.getByRole('link', {name: 'PT-9001'}).click();
	await page.getByRole('button', {name: 'Plan a test'}).click();
	await page.getByLabel('Procedure').selectOption({label: 'WB-3, Bench test, three points up and down'});
	await page.getByLabel('Every, months').fill('6');
	await page.getByLabel('By', {exact: true}).selectOption({label: by});
	await page.getByLabel('Why this interval').fill('New; half of what comparable tags have.');
	await page.getByRole('button', {name: 'Plan it'}).click();
	await page.getByText(`every 6 months, by ${by}`).waitFor();
	await page.getByText('due today').waitFor();
}
