/*
 * Two people at one row. A save is sent with the version that was read; when somebody was quicker, the form says who, and can
 * take in what he changed without losing what was typed here.
 *
 *   const row = sharedRow({row: instrument, path: `/instruments/${id}`, thing: 'instrument', values: instrumentValues});
 *   form({…, onsubmit: (values, element) => row.save(element, version => call('PUT', row.path, body(values), {version}))});
 *
 * values(row) gives the text of each field by its name (true or false for a check box), as typedFigure() writes numbers.
 */
import {ApiError, call} from './api.js';
import {h} from './dom.js';
import {clearErrors} from './form.js';
import {time} from './format.js';

/**
 * @param {{row: any, path: string, thing: string, values: (row: any) => Record<string, string|boolean>, settled?: () => void, pick?: (answer: any) => any}} spec
 *   settled runs after newer values came into the form; pick finds the row in what path answers, the whole answer when absent
 */
export function sharedRow({row, path, thing, values, settled, pick = answer => answer}) {
	let base = row;

	/** @param {HTMLFormElement} form @param {(version: number) => Promise<any>} send */
	async function save(form, send) {
		try {
			return await send(base.version);
		} catch (error) {
			if (error instanceof ApiError && error.status === 412)
				await say(form);
			throw error;
		}
	}

	/** @param {HTMLFormElement} form */
	async function say(form) {
		const [newer, entry] = await Promise.all([call('GET', path).then(pick), lastChange(thing, base.id)]);
		const button = h('button', {type: 'button', onclick: () => {
			takeIn(form, values(base), values(newer));
			base = newer;
			notice.remove();
			clearErrors(form);
			settled?.();
			/** @type {HTMLElement|null} */ (form.querySelector('.actions button'))?.focus();
		}}, 'Take in the newer, keep what I typed');
		const notice = h('div', {class: 'notice newer', role: 'alert'},
			h('p', {}, h('b', {}, whoChanged(entry)), ' Nothing that you typed is lost.'), button);

		form.querySelector('.newer')?.remove();
		form.querySelector('.form-error')?.before(notice);
		/* the form will say below what stands here better */
		requestAnimationFrame(() => {
			clearErrors(form);
			button.focus();
		});
	}
	return {path, save};
}

/** @param {string} thing @param {string} id */
export async function lastChange(thing, id) {
	const answer = await call('GET', `/ledger?${new URLSearchParams({thing, thing_id: id, limit: '1'})}`);

	return answer.items[0] ?? null;
}

/** @param {{person: string, at: string}|null} entry */
export function whoChanged(entry) {
	return entry ? `${entry.person} changed this meanwhile, ${time(entry.at)}.` : 'Somebody changed this meanwhile.';
}

/**
 * Fields that still stand as they were read follow the newer row; the others keep what was typed and say what it is now.
 *
 * @param {HTMLFormElement} form @param {Record<string, string|boolean>} before @param {Record<string, string|boolean>} newer
 */
function takeIn(form, before, newer) {
	for (const holder of form.querySelectorAll('[data-name]')) {
		const name = String(/** @type {HTMLElement} */ (holder).dataset.name);
		const input = /** @type {any} */ (holder.querySelector(`[name="${CSS.escape(name)}"]`));
		const key = input.type === 'checkbox' ? 'checked' : 'value';
		holder.querySelector('.field-newer')?.remove();
		if (!(name in newer) || before[name] === newer[name])
			continue;
		if (input[key] === before[name] || input[key] === newer[name])
			input[key] = newer[name];
		else
			holder.append(h('p', {class: 'field-newer'}, 'Meanwhile it reads: ', h('b', {}, written(input, newer[name]))));
	}
}

/** @param {any} input @param {string|boolean} value */
function written(input, value) {
	if (typeof value === 'boolean')
		return value ? 'yes' : 'no';
	if (input.tagName === 'SELECT')
		return [...input.options].find(option => option.value === value)?.textContent ?? value;
	return value || 'nothing';
}

/**
 * The key of a form's draft, after what was typed upon an older state of the row has been brought to this one: only fields
 * that were touched come back, so that a reload never undoes what somebody else saved meanwhile.
 *
 * @param {string} key @param {any} row @param {(row: any) => Record<string, string|boolean>} values
 */
export function draftUpon(key, row, values) {
	const draft = `loopledger.draft.${key}`, ground = `loopledger.ground.${key}`;
	const typed = JSON.parse(sessionStorage.getItem(draft) ?? 'null'), before = JSON.parse(sessionStorage.getItem(ground) ?? 'null');

	if (typed && before && before.version !== row.version)
		sessionStorage.setItem(draft, JSON.stringify(Object.fromEntries(Object.entries(typed).filter(([name, value]) => value !== before.values[name]))));
	sessionStorage.setItem(ground, JSON.stringify({version: row.version, values: values(row)}));
	return key;
}
