/*
 * A HART modem at a serial port of this browser (Web Serial): 1200 baud, 8 data bits, odd parity, 1 stop bit, half duplex. RTS is on
 * while we send: many modems switch their transmitter by it. Only commands that read are sent.
 *
 *   const modem = await openModem(port, await loadHart());
 *   const answer = await modem.ask(3);      three tries; NoAnswer when all fail, Unplugged when the cable is pulled
 *   await modem.close();
 */

const BAUD = 1200, BITS = 11, TRIES = 3;
const ADAPTER_MS = 4;	/* less than a character: what USB takes before the first bit leaves */
/* A device begins its answer within 28 characters (from memory); the rest is what USB adds. Adapters hand bytes over in lots, so that
 * a gap says little: the line counts as quiet after some characters' time. */
const ANSWER_MS = 28 * BITS * 1000 / BAUD + 100, GAP_MS = 100;
/* No frame takes longer: 20 preambles and 267 bytes. */
const LONGEST_MS = (20 + 267) * BITS * 1000 / BAUD + ANSWER_MS;
const WARNINGS = [8, 14, 30];	/* response codes with which the data are there all the same (from memory) */

/** The device did not answer, or the modem does not bring its answer. */
export class NoAnswer extends Error {
	constructor() {
		super('the device does not answer');
		this.name = 'NoAnswer';
	}
}

/** The modem is gone: the cable was pulled, or the port closed. */
export class Unplugged extends Error {
	constructor() {
		super('the modem is no longer there');
		this.name = 'Unplugged';
	}
}

/** The device refuses a command. */
export class Refused extends Error {
	/** @param {number} command @param {number} code */
	constructor(command, code) {
		super(`the device refuses command ${command} (${code})`);
		this.name = 'Refused';
		this.code = code;
	}
}

/** @typedef {{readable: ReadableStream<Uint8Array>|null, writable: WritableStream<Uint8Array>|null, open: (options: object) => Promise<void>, close: () => Promise<void>,
 *   setSignals: (signals: object) => Promise<void>, addEventListener: (type: string, listener: () => void) => void}} Port */
/** @typedef {{bytes: Uint8Array<ArrayBuffer>, code: number, at: number}} Answer at: performance.now() when it was whole */
/** @typedef {Awaited<ReturnType<typeof openModem>>} Modem */

/** @param {number} ms @returns {Promise<void>} */
const pause = ms => new Promise(resolve => setTimeout(resolve, Math.max(0, ms)));

/**
 * @param {Port} port @param {import('./hart.js').Hart} hart @param {() => void} [gone] the cable was pulled
 */
export async function openModem(port, hart, gone = () => {}) {
	let open = true;
	/** Whoever waits for bytes. @type {(bytes: Uint8Array|null) => void} */
	let hear = () => {};
	/** @type {ReadableStreamDefaultReader<Uint8Array>|null} */
	let reader = null;
	/** One exchange at a time. @type {Promise<any>} */
	let last = Promise.resolve();

	await port.open({baudRate: BAUD, dataBits: 8, parity: 'odd', stopBits: 1, bufferSize: 1024});
	/* some modems live on what DTR gives (from memory) */
	await port.setSignals({dataTerminalReady: true, requestToSend: false}).catch(unplugged);
	port.addEventListener('disconnect', unplugged);
	const listening = listen();

	function unplugged() {
		if (!open)
			return;
		open = false;
		hear(null);
		gone();
	}

	/* A byte with wrong parity ends the stream, and the port gives another one; after the cable it gives none. */
	async function listen() {
		for (let stream = null; open && port.readable && port.readable !== stream;) {
			stream = port.readable;
			reader = stream.getReader();
			try {
				for (let {value, done} = await reader.read(); !done; {value, done} = await reader.read())
					if (value)
						hear(value);
			} catch {
				/* the next stream, if there is one */
			} finally {
				reader.releaseLock();
			}
		}
		unplugged();
	}

	/* The transmitter is on until the last bit has left: when a write is done, only the adapter has the bytes. */
	/** @param {Uint8Array<ArrayBuffer>} bytes */
	async function send(bytes) {
		const writer = port.writable?.getWriter();

		if (!writer)
			throw new Unplugged();
		try {
			await port.setSignals({requestToSend: true});
			const begun = performance.now();
			await writer.write(bytes);
			await pause(begun + bytes.length * BITS * 1000 / BAUD + ADAPTER_MS - performance.now());
			await port.setSignals({requestToSend: false});
		} catch {
			throw new Unplugged();
		} finally {
			writer.releaseLock();
		}
	}

	/** The answer, or null when the line is quiet. @returns {Promise<import('./hart.js').Answer|null>} */
	function answer() {
		const asked = performance.now();
		let timer = 0;

		return new Promise(resolve => {
			/** @param {import('./hart.js').Answer|null} found */
			const done = found => {
				clearTimeout(timer);
				hear = () => {};
				resolve(found);
			};
			/** @param {number} time */
			const quietAt = time => {
				clearTimeout(timer);
				timer = /** @type {any} */ (setTimeout(() => done(hart.ended()), Math.min(time, asked + LONGEST_MS) - performance.now()));
			};

			hear = bytes => {
				const found = bytes && hart.take(bytes);

				if (found || !bytes)
					done(found);
				else
					quietAt(Math.max(asked + ANSWER_MS, performance.now() + GAP_MS));
			};
			quietAt(asked + ANSWER_MS);
		});
	}

	/* Our own bytes may come back while we send, and a quick device answers before RTS is off. */
	/** @param {Uint8Array<ArrayBuffer>} request @returns {Promise<import('./hart.js').Answer|null>} */
	async function once(request) {
		/** @type {import('./hart.js').Answer|null} */
		let early = null;

		hear = bytes => { early ??= bytes && hart.take(bytes); };
		await send(request);
		return early ?? answer();
	}

	/** @param {number} command @param {number[]} [data] @returns {Promise<Answer>} */
	async function exchange(command, data) {
		for (let i = 0; i < TRIES && open; i++) {
			const found = await once(hart.request(command, data));

			if (!found || found.code & 0x80)
				continue;
			if (found.code && !WARNINGS.includes(found.code))
				throw new Refused(command, found.code);
			return {...found, at: performance.now()};
		}
		throw open ? new NoAnswer() : new Unplugged();
	}

	return {
		get open() { return open; },
		/** @param {number} command @param {number[]} [data] @returns {Promise<Answer>} */
		ask(command, data) {
			const asked = last.then(() => exchange(command, data));

			last = asked.catch(() => {});
			return asked;
		},
		async close() {
			open = false;
			hear(null);
			await last;
			await reader?.cancel().catch(() => {});
			await listening;
			await port.close().catch(() => {});
		},
	};
}
