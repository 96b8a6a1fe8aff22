/*
 * The frame around every page. Its HTML stands in the page, so that nothing moves when the answers come; this fills in the
 * plant, the person and what is not yet sent. Every page's module begins with
 *
 *   import {startPage} from '../features/frame/frame.js';
 *   startPage(async session => { … });      session: see lib/api.js; mayDo(session, 'manage')
 *
 * A failure inside is shown in <main> with what is safe and what to do. While something loads, <main> holds
 * <p class="progress" role="status">Reading the … from the server</p>, written in the HTML; replace it with fill().
 */
import {call, forgetSession, session, ApiError, Unreachable} from '../../lib/api.js';
import {byId, fill, h} from '../../lib/dom.js';
import {confirmDialog, field, passwordField} from '../../lib/form.js';
import {icon} from '../../lib/mark.js';
import {unsentStore} from '../../lib/unsent.js';
import {t} from '../../lib/words.js';

const REMEMBERED = 'loopledger.frame';
const store = unsentStore(localStorage);

/** @typedef {import('../../lib/api.js').Session} Session */

/**
 * @param {(session: Session) => any} begin
 * @param {{offline?: (person: {id: string, name: string}) => any}} [options] offline: what to do when the server cannot be
 *   reached; the run page goes on with what is on the tablet
 */
export async function startPage(begin, options = {}) {
	const remembered = JSON.parse(localStorage.getItem(REMEMBERED) ?? 'null');

	if (remembered)
		showFrame(remembered);
	showUnsent();
	addPagesSheet();
	addEventListener('storage', () => showUnsent());
	try {
		const current = await session().catch(error => {
			if (error instanceof Unreachable && remembered && options.offline)
				return null;
			throw error;
		});
		if (!current) {
			await options.offline?.(remembered.person);
			return;
		}
		const frame = {plant: current.plant, person: {id: current.person.id, name: current.person.name, roles: current.person.roles}};
		localStorage.setItem(REMEMBERED, JSON.stringify(frame));
		showFrame(frame);
		watchDriven();
		await begin(current);
	} catch (error) {
		showTrouble(byId('main'), error);
	}
}

/** @param {Session} current @param {string} permission */
export function mayDo(current, permission) {
	return current.permissions.includes(permission);
}

/** @param {{plant: {name: string}, person: {name: string, roles: string[]}}} frame */
function showFrame({plant, person}) {
	const place = byId('person'), open = place.querySelector('details')?.open;

	fill(byId('plant'), plant.name);
	fill(place, h('details', {class: 'person-menu', open},
		h('summary', {}, icon('person'), h('span', {}, person.name)),
		h('div', {class: 'person-panel'}, ...personActions(person))));
	document.body.dataset.known = 'yes';
}

/** @param {{roles: string[]}} person */
function personActions(person) {
	return [
		h('p', {class: 'muted small'}, person.roles.map(role => t(`role.${role}`)).join(', ')),
		h('button', {type: 'button', onclick: changePassword}, 'Change password'),
		h('button', {type: 'button', onclick: signOut}, 'Sign out'),
	];
}

function changePassword() {
	confirmDialog({
		title: 'Change password', submit: 'Change password',
		fields: [
			passwordField('Present password'),
			field({name: 'new_password', label: 'New password', type: 'password', required: true, width: 'medium', help: 'At least 10 characters.', attributes: {autocomplete: 'new-password'}}),
		],
		onsubmit: values => call('POST', '/session/password', values),
	});
}

async function signOut() {
	const unsent = store.all().length;

	const leave = async () => {
		await call('DELETE', '/session');
		forgetSession();
		localStorage.removeItem(REMEMBERED);
		location.assign('/signin');
	};
	if (!unsent)
		return leave();
	confirmDialog({
		title: 'Sign out with readings not yet sent?', submit: 'Sign out all the same',
		body: [h('p', {}, `${t('unsent', {n: unsent})}. They stay here and are sent when you sign in on this tablet again.`)],
		onsubmit: leave,
	});
}

/**
 * The strip above everything: what is on this tablet only. Called again whenever that changes.
 *
 * @param {{state?: {reachable: boolean, signedOut: boolean}}} [sending]
 */
export function showUnsent(sending = {}) {
	const items = store.all(), refused = items.filter(item => item.refused), waiting = items.length - refused.length;
	const parts = [];

	if (waiting)
		parts.push(t('unsent', {n: waiting}));
	if (refused.length)
		parts.push(h('a', {href: `/run?id=${refused[0].record}#attention`}, t('refused', {n: refused.length})));
	if (sending.state?.signedOut)
		parts.push(h('a', {href: `/signin?next=${encodeURIComponent(location.pathname + location.search + location.hash)}`}, 'sign in again to send'));
	else if (sending.state?.reachable === false)
		parts.push(waiting ? 'trying again by itself' : 'the server cannot be reached');
	byId('strip').classList.toggle('unsent', items.length > 0);
	const text = parts.flatMap((part, i) => i ? [' \u00b7 ', part] : [part]);
	const place = byId('strip-state');
	if (place.textContent !== text.map(part => part instanceof Node ? part.textContent : part).join(''))
		fill(place, ...text);
}

const LOOK_MS = 3000;

/** A source that is being driven can be stopped on every page, by everybody. */
async function watchDriven() {
	const bar = h('div', {class: 'driven-bar', role: 'region', 'aria-label': 'Driven sources', hidden: true});
	let told = '';

	document.body.append(bar);
	for (;;) {
		const list = document.visibilityState === 'visible' ? await call('GET', '/live-runs', undefined, {stay: true}).catch(() => null) : null;
		const driven = (list?.items ?? []).filter((/** @type {any} */ run) => run.mode === 'driven' && (run.phase !== 'armed' || run.trouble) && !(location.pathname.startsWith('/run') && location.search.includes(run.record_id)));
		const name = JSON.stringify(driven.map((/** @type {any} */ run) => [run.tag, run.by, run.trouble]));

		if (list && name !== told) {
			told = name;
			bar.hidden = driven.length === 0;
			fill(bar, driven.map((/** @type {any} */ run) => h('p', {}, h('b', {}, `${run.tag} is being driven`), ` by ${run.by}. `, run.trouble)),
				driven.length > 0 && h('button', {type: 'button', class: 'danger', onclick: () => call('POST', '/live-runs/stop', {})}, 'Stop, to the safe value'));
		}
		await new Promise(resolve => setTimeout(resolve, LOOK_MS));
	}
}

/** On a phone the eight words come as a sheet from below. */
function addPagesSheet() {
	const button = byId('pages');

	button.addEventListener('click', () => {
		const list = /** @type {HTMLElement} */ (document.querySelector('.frame-nav ul')).cloneNode(true);
		const remembered = JSON.parse(localStorage.getItem(REMEMBERED) ?? 'null');
		const sheet = /** @type {HTMLDialogElement} */ (h('dialog', {class: 'sheet-below', autofocus: true, 'aria-label': 'Pages', onclose: () => sheet.remove()},
			h('form', {class: 'frame-search', action: '/instruments', role: 'search'}, icon('search'),
				h('label', {class: 'visually-hidden', for: 'sheet-search'}, 'Search tags and services'),
				h('input', {id: 'sheet-search', name: 'q', type: 'search', placeholder: 'Tag or service'})),
			h('nav', {'aria-label': 'Pages'}, list),
			remembered && h('p', {class: 'muted'}, remembered.person.name),
			h('div', {class: 'actions'}, remembered && personActions(remembered.person).slice(1),
				h('button', {type: 'button', onclick: () => sheet.close()}, 'Close'))));
		document.body.append(sheet);
		sheet.showModal();
	});
}

/**
 * Says what happened, what is safe and what to do.
 *
 * @param {Element} place
 * @param {unknown} error
 */
export function showTrouble(place, error) {
	const known = error instanceof ApiError || error instanceof Unreachable;
	const missing = error instanceof ApiError && error.status === 404;

	if (!known)
		console.error(error);
	fill(place, h('div', {class: 'trouble', role: 'alert'},
		h('h2', {}, missing ? 'There is no such thing here' : error instanceof Unreachable ? 'The server cannot be reached' : 'This page could not be shown'),
		h('p', {}, known ? /** @type {Error} */ (error).message : 'The page itself failed. What was saved before is safe on the server.'),
		h('div', {class: 'actions'},
			h('button', {type: 'button', class: 'primary', onclick: () => location.reload()}, 'Try again'),
			h('a', {class: 'button', href: '/due'}, 'Go to Due'))));
}
