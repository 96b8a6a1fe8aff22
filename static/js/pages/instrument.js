/* One instrument: read by everybody, written by the lead. ?id= shows it, ?id=…&edit=1 and ?new=1 open the form. */
import {channelPart, modelOf} from '../features/channels/channels.js';
import {mayDo, startPage} from '../features/frame/frame.js';
import {instrumentForm} from '../features/instruments/form.js';
import {scaleFigure} from '../features/instruments/scale.js';
import {hazardPart, historyPart, identityPart, measuresPart} from '../features/instruments/view.js';
import {schedulePart} from '../features/schedules/schedules.js';
import {ApiError, call} from '../lib/api.js';
import {byId, fill, h, unbroken} from '../lib/dom.js';
import {keepPlace} from '../lib/place.js';

/** @typedef {import('../lib/api.js').Session} Session */

startPage(async session => {
	const asked = new URLSearchParams(location.search), id = asked.get('id');

	if (!id || (asked.get('edit') && mayDo(session, 'manage')))
		return edit(id ? await call('GET', `/instruments/${id}`) : null);
	const [instrument, channels] = await Promise.all([call('GET', `/instruments/${id}`), call('GET', `/channels?instrument=${id}`)]);
	show(instrument, channels.items, await scale(instrument), session);
});

/** A characteristic that does not reach the whole range has no scale to show. @param {any} instrument */
async function scale(instrument) {
	try {
		return instrument.kind === 'switch' ? null : await scaleFigure(instrument);
	} catch (error) {
		if (error instanceof ApiError)
			return null;
		throw error;
	}
}

/** @param {any} instrument @param {any[]} channels @param {HTMLElement|null} figure @param {Session} session */
function show(instrument, channels, figure, session) {
	const mayManage = mayDo(session, 'manage');

	name(instrument.tag);
	fill(byId('main'),
		h('div', {class: 'spread'}, h('p', {class: 'lead'}, instrument.service),
			mayManage && h('a', {class: 'button no-print', href: `/instrument?id=${instrument.id}&edit=1`}, 'Change')),
		hazardPart(instrument),
		schedulePart({instrument, schedules: instrument.schedules, mayManage, mayTest: mayDo(session, 'test'), today: session.today}),
		identityPart(instrument), measuresPart(instrument, figure),
		channelPart({owner: {instrument_id: instrument.id}, label: instrument.tag, model: modelOf(instrument), sides: [{side: 'input', word: 'its input', unit: instrument.input.unit}, {side: 'output', word: 'its output', unit: instrument.output.unit}],
			channels, mayManage, mayTest: mayDo(session, 'test')}),
		historyPart(instrument.records),
		h('p', {class: 'no-print'}, h('a', {href: `/ledger?thing=instrument&thing_id=${instrument.id}`}, 'Every change to this instrument, in the ledger')));
	keepPlace();
}

/** @param {any|null} instrument */
async function edit(instrument) {
	const [areas, units] = await Promise.all([call('GET', '/areas'), call('GET', '/units')]);
	const to = (/** @type {any} */ row) => row ? `/instrument?id=${row.id}` : '/instruments';

	name(instrument ? `Change ${instrument.tag}` : 'A new instrument');
	fill(byId('main'), instrumentForm({instrument, areas: areas.items, units: units.items, saved: row => leave(to(row)),
		cancel: () => {
			sessionStorage.removeItem(`loopledger.draft.${instrument ? `instrument-${instrument.id}` : 'instrument-new'}`);
			location.assign(to(instrument));
		}}));
	if (!instrument)
		/** @type {HTMLElement|null} */ (document.querySelector('main input'))?.focus();
	keepPlace();
}

/** What was typed is forgotten by the form once this has run, so the page is left after it. @param {string} address */
function leave(address) {
	setTimeout(() => location.replace(address));
}

/** @param {string} title */
function name(title) {
	fill(byId('title'), unbroken(title));
	document.title = `${title} \u00b7 Loopledger`;
}
