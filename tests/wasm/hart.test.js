/*
 * A HART master in the browser: it asks as other masters do, finds the answers that others have captured, and hears what the native
 * build of the same sources hears (hart_cases.c), on any line.
 *
 * HART_WASM: the module; HART_CASES: the native build; EXCHANGES and SEED choose the lines.
 */
import assert from 'node:assert/strict';
import {spawn} from 'node:child_process';
import {once} from 'node:events';
import {readFileSync} from 'node:fs';
import {createInterface} from 'node:readline';
import test from 'node:test';
import {loadHart} from '../../static/js/lib/hart.js';

const {HART_CASES = '', HART_WASM = '', EXCHANGES = '50000', SEED = '20261125'} = process.env;
const module = readFileSync(HART_WASM);
const bytesOf = hex => Uint8Array.from(hex === '-' ? [] : hex.match(/../g).map(two => parseInt(two, 16)));
const hexOf = bytes => Buffer.from(bytes).toString('hex');

/* Each row names its source: frames of other implementations and captures. */
const vectors = JSON.parse(readFileSync(new URL('../data/field/hart_serial.json', import.meta.url), 'utf8'));
const rows = (vectors.vectors ?? vectors).map(row => ({...row, frame: row.hex.replace(/^(?:ff10|ffff10)?(?:ff)*/, '')}));

/** How a device of this address answers command 0: 254, type, 5 preambles, revision 5, …, number (from memory, as the captured ones). */
function sayWho(type, id, poll) {
	const said = [0x06, 0x80 | poll, 0, 14, 0, 0, 254, type >> 8, type & 0xff, 5, 5, 1, 1, 8, 0, ...bytesOf(id)];

	return Uint8Array.from([0xff, 0xff, ...said, said.reduce((sum, byte) => sum ^ byte, 0)]);
}

/** A master that knows the device that a row is about. @param {any} row */
async function masterFor({decoded}) {
	const hart = await loadHart(module);

	hart.begin(decoded.poll_address ?? 0);
	if (decoded.long) {
		hart.request(0);
		assert.ok(hart.take(sayWho(decoded.expanded_device_type, decoded.device_id, 0)));
		assert.ok(hart.learn());
	}
	return hart;
}

test('it asks as other masters ask', async () => {
	const requests = rows.filter(row => row.decoded.frame_type === 'STX');

	assert.ok(requests.length >= 12);
	for (const row of requests)
		assert.equal(hexOf((await masterFor(row)).request(row.decoded.command)), `ffffffffff${row.frame}`, row.source);
});

for (const [name, lot] of [['in one lot', 1000], ['byte by byte', 1]])
	test(`it finds captured answers ${name}, and none with a wrong sum`, async () => {
		const answers = rows.filter(row => row.decoded.frame_type === 'ACK');
		let wrong = 0;

		assert.ok(answers.length >= 12);
		for (const row of answers) {
			const hart = await masterFor(row), line = bytesOf(/^ff/.test(row.hex) ? row.hex : `ffff${row.hex}`);
			let found = null;

			hart.request(row.decoded.command);
			for (let at = 0; at < line.length && !found; at += lot)
				found = hart.take(line.subarray(at, at + lot));
			if (row.decoded.checksum_ok) {
				assert.equal(found && hexOf(found.bytes), row.frame, row.hex);
				assert.equal(found?.code, row.decoded.response_code);
			} else {
				wrong++;
				assert.equal(found ?? hart.ended(), null, row.hex);
			}
		}
		assert.ok(wrong >= 1);
	});

test('it never makes a command that does more than read', async () => {
	const hart = await loadHart(module), made = [];

	hart.begin(0);
	for (let command = 0; command < 256; command++) {
		try {
			hart.request(command);
			made.push(command);
		} catch (error) {
			assert.match(String(error), /only reads/);
		}
	}
	assert.deepEqual(made, [0, 1, 2, 3, 7, 8, 9, 12, 13, 14, 15, 16, 20, 48]);
});

test('native and WebAssembly hear the same on any line', async t => {
	const hart = await loadHart(module), child = spawn(HART_CASES, [EXCHANGES, SEED], {stdio: ['ignore', 'pipe', 'inherit']}), ended = once(child, 'exit');
	const counts = {begin: 0, request: 0, take: 0, ended: 0, learn: 0, answers: 0, learned: 0};
	const said = answer => answer ? `${hexOf(answer.bytes)} ${answer.code}` : '- 0';
	const deeds = {
		begin: poll => { hart.begin(Number(poll)); },
		request(command, data) {
			try {
				return hexOf(hart.request(Number(command), [...bytesOf(data)]));
			} catch {
				return '-';
			}
		},
		take: bytes => said(hart.take(bytesOf(bytes))),
		ended: () => said(hart.ended()),
		learn: () => `${Number(hart.learn())} ${hart.universal()}`,
	};

	for await (const line of createInterface({input: child.stdout})) {
		const [deed, native] = line.split(' = '), [name, ...given] = deed.split(' '), ours = deeds[name](...given);

		counts[name]++;
		if (native === undefined)
			continue;
		assert.equal(ours, native, deed);
		counts.answers += Number(name !== 'learn' && name !== 'request' && native !== '- 0');
		counts.learned += Number(name === 'learn' && native.startsWith('1'));
	}
	assert.deepEqual(await ended, [0, null]);
	t.diagnostic(Object.entries(counts).map(([name, n]) => `${name} ${n}`).join(', '));
	for (const [name, n] of Object.entries(counts))
		assert.ok(n > Number(EXCHANGES) / 100, `${name}: ${n}`);
});

test('the module is under 5 kB', () => {
	assert.ok(module.length < 5000);
});
