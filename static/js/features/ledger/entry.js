/* An entry of the ledger as a dated line: who did what to which thing, and what changed, before and after side by side. */
import {h, unbroken} from '../../lib/dom.js';
import {clock, date, time} from '../../lib/format.js';
import {figure, shortHash} from '../../lib/quantity.js';
import {memberChanges, wordChanges} from '../../lib/diff.js';

export const THINGS = {instrument: 'instrument', schedule: 'plan', area: 'area', procedure: 'procedure', procedure_version: 'procedure version', tolerance_rule: 'tolerance rule', standard: 'standard',
	standard_calibration: 'certificate of a standard', test_record: 'test record', finding: 'finding', person: 'person', setting: 'settings', certificate: 'certificate', channel: 'channel', seal: 'seal', ledger_entry: 'ledger'};

const DEEDS = {add: 'added', change: 'changed', remove: 'removed', approve: 'approved', password: 'set the password of', sign: 'signed', sign_in: 'signed in', sign_out: 'signed out', close: 'closed', 'void': 'made void', 'return': 'returned', issue: 'issued the certificate of', seal: 'sealed',
	choose: 'chose the standards of', acknowledge: 'acknowledged a caution of', read: 'entered a reading in', undo: 'took back a reading of', answer: 'answered a check of', adjust: 'noted the adjustment of', open: 'opened', amend: 'opened an amendment of', start: 'began a run of', arm: 'armed the source for', drive: 'drove the source for', safe: 'left the source at its safe value after', stop: 'stopped driving for', finish: 'ended driving for', renew: 'renewed the certificate of the', limit: 'stated limited use in', lift: 'lifted the limitation of', attach: 'attached a modem to', accept: 'went on after a change from outside in'};
const PAGES = {instrument: '/instrument', standard: '/standard', test_record: '/record', person: '/person', procedure: '/procedure'};
const QUIET = new Set(['version', 'updated_at', 'created_at', 'id', 'area']);

/** @param {any} entry */
export function entryLine(entry) {
	const page = PAGES[/** @type {'instrument'} */ (entry.thing)], thing = THINGS[/** @type {'instrument'} */ (entry.thing)] ?? entry.thing.replaceAll('_', ' ');
	const about = entry.thing === 'person' && entry.action.startsWith('sign') ? null : [` ${thing} `, page && entry.thing_id ? h('a', {href: `${page}?id=${entry.thing_id}`}, entry.label ? unbroken(entry.label) : thing) : h('b', {}, entry.label && unbroken(entry.label))];

	return h('li', {class: 'entry', id: `entry-${entry.number}`},
		h('p', {class: 'entry-head'}, h('time', {class: 'muted', datetime: entry.at}, clock(entry.at)),
			h('span', {}, h('b', {}, entry.person ?? 'Loopledger'), ` ${DEEDS[/** @type {'add'} */ (entry.action)] ?? entry.action.replaceAll('_', ' ')}`, about, entry.reason && h('span', {class: 'muted'}, ` (${entry.reason})`)),
			h('span', {class: 'muted small entry-number', title: entry.hash}, `${entry.number}, ${shortHash(entry.hash)}`)),
		changes(entry));
}

/** @param {any} entry */
function changes({before, after}) {
	if (!before || !after)
		return (after ?? before) && written(after ?? before, Boolean(after));
	const list = memberChanges(before, after).filter(shows);

	if (list.length > 0 && list.every(change => change.before === undefined && isGroup(change.after)))
		return written(after, true);
	return list.length > 0 && table(list.flatMap(change => isGroup(change.before) || isGroup(change.after) ? memberSides(change) : [change]), true);
}

/** What came or went as a whole, folded away. @param {any} document @param {boolean} now */
function written(document, now) {
	const list = flat(memberChanges({}, document)).filter(change => shows(change) && change.after !== null && change.after !== '');

	return list.length > 0 && h('details', {class: 'entry-details'}, h('summary', {}, now ? 'What was written' : 'What it said'), table(list, false));
}

/** @param {import('../../lib/diff.js').Change} change */
function shows({path}) {
	return !QUIET.has(String(path.at(-1)));
}

/** An object, or a list of objects; a list of words or numbers is one value. @param {any} value @returns {boolean} */
function isGroup(value) {
	return Array.isArray(value) ? value.some(isGroup) : value !== null && typeof value === 'object';
}

/** A member that was an object, or became one, in its own members. @param {import('../../lib/diff.js').Change} change @returns {import('../../lib/diff.js').Change[]} */
function memberSides({path, before, after}) {
	const members = (/** @type {any} */ value) => flat([{path, before: undefined, after: value ?? null}]).filter(change => change.after !== null && shows(change));

	return [...members(before).map(change => ({path: change.path, before: change.after, after: undefined})), ...members(after)];
}

/** An object that came as a whole is shown member by member. @param {import('../../lib/diff.js').Change[]} list @returns {import('../../lib/diff.js').Change[]} */
function flat(list) {
	return list.flatMap(change => isGroup(change.after) && Object.keys(change.after).length
		? flat(Object.entries(change.after).map(([name, value]) => ({path: [...change.path, Array.isArray(change.after) ? Number(name) : name], before: undefined, after: value})))
		: [change]);
}

/** @param {import('../../lib/diff.js').Change[]} list @param {boolean} both */
function table(list, both) {
	return h('div', {class: 'table-frame'}, h('table', {class: 'stack change-table'},
		h('thead', {class: both ? '' : 'visually-hidden'}, h('tr', {}, h('th', {scope: 'col'}, h('span', {class: 'visually-hidden'}, 'Member')), both && h('th', {scope: 'col'}, 'Before'), h('th', {scope: 'col'}, both ? 'After' : 'Value'))),
		h('tbody', {}, list.map(change => h('tr', {}, h('th', {scope: 'row', class: 'muted'}, pathWords(change.path)), both ? sides(change) : h('td', {}, words(change.after)))))));
}

/** 'steps, 2, settle s': counted from one, as people do. @param {Array<string|number>} path */
export function pathWords(path) {
	return path.map(step => typeof step === 'number' ? step + 1 : step.replaceAll('_', ' ')).join(', ');
}

/** @param {import('../../lib/diff.js').Change} change */
function sides({before, after}) {
	if (typeof before === 'string' && typeof after === 'string' && before && after) {
		const pieces = wordChanges(dayWords(before), dayWords(after));
		if (!/^[0-9a-f]{64}$/.test(before))
			return [h('td', {'data-label': 'before'}, side(pieces, 'gone', 'del')), h('td', {'data-label': 'after'}, side(pieces, 'new', 'ins'))];
	}
	return [h('td', {'data-label': 'before'}, before == null || before === '' ? h('span', {class: 'muted'}, 'nothing') : h('del', {}, words(before))),
		h('td', {'data-label': 'after'}, after == null || after === '' ? h('span', {class: 'muted'}, 'nothing') : h('ins', {}, words(after)))];
}

/** One side of a changed text; the space after a changed word is not marked. @param {import('../../lib/diff.js').Piece[]} pieces @param {string} kind @param {string} tag */
function side(pieces, kind, tag) {
	return h('span', {}, pieces.map(piece => {
		if (piece.kind !== kind)
			return piece.kind === 'same' && piece.text;
		const text = piece.text.trimEnd();
		return [h(tag, {}, text), piece.text.slice(text.length)];
	}));
}

/** A value that is a date or a time stands as on the other pages; a text that holds one stays as it was written. @param {string} value */
export function dayWords(value) {
	if (/^\d{4}-\d\d-\d\d$/.test(value))
		return date(value);
	return /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z$/.test(value) ? time(value) : value;
}

/** @param {any} value */
function words(value) {
	if (typeof value === 'number')
		return figure(value);
	if (typeof value === 'boolean')
		return value ? 'yes' : 'no';
	if (typeof value === 'string')
		return /^[0-9a-f]{64}$/.test(value) ? h('span', {class: 'code', title: value}, shortHash(value)) : dayWords(value);
	return Array.isArray(value) && value.every(item => typeof item !== 'object') ? value.map(item => words(item)).join(', ') : JSON.stringify(value, null, 1);
}
