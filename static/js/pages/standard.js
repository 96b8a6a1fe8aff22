/* One reference standard. ?id= shows it, ?id=…&edit=1 changes it, ?new=1 adds one. */
import {channelPart, modelOf} from '../features/channels/channels.js';
import {mayDo, startPage} from '../features/frame/frame.js';
import {calibrationForm, newStandardForm, standardForm} from '../features/standards/forms.js';
import {calibrationPart, identityPart, stateWords, usesPart} from '../features/standards/view.js';
import {call} from '../lib/api.js';
import {byId, fill, h, unbroken} from '../lib/dom.js';
import {keepPlace} from '../lib/place.js';

/** @typedef {import('../lib/api.js').Session} Session */

startPage(async session => {
	const asked = new URLSearchParams(location.search), id = asked.get('id');
	const leave = (/** @type {string} */ address, /** @type {string} */ draft) => {
		sessionStorage.removeItem(`loopledger.draft.${draft}`);
		location.assign(address);
	};

	if (!id) {
		const units = await call('GET', '/units');
		name('A new standard');
		fill(byId('main'), newStandardForm({units: units.items, saved: standard => setTimeout(() => location.replace(`/standard?id=${standard.id}`)), cancel: () => leave('/standards', 'standard-new')}));
		/** @type {HTMLElement|null} */ (document.querySelector('main input'))?.focus();
		return;
	}
	const [standard, channels] = await Promise.all([call('GET', `/standards/${id}`), call('GET', `/channels?standard=${id}`)]), page = `/standard?id=${id}`;
	if (asked.get('edit') && mayDo(session, 'manage')) {
		name(`Change ${standard.code}`);
		fill(byId('main'), standardForm({standard, saved: () => setTimeout(() => location.replace(page)), cancel: () => leave(page, `standard-${id}`)}));
		return;
	}
	show(standard, channels.items, session);
});

/** @param {any} standard @param {any[]} channels @param {Session} session */
function show(standard, channels, session) {
	const mayManage = mayDo(session, 'manage');

	name(standard.code);
	fill(byId('main'),
		h('div', {class: 'spread'}, h('div', {}, h('p', {class: 'lead'}, standard.name), h('p', {}, stateWords(standard, session.today))),
			mayManage && h('a', {class: 'button no-print', href: `/standard?id=${standard.id}&edit=1`}, 'Change')),
		calibrationPart(standard.calibrations, mayManage && adding(standard)), identityPart(standard),
		channelPart({owner: {standard_id: standard.id}, label: standard.code, model: modelOf(standard), sides: [{side: 'output', word: 'what it gives', unit: unit(standard)}, {side: 'input', word: 'what it reads', unit: unit(standard)}],
			channels, mayManage, mayTest: mayDo(session, 'test')}),
		usesPart(standard.uses),
		h('p', {class: 'no-print'}, h('a', {href: `/ledger?thing=standard&thing_id=${standard.id}`}, 'Every change to this standard, in the ledger')));
	keepPlace();
}

/** @param {any} standard */
function unit(standard) {
	return standard.calibrations[0]?.unit ?? '';
}

/** The button that opens the form for the next certificate; a form that was being filled in stands open again. @param {any} standard */
function adding(standard) {
	const place = h('div', {class: 'no-print'}), draft = `loopledger.draft.calibration-${standard.id}`;
	const button = h('button', {type: 'button', onclick: () => open(true)}, 'Add a certificate');

	async function open(focus = false) {
		const units = await call('GET', '/units');
		fill(place, h('div', {class: 'raised'}, h('h3', {}, 'A new certificate'), calibrationForm({standard, units: units.items, saved: () => setTimeout(() => location.reload()), cancel: () => {
			sessionStorage.removeItem(draft);
			fill(place, button);
			button.focus();
		}})));
		if (focus)
			/** @type {HTMLElement|null} */ (place.querySelector('input'))?.focus();
	}

	fill(place, button);
	if (sessionStorage.getItem(draft))
		open();
	return place;
}

/** @param {string} title */
function name(title) {
	fill(byId('title'), unbroken(title));
	document.title = `${title} \u00b7 Loopledger`;
}
