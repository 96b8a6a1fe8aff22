/*
 * A serial port of the browser that leads to a simulated device: bytes go by a pseudo terminal to the device's own line, as by a modem.
 */
import {constants, openSync} from 'node:fs';
import {ReadStream, WriteStream} from 'node:tty';

/*
 * Web Serial with one port, behind which stands a modem: it transmits only while RTS is on, and gives back what we send. pull() is the
 * cable.
 */
const PORT = `(() => {
	class Port extends EventTarget {
		readable = null; writable = null; rts = false;
		async open(options) {
			const asked = [options.baudRate, options.dataBits, options.parity, options.stopBits].join(' ');
			if (asked !== '1200 8 odd 1')
				throw new DOMException('this modem knows 1200 8 odd 1, not ' + asked, 'NetworkError');
			this.readable = new ReadableStream({start: hears => { this.hears = hears; }});
			this.writable = new WritableStream({write: async chunk => {
				if (this.rts)
					await window.modemSends([...chunk]);
			}});
			await window.modemOpens();
		}
		async setSignals(signals) {
			this.rts = signals.requestToSend ?? this.rts;
		}
		async close() {
			this.readable = this.writable = null;
		}
		pull() {
			this.hears.error(new DOMException('The device has been lost.', 'NetworkError'));
			this.readable = this.writable = null;
			this.dispatchEvent(new Event('disconnect'));
		}
	}
	const port = new Port();
	window.modem = port;
	Object.defineProperty(navigator, 'serial', {value: {requestPort: async () => port}});
})()`;

/** The serial line of a simulated device. @param {string} line @param {(bytes: Buffer) => void} hear */
export function openLine(line, hear) {
	const fd = openSync(line, constants.O_RDWR | constants.O_NOCTTY | constants.O_NONBLOCK);
	const from = new ReadStream(fd), to = new WriteStream(fd);

	from.on('data', hear);
	return {
		/** @param {Buffer} bytes */
		write(bytes) { to.write(bytes); },
		close() {
			from.destroy();
			to.destroy();
		},
	};
}

/** A modem at this page, wired to a line. @param {import('playwright-core').Page} page @param {string} line */
export async function wireModem(page, line) {
	/** @type {(bytes: Buffer) => void} */
	const hear = bytes => { page.evaluate(list => /** @type {any} */ (window).modem.hears?.enqueue(new Uint8Array(list)), [...bytes]).catch(() => {}); };

	const wire = openLine(line, hear);
	await page.exposeFunction('modemOpens', () => {});
	await page.exposeFunction('modemSends', (/** @type {number[]} */ list) => {
		hear(Buffer.from(list));
		wire.write(Buffer.from(list));
	});
	await page.addInitScript(PORT);
	return {
		pull: () => page.evaluate(() => /** @type {any} */ (window).modem.pull()),
		close: wire.close,
	};
}
