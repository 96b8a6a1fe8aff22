/* The load of the coming twelve months: a table whose bars are drawn beside the numbers. */
import {h, s} from '../../lib/dom.js';
import {monthName} from '../../lib/format.js';

const WIDTH = 160, HEIGHT = 14;

/** @param {{month: string, due: number, done: number}[]} months */
export function monthsTable(months) {
	const most = Math.max(1, ...months.map(month => month.due + month.done));

	return h('table', {class: 'months'},
		h('caption', {}, 'The coming twelve months'),
		h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, 'month'), h('th', {}, h('span', {class: 'visually-hidden'}, 'load')),
			h('th', {scope: 'col', class: 'number'}, 'due'), h('th', {scope: 'col', class: 'number'}, 'done'))),
		h('tbody', {}, months.map((month, i) => h('tr', {},
			h('th', {scope: 'row'}, monthName(month.month, i === 0 || month.month.endsWith('-01'))),
			h('td', {class: 'bar'}, bar(month, most)),
			h('td', {class: 'number'}, month.due),
			h('td', {class: 'number muted'}, month.done || '\u2013')))));
}

/** Done is filled, still due is outlined. @param {{due: number, done: number}} month @param {number} most */
function bar({due, done}, most) {
	const scale = (WIDTH - 2) / most;

	return s('svg', {viewBox: `0 0 ${WIDTH} ${HEIGHT}`, class: 'month-bar', 'aria-hidden': 'true', preserveAspectRatio: 'none'},
		done > 0 && s('rect', {class: 'month-done', x: 1, y: 1, width: done * scale, height: HEIGHT - 2}),
		due > 0 && s('rect', {class: 'month-due', x: 1 + done * scale, y: 1, width: due * scale, height: HEIGHT - 2}));
}
