/* Procedures: how the plant tests, one line each, with the version that stands. */
import {mayDo, startPage} from '../features/frame/frame.js';
import {stateWords} from '../features/procedures/versions.js';
import {procedureWords} from '../features/procedures/words.js';
import {byId, fill, h} from '../lib/dom.js';
import {field} from '../lib/form.js';
import {date} from '../lib/format.js';
import {pagedList} from '../lib/paged.js';
import {keepPlace} from '../lib/place.js';

startPage(async session => {
	const q = new URLSearchParams(location.search).get('q'), query = new URLSearchParams(q ? {q} : {});
	const body = h('tbody', {}), mayManage = mayDo(session, 'manage');
	const list = await pagedList({path: '/procedures', query, words: n => n === 1 ? '1 procedure' : `${n} procedures`, add: items => {
		const rows = items.map(row);
		body.append(...rows);
		return rows[0] ?? null;
	}});

	fill(byId('main'), procedureWords('/procedures'),
		h('div', {class: 'spread'}, h('p', {class: 'lead'}, 'How each kind of instrument is tested, and how far it may be off.'),
			mayManage && (list.count > 0 || q) && h('a', {class: 'button no-print', href: '/procedure?new=1'}, 'Write a procedure')),
		(list.count > 0 || q) && h('form', {class: 'filters no-print', action: '/procedures', 'aria-label': 'Which procedures'}, field({name: 'q', label: 'Code or title', type: 'search', value: q, width: 'wide'}), h('button', {}, 'Search')),
		list.count ? h('div', {class: 'table-frame'}, h('table', {class: 'stack procedures'},
			h('thead', {}, h('tr', {}, ['Code', 'Title', 'In force', 'Being written', 'Planned for'].map(head => h('th', {scope: 'col'}, head)))), body)) : nothing(q, mayManage),
		list.more);
	keepPlace();
});

/** @param {any} procedure */
function row({id, code, title, approved, draft, schedules}) {
	return h('tr', {},
		h('th', {scope: 'row', class: 'nowrap'}, h('a', {class: 'tag', href: `/procedure?id=${id}`}, code)),
		h('td', {}, title),
		h('td', {'data-label': 'in force'}, approved ? h('span', {}, `version ${approved.number}`, h('span', {class: 'muted'}, ` by ${approved.approved_by}, ${date(approved.approved_at)}`)) : h('span', {class: 'muted'}, 'none yet')),
		h('td', {'data-label': 'being written'}, draft && [stateWords('draft'), h('span', {class: 'visually-hidden'}, ` version ${draft.number}`)]),
		h('td', {class: 'nowrap', 'data-label': 'planned for'}, schedules === 1 ? '1 instrument' : `${schedules} instruments`));
}

/** @param {string|null} q @param {boolean} mayManage */
function nothing(q, mayManage) {
	if (q)
		return h('div', {class: 'empty part'}, h('h2', {}, 'No such procedure'), h('div', {}, h('p', {}, `No code and no title holds \u201c${q}\u201d.`), h('p', {}, h('a', {href: '/procedures'}, 'Show all procedures'))));
	return h('div', {class: 'empty part'}, h('h2', {}, 'No procedures yet'), h('div', {},
		h('p', {}, 'A procedure says what to prepare, what can hurt, which points to run and how far the error may go. It is written as a draft and signed before anybody tests by it.'),
		mayManage ? h('p', {}, h('a', {class: 'button primary', href: '/procedure?new=1'}, 'Write the first procedure')) : h('p', {}, 'The metrology lead writes them.')));
}
