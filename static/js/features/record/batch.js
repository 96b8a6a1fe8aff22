/*
 * Many records at once: chosen in the list, then labels, an archive, pages to print, or certificates to issue. The number of the
 * batch in hand stays in the browser, so that a reload finds it again.
 */
import {mayDo} from '../frame/frame.js';
import {ApiError, call} from '../../lib/api.js';
import {fill, h} from '../../lib/dom.js';
import {showErrors} from '../../lib/form.js';
import {labelDialog} from './label.js';

const IN_HAND = 'loopledger.batch';
const LOOK_MS = 700;
const WHAT = /** @type {Record<string, [string, string]>} */ ({
	archive: ['Packing the certificates', 'Save the archive'],
	print: ['Drawing the pages', 'Open the pages'],
	issue: ['Issuing the certificates', ''],
});

/**
 * The bar below the list. choose(record, on) when a box changes; clear is called to take all ticks away.
 *
 * @param {import('../../lib/api.js').Session} session
 * @param {{clear: () => void}} list
 */
export function selectionBar(session, list) {
	/** @type {Map<string, any>} */
	const chosen = new Map();
	const words = h('span', {}), acts = h('span', {class: 'actions'}), state = h('div', {class: 'batch no-print', hidden: true});
	const trouble = h('div', {}, h('p', {class: 'form-error', role: 'alert', hidden: true}));
	const bar = h('div', {class: 'selection no-print', hidden: true}, h('div', {class: 'selection-row'}, h('p', {role: 'status'}, words), acts));

	const begin = async (/** @type {string} */ what) => {
		fill(trouble, h('p', {class: 'form-error', role: 'alert', hidden: true}));
		try {
			const batch = await call('POST', '/certificate-batches', {what, records: [...chosen.keys()]});

			localStorage.setItem(IN_HAND, batch.id);
			follow(batch, state, list.clear);
		} catch (error) {
			showErrors(trouble, error);
		}
	};
	const show = () => {
		const records = [...chosen.values()];
		const certified = records.filter(record => record.certificate_number), standing = records.filter(record => record.certificate_state === 'current'), reviewed = records.filter(record => record.state === 'reviewed');

		bar.hidden = records.length === 0;
		words.textContent = `${records.length} ${records.length === 1 ? 'record' : 'records'} chosen`;
		fill(acts,
			standing.length === records.length && records.length <= 50 && h('button', {type: 'button', onclick: () => labelDialog(records, session)}, 'Labels'),
			certified.length > 0 && h('button', {type: 'button', onclick: () => begin('archive')}, 'Archive'),
			certified.length > 0 && h('button', {type: 'button', onclick: () => begin('print')}, 'Pages to print'),
			reviewed.length > 0 && mayDo(session, 'review') && h('button', {type: 'button', class: 'primary', onclick: () => begin('issue')}, 'Issue certificates'),
			h('button', {type: 'button', onclick: list.clear}, 'Choose none'));
	};

	takeUp(state, list.clear);
	return {
		elements: [bar, state, trouble],
		/** @param {any} record @param {boolean} on */
		choose(record, on) {
			if (on)
				chosen.set(record.id, record);
			else
				chosen.delete(record.id);
			show();
		},
	};
}

/** A batch from before a reload. @param {HTMLElement} place @param {() => void} clear */
async function takeUp(place, clear) {
	const id = localStorage.getItem(IN_HAND);

	if (!id)
		return;
	try {
		follow(await call('GET', `/certificate-batches/${id}`, undefined, {stay: true}), place, clear);
	} catch (error) {
		if (error instanceof ApiError)
			localStorage.removeItem(IN_HAND);
	}
}

/** @param {any} batch @param {HTMLElement} place @param {() => void} clear */
function follow(batch, place, clear) {
	const bar = /** @type {HTMLProgressElement} */ (h('progress', {max: batch.total, value: batch.done, 'aria-label': WHAT[batch.what][0]}));
	const count = h('span', {class: 'muted'}), stop = h('button', {type: 'button', onclick: cancel}, 'Cancel');

	place.hidden = false;
	fill(place, h('p', {}, h('b', {}, WHAT[batch.what][0]), ' ', count), bar, h('div', {class: 'actions'}, stop));
	look(batch);

	async function cancel() {
		await call('DELETE', `/certificate-batches/${batch.id}`).catch(() => {});
	}
	/* A server that started anew knows nothing of it; what does not answer is asked again. @param {unknown} error @param {any} now */
	function trouble(error, now) {
		if (error instanceof ApiError && error.status === 404)
			finished({...now, state: 'gone'}, place, clear);
		else
			setTimeout(() => look(now), 5 * LOOK_MS);
	}
	/** @param {any} now */
	function look(now) {
		count.textContent = `${now.done} of ${now.total}`;
		bar.value = now.done;
		if (now.state === 'waiting' || now.state === 'running')
			setTimeout(() => call('GET', `/certificate-batches/${batch.id}`).then(look, error => trouble(error, now)), LOOK_MS);
		else
			finished(now, place, clear);
	}
}

/** @param {any} batch @param {HTMLElement} place @param {() => void} clear */
function finished(batch, place, clear) {
	const good = batch.done - batch.failed, words = {
		done: batch.what === 'issue' ? `${good} ${good === 1 ? 'certificate' : 'certificates'} issued.` : `${good} of ${batch.total} certificates are in it.`,
		cancelled: batch.what === 'issue' ? `Cancelled; ${good} were issued before.` : 'Cancelled.',
		failed: 'It could not be done.',
		gone: batch.what === 'issue' ? 'The server was started anew; the list shows what was issued before.' : 'The server was started anew. Begin once more.',
	};

	fill(place, h('p', {role: 'status'}, h('b', {}, /** @type {any} */ (words)[batch.state])),
		batch.failures.length > 0 && h('ul', {}, batch.failures.map((/** @type {any} */ failure) => h('li', {}, failure.label && h('a', {href: `/record?id=${failure.record_id}`}, failure.label), failure.label ? ': ' : '', failure.sentence))),
		h('div', {class: 'actions'},
			batch.ready && h('a', {class: 'button primary', href: `/api/v1/certificate-batches/${batch.id}/file`, target: batch.what === 'print' ? '_blank' : null, rel: 'noopener', download: batch.what === 'archive' ? '' : null}, WHAT[batch.what][1]),
			h('button', {type: 'button', onclick: done}, batch.what === 'issue' && ['done', 'gone'].includes(batch.state) ? 'Show the list anew' : 'Done')));

	function done() {
		localStorage.removeItem(IN_HAND);
		call('DELETE', `/certificate-batches/${batch.id}`).catch(() => {});
		place.hidden = true;
		clear();
		if (batch.what === 'issue')
			location.reload();
	}
}
