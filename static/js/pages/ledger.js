/* Ledger: every change there ever was, newest first, chained so that none can be taken back unseen. */
import {startPage} from '../features/frame/frame.js';
import {chainCheck} from '../features/ledger/check.js';
import {entryLine} from '../features/ledger/entry.js';
import {NAMES, filters, takeAlong} from '../features/ledger/filters.js';
import {call} from '../lib/api.js';
import {dayColumn} from '../lib/days.js';
import {byId, fill, h} from '../lib/dom.js';
import {pagedList} from '../lib/paged.js';
import {keepPlace} from '../lib/place.js';

startPage(async () => {
	const asked = new URLSearchParams(location.search), query = new URLSearchParams(), column = dayColumn('Entries of the ledger');

	for (const name of NAMES)
		if (asked.get(name))
			query.set(name, String(asked.get(name)));
	const [people, list] = await Promise.all([
		call('GET', '/people').then(answer => answer.items),
		pagedList({path: '/ledger', query, words: n => n === 1 ? '1 entry' : `${n} entries`, add: items => items.map(entry => column.add(entry.at, entryLine(entry)))[0] ?? null}),
	]);

	fill(byId('main'),
		h('div', {class: 'spread'}, h('p', {class: 'lead'}, 'Every change, who made it and when, newest first.'), chainCheck()),
		filters(query, people),
		list.count ? column.element : h('div', {class: 'empty part'}, h('h2', {}, 'Nothing here'), h('div', {}, h('p', {}, 'No entry fits this choice.'), h('p', {}, h('a', {href: '/ledger'}, 'Show every entry')))),
		list.more,
		list.count > 0 && takeAlong(query));
	keepPlace();
});
