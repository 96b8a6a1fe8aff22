/* What stands beside the procedures: the rules they take their limits from, the budgets, and curves through tables. */
import {h} from '../../lib/dom.js';

const PLACES = [['/procedures', 'Procedures'], ['/tolerances', 'Tolerance rules'], ['/uncertainty', 'Uncertainty'], ['/curve', 'Curves']];

/** @param {string} here the path of this page, or of the list it belongs to */
export function procedureWords(here) {
	return h('nav', {class: 'words no-print', 'aria-label': 'Procedures and what they rest on'},
		h('ul', {}, PLACES.map(([path, word]) => h('li', {}, h('a', {href: path, 'aria-current': path === here && 'true'}, word)))));
}
