/* Instruments: the register, searched and filtered, with its areas. */
import {mayDo, startPage} from '../features/frame/frame.js';
import {areaPart} from '../features/instruments/areas.js';
import {instrumentRow, instrumentTable} from '../features/instruments/rows.js';
import {KINDS, STATUSES} from '../features/instruments/values.js';
import {call} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {field} from '../lib/form.js';
import {pagedList} from '../lib/paged.js';
import {keepPlace} from '../lib/place.js';
import {t} from '../lib/words.js';

startPage(async session => {
	const query = new URLSearchParams(), asked = new URLSearchParams(location.search);

	for (const name of ['q', 'area', 'kind', 'status'])
		if (asked.get(name))
			query.set(name, String(asked.get(name)));
	const mayManage = mayDo(session, 'manage'), table = instrumentTable();
	const [areas, list] = await Promise.all([
		call('GET', '/areas').then(answer => answer.items),
		pagedList({path: '/instruments', query, words: n => n === 1 ? '1 instrument' : `${n} instruments`, add: items => {
			const rows = items.map(item => instrumentRow(item, session.today));
			table.body.append(...rows);
			return rows[0] ?? null;
		}}),
	]);
	const search = /** @type {HTMLInputElement|null} */ (document.getElementById('search'));
	if (search)
		search.value = query.get('q') ?? '';

	if (!list.count && ![...query].length) {
		fill(byId('main'), nothing(query, mayManage), areaPart(areas, mayManage, () => location.reload()));
		return;
	}
	fill(byId('main'),
		h('div', {class: 'spread'}, h('p', {class: 'lead'}, sentence(areas)),
			mayManage && h('a', {class: 'button no-print', href: '/instrument?new=1'}, 'Add an instrument')),
		filters(query, areas),
		list.count ? table.element : nothing(query, mayManage), list.more,
		areaPart(areas, mayManage, () => location.reload()));
	keepPlace();
});

/** @param {any[]} areas */
function sentence(areas) {
	const n = areas.reduce((sum, area) => sum + area.instruments, 0);

	return `${n === 1 ? 'One instrument' : `${n} instruments`} in ${areas.length === 1 ? 'one area' : `${areas.length} areas`}.`;
}

/** @param {URLSearchParams} query @param {any[]} areas */
function filters(query, areas) {
	const word = (/** @type {string} */ stem, /** @type {string} */ value) => /** @type {[string, string]} */ ([value, t(`${stem}.${value}`)]);

	return h('form', {class: 'filters no-print', action: '/instruments', 'aria-label': 'Which instruments',
		onchange: (/** @type {any} */ event) => event.target.tagName === 'SELECT' && event.currentTarget.requestSubmit(),
		onsubmit: dropEmpty},
	field({name: 'q', label: 'Tag or service', type: 'search', value: query.get('q'), width: 'wide'}),
	field({name: 'area', label: 'Area', value: query.get('area') ?? '', options: [['', 'all areas'], ...areas.map(area => /** @type {[string, string]} */ ([area.id, area.path]))]}),
	field({name: 'kind', label: 'Kind', value: query.get('kind') ?? '', options: [['', 'all kinds'], ...KINDS.map(kind => word('kind', kind))]}),
	field({name: 'status', label: 'Status', value: query.get('status') ?? '', options: [['', 'any'], ...STATUSES.map(status => word('status', status))]}),
	h('button', {}, 'Search'));
}

/** An address holds only what was chosen. @param {Event} event */
function dropEmpty(event) {
	for (const input of /** @type {any} */ (event.currentTarget).elements)
		if (input.name && !input.value)
			input.disabled = true;
}

/** @param {URLSearchParams} query @param {boolean} mayManage */
function nothing(query, mayManage) {
	if ([...query].length)
		return h('div', {class: 'empty part'}, h('h2', {}, 'No such instrument'), h('div', {},
			h('p', {}, query.get('q') ? `No tag and no service holds \u201c${query.get('q')}\u201d here.` : 'There is none for this choice.'), h('p', {}, h('a', {href: '/instruments'}, 'Show all instruments'))));
	return h('div', {class: 'empty part'}, h('h2', {}, 'No instruments yet'), h('div', {},
		h('p', {}, 'This is the register of the plant: every transmitter, valve, switch and gauge that is tested, with its range, its loop and what can hurt you there. Tests, certificates and due dates hang on it.'),
		mayManage ? h('p', {}, h('a', {class: 'button primary', href: '/instrument?new=1'}, 'Add the first instrument')) : h('p', {}, 'The metrology lead adds them.')));
}
