/*
 * A list that comes in pages.
 *
 *   const {more} = await pagedList({path: '/instruments', query, add: items => …, words: n => `${n} tags`});
 *
 * add puts rows on the page; more is the line to put under it: how many are shown, and the button for the next ones. A reload shows as
 * many as were shown before.
 */
import {call} from './api.js';
import {fill, h} from './dom.js';
import {showErrors} from './form.js';
import {cameBack, placeKey} from './place.js';

const STEP = 50, MOST = 200;

/**
 * Reads rows until there are as many as wanted, or no more.
 *
 * @param {string} path @param {URLSearchParams} query @param {number} wanted @param {string|null} [after]
 * @returns {Promise<{items: any[], next: string|null}>}
 */
export async function readRows(path, query, wanted, after = null) {
	const items = [];
	let next = after;

	do {
		const asked = new URLSearchParams(query);
		asked.set('limit', String(Math.min(MOST, wanted - items.length)));
		if (next)
			asked.set('after', next);
		const answer = await call('GET', `${path}?${asked}`);
		items.push(...answer.items);
		next = answer.next;
	} while (next && items.length < wanted);
	return {items, next};
}

/**
 * @param {{path: string, query: URLSearchParams, add: (items: any[]) => Element|null, words: (n: number) => string, least?: number}} spec
 *   add puts rows on the page and answers the first of them; least is how many to read at once
 * @returns {Promise<{count: number, more: HTMLElement}>}
 */
export async function pagedList({path, query, add, words, least = STEP}) {
	const wanted = cameBack() ? Math.min(5000, Number(sessionStorage.getItem(placeKey('rows')) ?? STEP)) : STEP;
	const button = h('button', {type: 'button', onclick: readMore}, `Show ${STEP} more`);
	const state = h('p', {class: 'muted', role: 'status'}), problem = h('p', {class: 'form-error', role: 'alert', hidden: true});
	const more = h('div', {class: 'more no-print'}, state, button, problem);
	let {items, next} = await readRows(path, query, Math.max(STEP, least, wanted));
	let count = items.length;

	async function readMore() {
		if (button.getAttribute('aria-disabled') === 'true')
			return;
		button.setAttribute('aria-disabled', 'true');
		try {
			const answer = await readRows(path, query, STEP, next);
			next = answer.next;
			count += answer.items.length;
			focusRow(add(answer.items));
			show();
		} catch (error) {
			showErrors(more, error);
		} finally {
			button.removeAttribute('aria-disabled');
		}
	}

	function show() {
		sessionStorage.setItem(placeKey('rows'), String(count));
		fill(state, next ? `${words(count)} shown, there are more.` : `${words(count)}, all shown.`);
		button.hidden = !next;
		problem.hidden = true;
	}
	add(items);
	show();
	more.hidden = count === 0;
	return {count, more};
}

/** The keyboard goes on where the new rows begin. @param {Element|null} row */
function focusRow(row) {
	/** @type {HTMLElement|null} */ (row?.querySelector('a, button, summary'))?.focus({preventScroll: true});
}
