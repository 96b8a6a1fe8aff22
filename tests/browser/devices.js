/*
 * The simulated devices of the demo plant, twenty times as fast as a plant, on free ports.
 *
 *   const ports = startDevices();        before and after hooks of the file; by tag, HART-IP over UDP and SCPI, once it runs
 *   const lines = new Map();             startDevices(lines): also serial lines with HART, by tag
 */
import assert from 'node:assert/strict';
import {spawn} from 'node:child_process';
import {after, before} from 'node:test';
import {api} from './support.js';

/** @param {Map<string, string>} [lines] filled, too @returns {Map<string, number>} */
export function startDevices(lines = new Map()) {
	/** @type {import('node:child_process').ChildProcess} */ let devices;
	/** @type {Map<string, number>} */ const ports = new Map();

	before(async () => {
		devices = spawn(process.env.LOOPLEDGER_BIN ?? '', ['field', 'simulate', '--port-base', '0', '--speed', '20'], {stdio: ['ignore', 'pipe', 'inherit']});
		let said = '';

		await new Promise((resolve, reject) => {
			devices.stdout?.on('data', chunk => {
				said += chunk;
				if (said.includes('Ctrl-C'))
					resolve(null);
			});
			devices.on('exit', code => reject(new Error(`the simulation ended with ${code}`)));
		});
		for (const [, tag, protocol, port] of said.matchAll(/^(\S+) .*field read (\S+) 127\.0\.0\.1:(\d+)/gm))
			if (protocol !== 'hart-tcp')
				ports.set(tag, Number(port));
		for (const [, tag, line] of said.matchAll(/^(\S+) .*field read hart-serial (\/dev\/\S+)/gm))
			lines.set(tag, line);
	});
	after(() => { devices?.kill('SIGTERM'); });
	return ports;
}

/** Sends as the person of the page, with the session's token. @param {import('playwright-core').Page} page */
export async function sender(page) {
	const {token} = await api(page, '/session');

	return async (/** @type {string} */ method, /** @type {string} */ path, /** @type {any} */ data, /** @type {any} */ headers = {}) => {
		const answer = await page.request.fetch(`/api/v1${path}`, {method, data, headers: {'X-Session-Token': token, ...headers}});
		assert.ok(answer.ok(), `${method} ${path}: ${answer.status()} ${await answer.text()}`);
		return answer.status() === 204 ? null : answer.json();
	};
}
