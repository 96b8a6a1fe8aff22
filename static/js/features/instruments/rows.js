/* The register as a table: one row a tag. */
import {h} from '../../lib/dom.js';
import {date, dueWords} from '../../lib/format.js';
import {verdict} from '../../lib/mark.js';
import {rangeText} from '../../lib/quantity.js';
import {t} from '../../lib/words.js';

const DAY = 86400000;

export function instrumentTable() {
	const body = h('tbody', {});
	const heads = ['Tag', 'Service', 'Area', 'Range', 'Due', 'Last as found'];

	return {body, element: h('div', {class: 'table-frame'}, h('table', {class: 'register'},
		h('thead', {}, h('tr', {}, heads.map(head => h('th', {scope: 'col'}, head)))), body))};
}

/** @param {any} instrument a summary @param {string} today */
export function instrumentRow(instrument, today) {
	const days = instrument.due_on && Math.round((Date.parse(instrument.due_on) - Date.parse(today)) / DAY);

	return h('tr', {},
		h('th', {scope: 'row', class: 'tag-cell'}, h('a', {class: 'tag', href: `/instrument?id=${instrument.id}`}, instrument.tag)),
		h('td', {class: 'service-cell'}, instrument.service, instrument.status !== 'in_service' && h('span', {class: 'muted'}, ` (${t(`status.${instrument.status}`)})`)),
		h('td', {class: 'area-cell muted'}, instrument.area),
		h('td', {class: 'range-cell nowrap'}, rangeText(instrument.input)),
		h('td', {class: 'due-cell nowrap'}, instrument.due_on ? h('span', {class: days < 0 ? 'bad late' : '', title: date(instrument.due_on)}, dueWords(days)) : h('span', {class: 'muted'}, 'not planned')),
		h('td', {class: 'found-cell'}, instrument.last_verdict ? verdict(instrument.last_verdict) : h('span', {class: 'muted nowrap'}, 'never tested')));
}
