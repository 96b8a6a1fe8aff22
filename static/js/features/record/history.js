/* What happened to the record, from the ledger, newest first. */
import {h} from '../../lib/dom.js';
import {time} from '../../lib/format.js';

/** @param {any} record @param {any[]} entries */
export function historyPart(record, entries) {
	return entries.length > 0 && h('section', {class: 'part'}, h('h2', {}, 'History'), h('div', {},
		h('ul', {class: 'rows'}, entries.map(entry => h('li', {class: 'spread'},
			h('span', {}, h('b', {}, entry.action.replaceAll('_', ' ')), ` by ${entry.person ?? 'the program'}`, entry.reason && h('span', {class: 'block muted'}, entry.reason)),
			h('span', {class: 'muted small'}, `${time(entry.at)} \u00b7 entry ${entry.number}`)))),
		h('p', {class: 'no-print'}, h('a', {href: `/ledger?thing=test_record&thing_id=${record.id}`}, 'These entries in the ledger, with before and after'))));
}
