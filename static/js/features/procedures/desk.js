/*
 * The desk at which a draft is written: the editor, the worked example, and the bar that saves. What is written is kept in
 * this tab until it is saved, so that a reload loses nothing.
 */
import {ApiError, call} from '../../lib/api.js';
import {fill, h} from '../../lib/dom.js';
import {clearErrors, markField, showErrors} from '../../lib/form.js';
import {mergeThree} from '../../lib/diff.js';
import {lastChange, whoChanged} from '../../lib/newer.js';
import {NEW_DOCUMENT, dropEmptyLines, fromTyped, toTyped} from './document.js';
import {documentEditor} from './editor.js';

const PREFIX = 'loopledger.procedure.';

/**
 * @param {{procedure: any|null, draft: any|null, example: {follow: (worked: any) => void}, saved: (answer: any) => void, approve: (draft: any) => void, discard: () => void}} spec
 *   procedure and draft null for a new one
 */
export function desk(spec) {
	const key = PREFIX + (spec.procedure?.id ?? 'new'), kept = JSON.parse(sessionStorage.getItem(key) ?? 'null');
	const base = spec.draft ? toTyped(spec.draft.document) : toTyped(NEW_DOCUMENT);
	const state = {draft: spec.draft, base, typed: kept ? mergeThree(kept.base, kept.typed, base) : structuredClone(base), code: kept?.code ?? '', dirty: Boolean(kept)};
	const place = h('div', {}), said = h('p', {class: 'saved', role: 'status'}), error = h('p', {class: 'form-error', role: 'alert', hidden: true});
	const save = h('button', {type: 'button', onclick: () => put()}, spec.procedure ? 'Save draft' : 'Save as a draft');
	const sign = spec.procedure && h('button', {type: 'button', onclick: () => put().then(good => good && spec.approve(state.draft))}, 'Approve \u2026');
	const bar = h('div', {class: 'desk-bar no-print'}, error, h('div', {class: 'actions'}, save, sign,
		!spec.procedure && h('button', {type: 'button', onclick: leave}, 'Cancel'), said));
	const element = h('div', {class: 'desk stacked-parts'}, !spec.procedure && codePart(), place, bar,
		spec.procedure && h('p', {class: 'no-print'}, h('button', {type: 'button', class: 'quiet flush', onclick: spec.discard}, 'Discard this draft \u2026')));

	function changed() {
		state.dirty = true;
		sessionStorage.setItem(key, JSON.stringify({base: state.base, typed: state.typed, code: state.code}));
		show();
		spec.example.follow(fromTyped(state.typed));
	}

	function show() {
		said.textContent = state.dirty ? 'Not yet saved; kept in this tab.' : spec.procedure ? 'Saved.' : '';
		save.classList.toggle('primary', state.dirty || !spec.procedure);
		sign?.classList.toggle('primary', !state.dirty);
	}

	function draw() {
		fill(place, documentEditor(state.typed, changed));
		show();
		spec.example.follow(fromTyped(state.typed));
	}

	function codePart() {
		const input = h('input', {id: 'procedure-code', name: 'code', value: state.code, maxlength: 20, required: true, spellcheck: 'false', autocomplete: 'off', 'aria-describedby': 'procedure-code-error'});
		input.addEventListener('input', () => {
			state.code = /** @type {any} */ (input).value;
			changed();
		});
		return h('section', {class: 'part'}, h('h2', {}, 'Its code'), h('div', {}, h('div', {class: 'field short', 'data-pointer': '/code'}, h('label', {for: 'procedure-code'}, 'Code'),
			h('p', {class: 'field-help'}, 'Short, as on a folder\u2019s back: PT-5UD.'), input, h('p', {class: 'field-error', id: 'procedure-code-error', hidden: true}))));
	}

	/** Saves when there is something to save. Answers whether the server now has what is on the page. */
	async function put() {
		if (save.getAttribute('aria-disabled') === 'true')
			return false;
		if (!state.dirty && state.draft)
			return true;
		dropEmptyLines(state.typed);
		draw();
		clearErrors(element);
		const {document, faults} = fromTyped(state.typed);
		if (faults.length)
			return markFaults(faults);
		save.setAttribute('aria-disabled', 'true');
		try {
			await send(document);
			return true;
		} catch (failure) {
			if (failure instanceof ApiError && failure.status === 412)
				await takeInNewer();
			else
				showErrors(element, failure);
			return false;
		} finally {
			save.removeAttribute('aria-disabled');
		}
	}

	/** @param {any} document */
	async function send(document) {
		const answer = spec.procedure
			? await call('PUT', `/procedures/${spec.procedure.id}/draft`, {document}, {version: state.draft.version})
			: await call('POST', '/procedures', {code: state.code.trim(), document});

		sessionStorage.removeItem(key);
		state.dirty = false;
		if (spec.procedure) {
			state.draft = answer;
			state.base = toTyped(answer.document);
		}
		show();
		spec.saved(answer);
	}

	/** @param {{pointer: string, sentence: string}[]} faults */
	function markFaults(faults) {
		for (const {pointer, sentence} of faults) {
			const holder = element.querySelector(`[data-pointer="${CSS.escape(pointer)}"]`);
			if (holder)
				markField(holder, sentence);
		}
		/** @type {HTMLElement|null} */ (element.querySelector('[aria-invalid]'))?.focus();
		return false;
	}

	/** Somebody saved meanwhile: his members come in where nothing was written here, and the page says so. */
	async function takeInNewer() {
		const procedure = await call('GET', `/procedures/${spec.procedure.id}`), entry = await lastChange('procedure_version', state.draft.id);
		element.querySelector('.newer')?.remove();
		const notice = h('div', {class: 'notice newer', role: 'alert'}, h('p', {}, h('b', {}, whoChanged(entry)), ' Nothing that you wrote is lost.'),
			procedure.draft ? h('button', {type: 'button', onclick: () => {
				const newer = toTyped(procedure.draft.document);
				state.typed = mergeThree(state.base, state.typed, newer);
				state.base = newer;
				state.draft = procedure.draft;
				notice.remove();
				clearErrors(element);
				draw();
				changed();
				save.focus();
			}}, 'Take in the newer, keep what I wrote') : h('p', {}, 'The draft is no longer there: it was approved or discarded.'));
		error.before(notice);
		notice.querySelector('button')?.focus();
	}

	function leave() {
		sessionStorage.removeItem(key);
		location.assign('/procedures');
	}

	draw();
	return {element, forget: () => sessionStorage.removeItem(key)};
}
