/* Tolerance rules: how far an error may go, by name; and the classes that standards set. */
import {mayDo, startPage} from '../features/frame/frame.js';
import {classTables} from '../features/procedures/classes.js';
import {ruleWords} from '../features/procedures/rule.js';
import {readClasses, readRules} from '../features/procedures/sources.js';
import {procedureWords} from '../features/procedures/words.js';
import {byId, fill, h} from '../lib/dom.js';
import {keepPlace} from '../lib/place.js';

startPage(async session => {
	const [rules, classes] = await Promise.all([readRules(), readClasses()]), mayManage = mayDo(session, 'manage');

	fill(byId('main'), procedureWords('/tolerances'),
		h('div', {class: 'spread'}, h('p', {class: 'lead'}, 'How far an error may go. A procedure takes its limits from here; what it took stays as it was when a rule is changed.'),
			mayManage && rules.length > 0 && h('a', {class: 'button no-print', href: '/tolerance?new=1'}, 'Write a rule')),
		h('section', {class: 'part'}, h('h2', {}, 'Rules of the plant'), rules.length ? ruleTable(rules) : nothing(mayManage)),
		h('section', {class: 'part', id: 'classes'}, h('h2', {}, 'Classes of thermometers'), h('div', {class: 'stacked-parts'},
			h('p', {class: 'prose muted'}, 'How far the temperature that an element tells may lie from the true one. They are ready as limits of a procedure whose instrument gives \u00b0C.'), classTables(classes))));
	keepPlace();
});

/** @param {any[]} rules */
function ruleTable(rules) {
	return h('div', {class: 'table-frame'}, h('table', {class: 'stack'},
		h('thead', {}, h('tr', {}, ['Name', 'The error may be'].map(head => h('th', {scope: 'col'}, head)))),
		h('tbody', {}, rules.map(rule => h('tr', {}, h('th', {scope: 'row'}, h('a', {class: 'tag', href: `/tolerance?id=${rule.id}`}, rule.name)), h('td', {'data-label': 'error'}, h('span', {}, ruleWords(rule.rule))))))));
}

/** @param {boolean} mayManage */
function nothing(mayManage) {
	return h('div', {class: 'empty'}, h('p', {}, 'None yet. A rule says once how far an error may go, in its own unit or in % of span, of reading, of the high end.'),
		mayManage ? h('p', {}, h('a', {class: 'button primary', href: '/tolerance?new=1'}, 'Write the first rule')) : h('p', {}, 'The metrology lead writes them.'));
}
