/*
 * Readings that are on this tablet and not yet on the server. Each lies under a key of its own in localStorage, so that two
 * tabs never overwrite each other's; the key is also the Idempotency-Key, so that sending twice stores once. They belong to
 * the person who entered them: nobody else's session sends them.
 *
 * Order matters to the server (a reading must be the run's next point), so within one run the lower point goes first, and
 * one that was refused holds back those behind it, not those of other records.
 */

const PREFIX = 'loopledger.unsent.';

/** @typedef {{key: string, person: string, record: string, number: string, tag: string, run: 'as_found'|'as_left', point: number,
 *   body: object, shown: {applied: string, observed: string}, judged?: object|null, at: string, refused?: string}} Unsent
 *   shown: what was typed, with its unit; judged: what this tablet's core says of it, see lib/judging.js */

/** @param {Storage} storage */
export function unsentStore(storage) {
	return {
		/** @param {Unsent} item */
		put: item => storage.setItem(PREFIX + item.key, JSON.stringify(item)),
		/** @param {string} key */
		remove: key => storage.removeItem(PREFIX + key),
		/** @param {string} [person] only this person's @returns {Unsent[]} */
		all(person) {
			const items = [];
			for (let i = 0; i < storage.length; i++) {
				const name = storage.key(i);
				if (name?.startsWith(PREFIX))
					items.push(JSON.parse(storage.getItem(name) ?? 'null'));
			}
			return items.filter(item => item && (!person || item.person === person)).sort(inOrder);
		},
	};
}

/** @param {Unsent} a @param {Unsent} b */
function inOrder(a, b) {
	return a.record.localeCompare(b.record) || a.run.localeCompare(b.run) || a.point - b.point || a.at.localeCompare(b.at);
}

/** What can be sent next. @param {Unsent[]} items in order @returns {Unsent|null} */
export function nextToSend(items) {
	return items.find(item => !item.refused
		&& !items.some(other => other.refused && other.record === item.record && other.run === item.run && other.point < item.point)) ?? null;
}

/** Does this answer mean that the same request may succeed later? @param {number} status */
export function worthRetrying(status) {
	return status === 0 || status === 408 || status === 429 || status >= 500;
}

/** Seconds to wait before trying again. @param {number} failures in a row, from 1 */
export function backOff(failures) {
	return Math.min(30, 2 ** (failures - 1));
}

/**
 * The record as it will be when the unsent readings have arrived: each shows what was typed, and this tablet's verdict.
 *
 * @param {any} run a run of the record
 * @param {Unsent[]} items this record's
 * @returns {any[]} the run's points; an unsent reading has {unsent: true, refused}
 */
export function pointsWithUnsent(run, items) {
	return run.points.map((/** @type {any} */ point) => {
		const item = items.find(it => it.run === run.kind && it.point === point.index);
		if (point.reading || !item)
			return point;
		return {...point, reading: {...item.judged, unsent: true, refused: item.refused ?? null, key: item.key, shown_observed: item.shown.observed, shown_applied: item.shown.applied}};
	});
}

/**
 * Sends what is waiting, one at a time, and tries again by itself.
 *
 * @param {{store: ReturnType<typeof unsentStore>, person: string, post: (item: Unsent) => Promise<any>,
 *   changed: (what: {record?: any, item?: Unsent, error?: any}) => void, later?: (run: () => void, seconds: number) => any}} spec
 *   post rejects with {status, message}; without a status the server was not reached
 */
export function sender({store, person, post, changed, later = (run, seconds) => setTimeout(run, seconds * 1000)}) {
	const state = {reachable: true, signedOut: false, sending: /** @type {string|null} */ (null)};
	let failures = 0, busy = false, waiting = /** @type {any} */ (null);

	async function flush() {
		if (busy)
			return;
		busy = true;
		try {
			for (let item = nextToSend(store.all(person)); item; item = nextToSend(store.all(person)))
				if (!await send(item))
					break;
		} finally {
			busy = false;
		}
	}

	/** @param {Unsent} item @returns {Promise<boolean>} go on with the next */
	async function send(item) {
		state.sending = item.key;
		try {
			const record = await post(item);
			store.remove(item.key);
			Object.assign(state, {reachable: true, signedOut: false, sending: null});
			failures = 0;
			changed({record, item});
			return true;
		} catch (error) {
			state.sending = null;
			return refused(item, /** @type {any} */ (error));
		}
	}

	/** @param {Unsent} item @param {{status?: number, message: string}} error */
	function refused(item, error) {
		const status = error.status ?? 0;

		if (status === 401) {
			state.signedOut = true;
		} else if (worthRetrying(status)) {
			state.reachable = false;
			failures += 1;
			clearTimeout(waiting);
			waiting = later(flush, backOff(failures));
		} else {
			store.put({...item, refused: error.message});
			state.reachable = true;
			changed({item, error});
			return true;
		}
		changed({item, error});
		return false;
	}

	return {state, flush};
}
