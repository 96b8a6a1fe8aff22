/*
 * A channel that this page feeds: the modem asks the device again and again, and its answers go to the server as they are, which
 * decodes and judges them. First come those that say who answers; after every silence they come again, since another device may
 * have been wired meanwhile.
 */
import {ApiError, call, Unreachable} from './api.js';
import {NoAnswer, Refused, Unplugged} from './modem.js';

const COMMAND = {current: 2, percent: 2, pv: 1, sv: 3, tv: 3, qv: 3};
const CODE = {pv: 246, sv: 247, tv: 248, qv: 249};	/* for command 9, which gives the status of the single value too */
const BUSY = [32, 33, 34, 35, 36];	/* response codes of a device that will answer later (from memory) */

/** @typedef {{value: any}|{trouble: string}|{asking: true}} News */

/**
 * @param {any} channel @param {import('./modem.js').Modem} modem @param {import('./hart.js').Hart} hart
 * @param {(news: News) => void} tell
 */
export function feedChannel(channel, modem, hart, tell) {
	const path = `/channels/${channel.id}/frames`, {variable} = channel.source;
	let on = true, known = false, slots = true;

	/** @param {number} command @returns {Promise<import('./modem.js').Answer[]>} none when the device does not know it */
	async function perhaps(command) {
		try {
			return [await modem.ask(command)];
		} catch (error) {
			if (error instanceof Refused)
				return [];
			throw error;
		}
	}

	/* The long tag came with revision 6 (from memory); a device may have only the short one written. */
	async function identify() {
		hart.begin(channel.source.address ?? 0);
		const frames = [await modem.ask(0)];

		hart.learn();
		if (hart.universal() >= 6)
			frames.push(...await perhaps(20));
		frames.push(...await perhaps(13));
		return frames;
	}

	async function value() {
		const code = CODE[/** @type {'pv'} */ (variable)];

		if (code && slots && hart.universal() >= 7) {
			try {
				return await modem.ask(9, [code]);
			} catch (error) {
				if (!(error instanceof Refused) || BUSY.includes(error.code))
					throw error;
				slots = false;
			}
		}
		return modem.ask(COMMAND[/** @type {'pv'} */ (variable)]);
	}

	/** @param {import('./modem.js').Answer[]} answers */
	function push(answers) {
		const now = performance.now();

		return call('POST', path, {frames: answers.map(answer => ({hex: [...answer.bytes].map(byte => byte.toString(16).padStart(2, '0')).join(''), age_ms: Math.round(now - answer.at)}))}, {stay: true});
	}

	/** What went wrong; true when there is no point in going on. @param {any} error @param {boolean} knew */
	function ends(error, knew) {
		if (error instanceof ApiError && error.status === 409 && knew)
			return false;	/* the server has forgotten who answers, or another device does: said again, it tells which */
		if (error instanceof Unplugged || (error instanceof ApiError && [401, 403, 404, 409].includes(error.status)))
			return true;
		if (!(error instanceof NoAnswer || error instanceof Refused || error instanceof ApiError || error instanceof Unreachable))
			throw error;
		tell({trouble: error.message});
		return false;
	}

	/** Until it is stopped, or cannot go on: then with why. @returns {Promise<any>} */
	async function run() {
		while (on) {
			const begun = performance.now(), knew = known;

			try {
				if (!known) {
					tell({asking: true});
					await push(await identify());
					known = true;
				}
				tell({value: await push([await value()])});
			} catch (error) {
				known = known && error instanceof Unreachable;
				if (!on)
					break;
				if (ends(error, knew))
					return error;
			}
			await new Promise(resolve => setTimeout(resolve, Math.max(0, begun + channel.period_ms - performance.now())));
		}
		return null;
	}
	return {
		run,
		/** @param {boolean} [leaving] the page is being left */
		async stop(leaving = false) {
			on = false;
			await call('DELETE', path, undefined, {stay: true, keepalive: leaving}).catch(() => {});
		},
	};
}
