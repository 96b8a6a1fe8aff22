/* Ledger: every change there ever was, newest first, chained so that none can be taken back unseen. */
import {startPage} from '../features/frame/frame.js';
import {chainCheck} from '../features/ledger/check.js';
import {THINGS, entryLine} from '../features/ledger/entry.js';
import {call} from '../lib/api.js';
import {dayColumn} from '../lib/days.js';
import {byId, fill, h} from '../lib/dom.js';
import {field} from '../lib/form.js';
import {pagedList} from '../lib/paged.js';
import {keepPlace} from '../lib/place.js';

startPage(async () => {
	const asked = new URLSearchParams(location.search), query = new URLSearchParams(), column = dayColumn('Entries of the ledger');

	for (const name of ['thing', 'thing_id', 'person', 'q'])
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
		list.more);
	keepPlace();
});

/** @param {URLSearchParams} query @param {any[]} people */
function filters(query, people) {
	return h('form', {class: 'filters no-print', action: '/ledger', 'aria-label': 'Which entries', onchange: (/** @type {any} */ event) => event.target.tagName === 'SELECT' && event.currentTarget.requestSubmit(), onsubmit: dropEmpty},
		field({name: 'q', label: 'Words in it', type: 'search', value: query.get('q'), width: 'wide'}),
		field({name: 'thing', label: 'Thing', value: query.get('thing') ?? '', options: [['', 'anything'], .../** @type {Array<[string, string]>} */ (Object.entries(THINGS))]}),
		field({name: 'person', label: 'Who', value: query.get('person') ?? '', options: [['', 'anybody'], ...people.map(person => /** @type {[string, string]} */ ([person.id, person.name]))]}),
		h('button', {}, 'Search'),
		query.get('thing_id') && h('p', {class: 'muted'}, 'One thing alone. ', h('a', {href: '/ledger'}, 'Show every entry')));
}

/** An address holds only what was chosen. @param {Event} event */
function dropEmpty(event) {
	for (const input of /** @type {any} */ (event.currentTarget).elements)
		if (input.name && !input.value)
			input.disabled = true;
}
