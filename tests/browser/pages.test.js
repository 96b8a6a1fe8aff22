/* Every page, light and dark: no rule of accessibility broken, targets large enough, nothing on the console. */
import assert from 'node:assert/strict';
import {readFile} from 'node:fs/promises';
import {createRequire} from 'node:module';
import test from 'node:test';
import {openTest, prepare, prove} from './run.js';
import {api, open, startPlant} from './support.js';

const plant = startPlant();
const axe = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/** @typedef {import('playwright-core').Page} Page */

/** What axe finds, a line each. It is put in by the debugger, so the policy of the page stays on. @param {Page} page */
async function violations(page) {
	await page.evaluate(axe);
	const found = await page.evaluate(tags => /** @type {any} */ (globalThis).axe.run(document, {runOnly: tags}), RULES);

	return found.violations.flatMap((/** @type {any} */ rule) => rule.nodes.map((/** @type {any} */ node) => `${rule.id}: ${node.html.slice(0, 160)}`));
}

/**
 * What can be pressed and is lower than it should be, by where a press really lands: a row that is one large target counts as
 * one. Links within a sentence are free of it (WCAG 2.2, 2.5.8, inline).
 *
 * @param {Page} page @param {string} within @param {number} least px
 */
async function small(page, within, least) {
	return page.evaluate(([place, size]) => [...document.querySelectorAll(`${place} :is(button, select, input, summary, textarea)`)]
		.filter(element => element.checkVisibility({visibilityProperty: true}) && !element.closest('.visually-hidden') && !(/** @type {any} */ (element).disabled))
		.map(element => /** @type {Element} */ (element.matches('[type=checkbox], [type=radio]') ? element.closest('label') ?? element : element))
		.filter(element => element.getBoundingClientRect().height < Number(size))
		.flatMap(element => {
			element.scrollIntoView({block: 'center'});
			const box = element.getBoundingClientRect(), x = box.left + box.width / 2, y = box.top + box.height / 2;
			const hit = (/** @type {number} */ at) => element.contains(document.elementFromPoint(x, at));
			let top = y, bottom = y;
			while (hit(top - 1) && y - top < Number(size))
				top -= 1;
			while (hit(bottom + 1) && bottom - y < Number(size))
				bottom += 1;
			return bottom - top < Number(size) - 1 ? [`${element.outerHTML.slice(0, 120)} is ${bottom - top} px high`] : [];
		}), [within, least]);
}

/** Addresses of one of each kind, as this person finds them. @param {Page} page */
async function addresses(page) {
	const first = async (/** @type {string} */ path) => (await api(page, path)).items[0].id;
	const procedures = (await api(page, '/procedures')).items, draft = procedures.find((/** @type {any} */ procedure) => procedure.draft);

	return ['/due', '/due?within=366', '/instruments', '/instruments?q=no-such-tag', `/instrument?id=${await first('/instruments?q=FCV-2107')}`, `/instrument?id=${await first('/instruments?q=FT-1113')}&edit=1`, `/instrument?id=${await first('/instruments?q=PSH-4105')}&edit=1`, '/instrument?new=1',
		'/procedures', `/procedure?id=${procedures.find((/** @type {any} */ procedure) => !procedure.draft).id}`, `/procedure?id=${draft.id}`, '/procedure?new=1',
		'/tolerances', `/tolerance?id=${await first('/tolerance-rules')}`, '/tolerance?new=1', '/tolerance?class=iec60751_a_wire', '/tolerance?class=iec60584_s_1', '/uncertainty', '/curve', '/calculate', `/calculate?tag=${await first('/instruments?q=FT-1113')}`,
		'/standards', `/standard?id=${await first('/standards')}`, `/standard?id=${await first('/standards')}&edit=1`, '/standard?new=1', '/findings', '/findings?state=open',
		'/records', `/record?id=${await first('/test-records?state=certified')}`, `/record?id=${await first('/test-records?state=performed')}`, '/ledger', '/ledger?thing=instrument', '/people', '/settings', '/live', '/verify'];
}

for (const colorScheme of /** @type {const} */ (['light', 'dark'])) {
	test(`no page breaks a rule of accessibility, ${colorScheme}`, async () => {
		await plant.visit({person: 'ruth', context: {colorScheme}}, async page => {
			for (const address of await addresses(page)) {
				await open(page, address);
				assert.deepEqual(await violations(page), [], address);
				assert.deepEqual(await small(page, 'main', 44), [], address);
			}
		});
		await plant.visit({person: 'sam', context: {colorScheme}}, async page => {
			const people = (await api(page, '/people')).items;
			for (const address of ['/people', `/person?id=${people[0].id}`, '/person?new=1', '/settings']) {
				await open(page, address);
				assert.deepEqual(await violations(page), [], address);
				assert.deepEqual(await small(page, 'main', 44), [], address);
			}
		});
		await plant.visit({context: {colorScheme}}, async page => {
			await open(page, '/signin');
			assert.deepEqual(await violations(page), [], '/signin');
		});
		await plant.visit({person: 'nell', context: {colorScheme}}, async page => {
			for (const address of ['/due', '/instruments', '/findings', '/settings']) {
				await open(page, address);
				assert.deepEqual(await violations(page), [], `${address} for the auditor`);
			}
		});
	});

	test(`the run page keeps its rules in every phase, ${colorScheme}`, async () => {
		await plant.visit({person: 'ida', context: {colorScheme}}, async page => {
			await openTest(page, colorScheme === 'light' ? 'FCV-2107' : 'FT-2108');
			const phase = async (/** @type {string} */ name) => {
				assert.deepEqual(await violations(page), [], name);
				assert.deepEqual(await small(page, '.run-phase', 44), [], name);
				/* gloves: what is pressed over and over is 56 px high */
				assert.deepEqual(await small(page, '.run-phase :is(.caution, .answers, .entry-actions, .entry-form .number-field)', 56), [], name);
			};
			await phase('prepare');
			await prepare(page);
			await phase('prove');
			await prove(page);
			await page.getByLabel(/^Reading, /).waitFor();
			await phase('as found');
		});
	});
}

test('the rules are really asked: seeded faults are found', async () => {
	await plant.visit({person: 'nell'}, async page => {
		await open(page, '/standards');
		await page.evaluate(() => {
			const input = document.createElement('input'), button = document.createElement('button'), image = document.createElement('img');
			image.src = '/icons/book.svg';
			button.style.minHeight = '0';
			button.style.height = '43px';
			document.querySelector('main')?.prepend(input, button, image);
		});
		const found = (await violations(page)).map(line => line.split(':')[0]);
		for (const rule of ['label', 'button-name', 'image-alt'])
			assert.ok(found.includes(rule), `${rule} is found`);
		assert.match((await small(page, 'main', 44)).join(), /^<button style="[^"]*"><\/button> is 4[12] px high$/);
	});
});

test('a page that breaks the policy is noticed', async () => {
	await assert.rejects(plant.visit({person: 'nell'}, async page => {
		await open(page, '/people');
		await page.evaluate(() => {
			const script = document.createElement('script');
			script.textContent = 'document.title = "broken in";';
			document.head.append(script);
		});
		assert.equal(await page.title(), 'People \u00b7 Loopledger');
	}), /console stays empty/);
});

test('no page is wider than a phone, a tablet or a desk', async () => {
	for (const width of [360, 800, 1280])
		await plant.visit({person: 'ruth', context: {viewport: {width, height: 800}}}, async page => {
			for (const address of await addresses(page)) {
				await open(page, address);
				assert.equal(await page.evaluate(() => Math.max(0, document.documentElement.scrollWidth - innerWidth)), 0, `${address} at ${width} px`);
			}
		});
});

/** What is wider than its place: a table to be pushed sideways (those of origins are folded away and wide by nature), words that a field or a button cuts off, a name of a page broken inside a tag. @param {Page} page */
async function cut(page) {
	return page.evaluate(() => {
		const wide = (/** @type {string} */ selector) => [...document.querySelectorAll(selector)].filter(element => element.checkVisibility() && element.scrollWidth > element.clientWidth + 1);
		const tags = [...document.querySelectorAll('h1')].flatMap(title => {
			const walk = document.createTreeWalker(title, NodeFilter.SHOW_TEXT), broken = [];
			for (let node = walk.nextNode(); node; node = walk.nextNode()) {
				for (const word of (node.textContent ?? '').matchAll(/\S+-\S+/g)) {
					const range = document.createRange();
					range.setStart(node, word.index);
					range.setEnd(node, word.index + word[0].length);
					if (new Set([...range.getClientRects()].map(box => box.top)).size > 1)
						broken.push(`${word[0]} is broken`);
				}
			}
			return broken;
		});

		return [...wide(':not(.origin) > .table-frame').map(frame => `a table is ${frame.scrollWidth} px wide in ${frame.clientWidth}`),
			...wide('main :is(button, input:not([type=checkbox], [type=radio], [type=hidden]))').map(element => `${element.outerHTML.slice(0, 120)} is cut off`), ...tags];
	});
}

test('nothing is cut off on a phone or a tablet', async () => {
	for (const width of [360, 800])
		await plant.visit({person: 'ruth', context: {viewport: {width, height: 800}}}, async page => {
			for (const address of await addresses(page)) {
				await open(page, address);
				assert.deepEqual(await cut(page), [], `${address} at ${width} px`);
			}
		});
});

/** A tag of 40 characters and words as German makes them, planned for today. @param {Page} page */
async function longest(page) {
	const post = async (/** @type {string} */ path, /** @type {any} */ data) => {
		const answer = await page.request.post(`/api/v1${path}`, {data, headers: {Origin: plant.address}});
		assert.equal(answer.status(), 201, await answer.text());
		return answer.json();
	};
	const like = (await api(page, `/instruments/${(await api(page, '/instruments?q=PT-2109')).items[0].id}`)), procedure = (await api(page, '/procedures?q=PT-5')).items[0];
	const made = await post('/instruments', {
		tag: '20-FDT-ROHWASSERSPEICHER-4711-REDUNDANT9', service: 'Durchflussmengenmessumformer Rohwasserspeicherentlastungsleitung Nordostseite', kind: like.kind, area_id: like.area_id, location: null, maker: null, model: null, serial: null,
		input: like.input, output: like.output, characteristic: like.characteristic, loop: null, switch: null, hazards: ['Rohwasserspeicherentlastungsleitungsverschraubung ist sehr heiß.'], status: 'in_service',
	});
	const schedule = await post('/schedules', {instrument_id: made.id, procedure_id: procedure.id, interval_months: 6, due_on: (await api(page, '/session')).today, assigned_to: null, evidence: null});
	return {instrument: made.id, record: (await post('/test-records', {schedule_id: schedule.id})).id};
}

test('the longest tag and the longest words stay within a phone and a desk', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		const {instrument, record} = await longest(page);

		for (const width of [360, 1280]) {
			await page.setViewportSize({width, height: 800});
			for (const address of [`/instrument?id=${instrument}`, `/instrument?id=${instrument}&edit=1`, '/instruments?q=ROHWASSER', '/due', '/records?q=ROHWASSER', `/run?id=${record}#prepare`, `/run?id=${record}#prove`, `/record?id=${record}`, '/ledger?thing=instrument']) {
				await open(page, address);
				assert.equal(await page.evaluate(() => Math.max(0, document.documentElement.scrollWidth - innerWidth)), 0, `${address} at ${width} px`);
			}
		}
	});
});

test('a day stands in words on every page, also in what is folded away', async () => {
	await plant.visit({person: 'ruth'}, async page => {
		for (const address of [...await addresses(page), '/ledger?thing=schedule', '/ledger?thing=standard_calibration', '/ledger?thing=test_record']) {
			await open(page, address);
			const written = await page.evaluate(() => {
				for (const details of document.querySelectorAll('details'))
					details.open = true;
				return document.body.innerText.match(/.{0,40}(?<![\w-])\d{4}-\d\d-\d\d(?![\w-]).{0,20}/g) ?? [];
			});
			assert.deepEqual(written, [], address);
		}
	});
});
