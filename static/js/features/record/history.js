/* What happened to the record, from the ledger, newest first. What one person did over and over is one line. */
import {h} from '../../lib/dom.js';
import {clock, date, time} from '../../lib/format.js';

/** @type {Record<string, string>} */
const DEEDS = {
	add: 'opened the test', choose: 'chose the standards', acknowledge: 'acknowledged a caution', answer: 'answered a check', read: 'entered a reading', undo: 'took back a reading',
	change: 'changed what is noted', adjust: 'noted the adjustment', sign: 'signed', 'return': 'returned it', issue: 'issued the certificate', seal: 'sealed the certificate', 'void': 'made it void', amend: 'opened an amendment', start: 'began a run', arm: 'armed the source', drive: 'drove the source', safe: 'left the source at its safe value', stop: 'stopped driving', finish: 'ended driving', limit: 'stated limited use', lift: 'lifted the limitation', attach: 'attached a modem',
};

/** @typedef {{number: number, at: string, action: string, person: string|null, reason: string|null}} Entry */
/** @typedef {{person: string, deed: string, reason: string, count: number, first: Entry, last: Entry}} Doing first is the oldest */

/** Entries of the ledger, newest first, as lines: those in a row of one person, one deed and one reason together. @param {Entry[]} entries @returns {Doing[]} */
export function doings(entries) {
	/** @type {Doing[]} */
	const lines = [];

	for (const entry of entries) {
		const person = entry.person ?? 'Loopledger', deed = DEEDS[entry.action] ?? entry.action.replaceAll('_', ' '), reason = entry.reason ?? '', line = lines.at(-1);

		if (line && line.person === person && line.deed === deed && line.reason === reason) {
			line.count += 1;
			line.first = entry;
		} else {
			lines.push({person, deed, reason, count: 1, first: entry, last: entry});
		}
	}
	return lines;
}

/** @param {any} record @param {Entry[]} entries */
export function historyPart(record, entries) {
	return entries.length > 0 && h('section', {class: 'part'}, h('h2', {}, 'History'), h('div', {},
		h('ul', {class: 'rows'}, doings(entries).map(line => h('li', {class: 'spread'},
			h('span', {}, h('b', {}, line.person), ` ${line.deed}`, line.count > 1 && `, ${line.count} times`, line.reason && h('span', {class: 'block muted'}, line.reason)),
			h('span', {class: 'muted small'}, when(line))))),
		h('p', {class: 'no-print'}, h('a', {href: `/ledger?thing=test_record&thing_id=${record.id}`}, 'These entries in the ledger, with before and after'))));
}

/** @param {Doing} line */
function when({first, last, count}) {
	const began = time(first.at), ended = date(first.at) === date(last.at) ? clock(last.at) : time(last.at);

	return `${began.endsWith(ended) ? began : `${began} to ${ended}`} \u00b7 ${count === 1 ? `entry ${first.number}` : `entries ${first.number} to ${last.number}`}`;
}
