/*
 * The conversation over a modem, with a simulated device at the other end of a pseudo terminal (`loopledger field simulate`) and a
 * port between that does to the bytes what modems and lines do.
 */
import assert from 'node:assert/strict';
import {readFileSync} from 'node:fs';
import {dirname, join} from 'node:path';
import {test} from 'node:test';
import {loadHart} from '../../../static/js/lib/hart.js';
import {NoAnswer, openModem, Refused, Unplugged} from '../../../static/js/lib/modem.js';
import {startDevices} from '../devices.js';
import {openLine} from '../serial.js';

/** @type {Map<string, string>} */ const lines = new Map();
const module = readFileSync(process.env.HART_WASM ?? join(dirname(process.env.LOOPLEDGER_BIN ?? ''), 'field/wasm/hart.wasm'));

startDevices(lines);

/** A port at a device's line. away: what becomes of the bytes that come in. @param {(bytes: Buffer, asked: number) => Buffer[]} [away] */
function portTo(tag, away = bytes => [bytes]) {
	const port = Object.assign(new EventTarget(), {
		readable: null, writable: null, opened: null, rts: false, asked: 0,
		async open(options) {
			port.opened = options;
			port.line = openLine(lines.get(tag) ?? '', bytes => away(bytes, port.asked).forEach(part => port.hears?.enqueue(new Uint8Array(part))));
			port.renew();
			port.writable = new WritableStream({write(chunk) {
				assert.ok(port.rts, 'the transmitter is on while we send');
				port.asked++;
				port.line.write(Buffer.from(chunk));
			}});
		},
		renew() {
			port.readable = new ReadableStream({start: hears => { port.hears = hears; }});
		},
		async setSignals(signals) {
			port.rts = signals.requestToSend ?? port.rts;
		},
		async close() {
			port.line.close();
		},
	});
	return /** @type {any} */ (port);
}

/** @param {any} port @param {(modem: any, hart: any) => Promise<void>} run */
async function talk(port, run) {
	const hart = await loadHart(module), modem = await openModem(port, hart);

	hart.begin(0);
	try {
		await run(modem, hart);
	} finally {
		await modem.close();
	}
}

const hex = answer => Buffer.from(answer.bytes).toString('hex');

/* FCV-2107 is f9e0-021070: by long address 39e0 with bit 7 for the primary master, b9e0. */
test('a device is asked who it is, and then by its own address', async () => {
	const port = portTo('FCV-2107');

	await talk(port, async (modem, hart) => {
		const first = await modem.ask(0);

		assert.match(hex(first), /^0680/);
		assert.equal(first.code, 0);
		assert.ok(hart.learn());
		assert.equal(hart.universal(), 7);
		assert.match(hex(await modem.ask(20)), /^86b9e0021070142200..4643562d32313037/);	/* its tag in Latin-1 */
		assert.match(hex(await modem.ask(9, [246])), /^86b9e002107009/);
	});
	assert.deepEqual([port.opened.baudRate, port.opened.dataBits, port.opened.parity, port.opened.stopBits], [1200, 8, 'odd', 1]);
});

test('noise, bursts, another master and single bytes do not disturb it', async () => {
	const noise = Buffer.from('ff10ffff0613aaffff55', 'hex');
	/* another master's exchange with another device, captured */
	const others = Buffer.from('ffffff82264e0000d2010039ffffff86264e0000d2010700d0fb0000000011', 'hex');

	await talk(portTo('PT-4101', bytes => [noise, others, ...[...bytes].map(byte => Buffer.from([byte])), noise]), async (modem, hart) => {
		await modem.ask(0);
		assert.ok(hart.learn());
		assert.match(hex(await modem.ask(1)), /^86b9e0041010010700/);
	});
});

test('a damaged answer is asked for again, three times at most', async () => {
	const damaged = bytes => {
		const bad = Buffer.from(bytes);
		bad[bad.length - 3] ^= 4;
		return bad;
	};
	const twice = portTo('PT-4101', (bytes, asked) => [asked < 3 ? damaged(bytes) : bytes]), always = portTo('PT-4101', bytes => [damaged(bytes)]);

	await talk(twice, async modem => {
		assert.match(hex(await modem.ask(0)), /^0680/);
		assert.equal(twice.asked, 3);
	});
	await talk(always, async modem => {
		await assert.rejects(modem.ask(0), NoAnswer);
		assert.equal(always.asked, 3);
	});
});

test('what the device refuses is said with its code', async () => {
	await talk(portTo('PT-4101'), async (modem, hart) => {
		await modem.ask(0);
		hart.learn();
		await assert.rejects(modem.ask(9), error => error instanceof Refused && error.code === 5);	/* too few bytes: which variables is not said */
	});
});

test('exchanges go one after the other, whoever asks', async () => {
	await talk(portTo('PT-4101'), async (modem, hart) => {
		await modem.ask(0);
		hart.learn();
		const answers = await Promise.all([modem.ask(1), modem.ask(2), modem.ask(3)]);
		assert.deepEqual(answers.map(answer => answer.bytes[6]), [1, 2, 3]);
	});
});

test('a byte with wrong parity costs one stream and not the conversation', async () => {
	const port = portTo('PT-4101', (bytes, asked) => {
		if (asked > 1)
			return [bytes];
		const broken = port.hears;
		port.renew();
		broken.error(new DOMException('parity', 'ParityError'));
		return [];
	});

	await talk(port, async modem => {
		assert.match(hex(await modem.ask(0)), /^0680/);
		assert.equal(port.asked, 2);
	});
});

test('a pulled cable ends what is asked, at once and for good', async () => {
	const port = portTo('PT-4101', () => []);
	let gone = 0;
	const hart = await loadHart(module), modem = await openModem(port, hart, () => { gone++; });

	hart.begin(0);
	const asked = modem.ask(0);
	port.hears.error(new DOMException('The device has been lost.', 'NetworkError'));
	port.readable = port.writable = null;
	port.dispatchEvent(new Event('disconnect'));
	await assert.rejects(asked, Unplugged);
	await assert.rejects(modem.ask(0), Unplugged);
	assert.equal(gone, 1);
	assert.equal(modem.open, false);
	await modem.close();
});
