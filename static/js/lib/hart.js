/*
 * HART as a master speaks it, by the server's own code: hart.wasm is compiled from the sources that ask devices on the server
 * (server/field/wasm/modem.h). One module has one modem.
 *
 *   const hart = await loadHart();
 *   hart.begin(0);
 *   const bytes = hart.request(0);          to be sent
 *   const answer = hart.take(received);     {bytes, code} once the answer is whole, null before
 */

const VERSION = 1;
const LOT = 64;	/* bytes at a time: what comes in is looked at before there is too much of it */

/** @typedef {{bytes: Uint8Array<ArrayBuffer>, code: number}} Answer bytes: from delimiter to checksum; code: bit 7 set, the request arrived damaged */
/** @typedef {ReturnType<typeof hartOf>} Hart */

/**
 * @param {Promise<Response>|BufferSource} [source] the module
 * @returns {Promise<Hart>}
 */
export async function loadHart(source = fetch('/hart.wasm')) {
	const {instance} = source instanceof Promise ? await WebAssembly.instantiateStreaming(source) : await WebAssembly.instantiate(source);
	const exported = /** @type {any} */ (instance.exports);

	if (exported.modem_version() !== VERSION)
		throw new Error(`hart.wasm is of version ${exported.modem_version()}, these pages are written for ${VERSION}`);
	return hartOf(exported);
}

/** @param {any} exported */
function hartOf(exported) {
	const buffer = () => new Uint8Array(exported.memory.buffer, exported.modem_buffer(), 512);

	/** @param {boolean} ended @returns {Answer|null} */
	function answer(ended) {
		const size = exported.modem_answer(ended);

		return size ? {bytes: buffer().slice(0, size), code: exported.modem_code()} : null;
	}
	return {
		/** Another device, or this one anew. @param {number} poll its address, 0 to 63 */
		begin(poll) {
			exported.modem_begin(poll);
		},
		/** What asks the device, preambles and all. Only commands that read are ever made. @param {number} command @param {number[]} [data] @returns {Uint8Array<ArrayBuffer>} */
		request(command, data = []) {
			buffer().set(data);
			const size = exported.modem_request(command, data.length);
			if (!size)
				throw new RangeError(`command ${command} is not one that only reads`);
			return buffer().slice(0, size);
		},
		/** What has come in. @param {Uint8Array} bytes @returns {Answer|null} */
		take(bytes) {
			for (let at = 0; at < bytes.length; at += LOT) {
				const lot = bytes.subarray(at, at + LOT);

				buffer().set(lot);
				exported.modem_take(lot.length);
				const found = answer(false);
				if (found)
					return found;
			}
			return null;
		},
		/** The line is quiet: what looked like the beginning of a frame was none. @returns {Answer|null} */
		ended: () => answer(true),
		/** The last answer was that to command 0: from now on this device is asked by its own address. @returns {boolean} */
		learn: () => Boolean(exported.modem_learn()),
		/** @returns {number} revision of HART that it speaks */
		universal: () => exported.modem_universal(),
	};
}
