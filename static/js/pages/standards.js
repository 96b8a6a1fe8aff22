/* Standards: the traceable equipment, and whether its certificates hold today. */
import {mayDo, startPage} from '../features/frame/frame.js';
import {stateWords, uncertaintyText} from '../features/standards/view.js';
import {byId, fill, h} from '../lib/dom.js';
import {field} from '../lib/form.js';
import {pagedList} from '../lib/paged.js';
import {keepPlace} from '../lib/place.js';
import {rangeText} from '../lib/quantity.js';

startPage(async session => {
	const q = new URLSearchParams(location.search).get('q'), body = h('tbody', {}), mayManage = mayDo(session, 'manage');
	const list = await pagedList({path: '/standards', query: new URLSearchParams(q ? {q} : {}), words: n => n === 1 ? '1 standard' : `${n} standards`, add: items => {
		const rows = items.map(item => row(item, session.today));
		body.append(...rows);
		return rows[0] ?? null;
	}});

	fill(byId('main'),
		h('div', {class: 'spread'}, h('p', {class: 'lead'}, 'What the plant measures with, and whether its certificates hold.'),
			mayManage && (list.count > 0 || q) && h('a', {class: 'button no-print', href: '/standard?new=1'}, 'Add a standard')),
		(list.count > 0 || q) && h('form', {class: 'filters no-print', action: '/standards', 'aria-label': 'Which standards'}, field({name: 'q', label: 'Code, name or quantity', type: 'search', value: q, width: 'wide'}), h('button', {}, 'Search')),
		list.count ? h('div', {class: 'table-frame'}, h('table', {class: 'stack standards'},
			h('thead', {}, h('tr', {}, ['Code', 'Name', 'Certificate', 'Quantity', 'Range', 'Uncertainty U'].map(head => h('th', {scope: 'col'}, head)))), body)) : nothing(q, mayManage),
		list.more);
	keepPlace();
});

/** @param {any} standard @param {string} today */
function row(standard, today) {
	return h('tr', {},
		h('th', {scope: 'row', class: 'nowrap'}, h('a', {class: 'tag', href: `/standard?id=${standard.id}`}, standard.code)),
		h('td', {}, standard.name), h('td', {'data-label': 'certificate', class: 'standard-state'}, stateWords(standard, today)), h('td', {'data-label': 'quantity', class: 'muted'}, standard.quantity),
		h('td', {'data-label': 'range', class: 'nowrap'}, standard.calibration && rangeText(standard.calibration)),
		h('td', {'data-label': 'uncertainty'}, standard.calibration && uncertaintyText(standard.calibration)));
}

/** @param {string|null} q @param {boolean} mayManage */
function nothing(q, mayManage) {
	if (q)
		return h('div', {class: 'empty part'}, h('h2', {}, 'No such standard'), h('div', {}, h('p', {}, `Nothing holds \u201c${q}\u201d.`), h('p', {}, h('a', {href: '/standards'}, 'Show all standards'))));
	return h('div', {class: 'empty part'}, h('h2', {}, 'No standards yet'), h('div', {},
		h('p', {}, 'A reference standard is what a test takes as the truth: a loop calibrator, a pressure module, a dry block, each with a certificate that says its uncertainty and how long it holds.'),
		mayManage ? h('p', {}, h('a', {class: 'button primary', href: '/standard?new=1'}, 'Add the first standard')) : h('p', {}, 'The metrology lead adds them.')));
}
