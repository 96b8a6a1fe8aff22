/*
 * Dated lines: one part a day, the date in the margin, newest first.
 *
 *   const column = dayColumn('Entries');
 *   column.add(entry.at, h('li', …));      lines come in order; those of one day stand together
 *   fill(main, column.element);
 */
import {h} from './dom.js';
import {date} from './format.js';

/** @param {string} label what the lines are, for who cannot see them */
export function dayColumn(label) {
	const element = h('div', {class: 'days', role: 'group', 'aria-label': label});
	let last = '', list = h('ol', {class: 'lines'});

	return {
		element,
		/** @param {string} at @param {HTMLElement} line an <li> */
		add(at, line) {
			const day = date(at);
			if (day !== last) {
				list = h('ol', {class: 'lines'});
				element.append(h('section', {class: 'part day'}, h('h2', {}, h('time', {datetime: at.slice(0, 10)}, day)), list));
				last = day;
			}
			list.append(line);
			return line;
		},
	};
}
