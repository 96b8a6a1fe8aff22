/* The versions of a procedure: which one stands, who approved it, what came before. */
import {h} from '../../lib/dom.js';
import {date, time} from '../../lib/format.js';
import {mark} from '../../lib/mark.js';

/** The word of a version's state with its mark. @param {string} state */
export function stateWords(state) {
	return h('span', {class: `verdict ${state === 'approved' ? 'ok' : 'muted'}`}, state !== 'superseded' && mark(state === 'approved' ? 'pass' : 'not_judged'), h('span', {}, state));
}

/** @param {any} procedure @param {string} shown id of the version on the page */
export function versionsPart(procedure, shown) {
	return h('section', {class: 'part', id: 'versions'}, h('h2', {}, 'Versions'), h('ul', {class: 'rows version-rows'}, procedure.versions.map((/** @type {any} */ version) => h('li', {},
		h('span', {class: 'version-number'}, version.id === shown ? h('b', {'aria-current': 'true'}, `version ${version.number}`) : h('a', {href: `/procedure?id=${procedure.id}&version=${version.id}`}, `version ${version.number}`)),
		stateWords(version.state),
		h('span', {class: 'muted'}, version.approved_at ? `by ${version.approved_by}, ${time(version.approved_at)}` : `begun by ${version.created_by}, ${date(version.created_at)}`)))));
}
