/*
 * What the journeys stand on: the real server with the demo plant, one browser, and a context of its own for each test.
 *
 *   const plant = startPlant();                       before and after hooks of the file
 *   test('…', async () => {
 *   	await plant.visit({person: 'ida'}, async page => { … });
 *   });
 *
 * visit() fails when the page logs an error or breaks the content security policy, unless it was told to expect it.
 * Nothing here sleeps: everything waits for something to be true.
 */
import assert from 'node:assert/strict';
import {spawn} from 'node:child_process';
import {once} from 'node:events';
import {mkdtemp, rm} from 'node:fs/promises';
import {tmpdir} from 'node:os';
import {join} from 'node:path';
import {after, before} from 'node:test';
import {chromium} from 'playwright-core';

const PROGRAM = process.env.LOOPLEDGER_BIN ?? '';
const BROWSER = process.env.CHROMIUM_BIN ?? '/usr/bin/chromium';
const QUIET = ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'];

const PATIENCE = Number(process.env.PATIENCE_MS ?? 20000);	/* how long something may take to become true */

export const PASSWORD = 'brackenholm-demo';	/* of everybody in the demo plant, as the program prints it */

/** Starts the program on a folder and waits until it says where it listens. @param {string} folder @param {boolean} demo @param {number} [port] 0 for a free one */
async function serve(folder, demo, port = 0) {
	const child = spawn(PROGRAM, ['serve', ...(demo ? ['--demo'] : []), '--data', folder, '--port', String(port)], {stdio: ['ignore', 'pipe', 'pipe']});
	let said = '';

	const address = await new Promise((resolve, reject) => {
		const listen = (/** @type {Buffer} */ chunk) => {
			said += chunk;
			const found = /http:\/\/[^\s/]+:\d+/.exec(said);
			if (found)
				resolve(found[0]);
		};
		child.stdout.on('data', listen);
		child.stderr.on('data', listen);
		child.on('error', reject);
		child.on('exit', code => reject(new Error(`the server ended with ${code}: ${said}`)));
	});
	return {
		address,
		port: Number(new URL(address).port),
		async stop() {
			if (child.exitCode !== null)
				return;
			const ended = once(child, 'exit');
			child.kill('SIGTERM');
			await ended;
		},
	};
}

/** A plant and a browser for a file of tests. @param {{demo?: boolean}} [what] an empty plant when demo is false */
export function startPlant({demo = true} = {}) {
	const plant = {
		/** @type {Awaited<ReturnType<typeof serve>>} */ server: /** @type {any} */ (null),
		/** @type {import('playwright-core').Browser} */ browser: /** @type {any} */ (null),
		folder: '',
		get address() { return plant.server.address; },
		/** Away and back again, on the same port and the same folder. */
		async restart() {
			plant.server = await serve(plant.folder, demo, plant.server.port);
		},
		/**
		 * A fresh context; signed in when a person is named.
		 *
		 * @param {{person?: string, expect?: RegExp, context?: import('playwright-core').BrowserContextOptions}} how expect: errors of the console that belong to the test
		 * @param {(page: import('playwright-core').Page, context: import('playwright-core').BrowserContext) => Promise<void>} run
		 */
		async visit({person, expect, context: options}, run) {
			const context = await plant.browser.newContext({baseURL: plant.address, locale: 'en-GB', timezoneId: 'Europe/London', viewport: {width: 1280, height: 900}, ...options});
			const page = await context.newPage(), said = watch(page);
			context.setDefaultTimeout(PATIENCE);
			try {
				if (person)
					await signIn(page, person);
				await run(page, context);
				assert.deepEqual(said.filter(text => !expect?.test(text)), [], 'the console stays empty');
			} finally {
				await context.close();
			}
		},
	};

	before(async () => {
		assert.ok(PROGRAM, 'LOOPLEDGER_BIN names the program under test');
		plant.folder = await mkdtemp(join(tmpdir(), 'loopledger-'));
		plant.server = await serve(plant.folder, demo);
		plant.browser = await chromium.launch({executablePath: BROWSER, args: QUIET});
	});
	after(async () => {
		await plant.browser?.close();
		await plant.server?.stop();
		await rm(plant.folder, {recursive: true, force: true});
	});
	return plant;
}

/** Everything the page complains about: errors, warnings of the policy, exceptions. @param {import('playwright-core').Page} page */
export function watch(page) {
	/** @type {string[]} */
	const said = [];

	page.on('console', message => message.type() === 'error' && said.push(message.text()));
	page.on('pageerror', error => said.push(String(error)));
	return said;
}

/** @param {import('playwright-core').Page} page @param {string} person the sign-in name @param {string} [password] */
export async function signIn(page, person, password = PASSWORD) {
	await page.goto('/signin');
	await page.getByLabel('Sign-in name').fill(person);
	await page.getByLabel('Password').fill(password);
	await page.getByRole('button', {name: 'Sign in', exact: true}).click();
	await page.waitForURL('**/due');
	await settled(page);
}

/** The page has what it asked the server for. @param {import('playwright-core').Page} page */
export async function settled(page) {
	await page.locator('main .progress').waitFor({state: 'detached'});
}

/** @param {import('playwright-core').Page} page @param {string} path */
export async function open(page, path) {
	await page.goto(path);
	await settled(page);
}

/** What the signed-in page's own session gets from the API. @param {import('playwright-core').Page} page @param {string} path @returns {Promise<any>} */
export async function api(page, path) {
	const answer = await page.request.get(`/api/v1${path}`);

	assert.equal(answer.status(), 200, path);
	return answer.json();
}

/** Waits until a question about the page is answered by what is expected. @param {() => Promise<any>} ask @param {any} expected */
export async function becomes(ask, expected) {
	const until = Date.now() + PATIENCE;
	let last;

	do {
		last = await ask();
		if (last === expected)
			return;
		await new Promise(resolve => setImmediate(resolve));
	} while (Date.now() < until);
	assert.equal(last, expected);
}
