/*
 * Where limits can be taken from: the plant's tolerance rules, and the classes of the standards that terms can say. Read once a
 * page, when a part of it first asks.
 */
import {call} from '../../lib/api.js';
import {fill, h, uniqueId} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';
import {readRows} from '../../lib/paged.js';
import {figure} from '../../lib/quantity.js';
import {toleranceTyped} from './document.js';

/** @typedef {{key: string, name: string, note: string, rule: any}} Source */

/** @type {Promise<{rules: Source[], classes: Source[]}>|null} */
let known = null;

/** The plant's rules, as many as there are. @returns {Promise<any[]>} */
export async function readRules() {
	return (await readRows('/tolerance-rules', new URLSearchParams(), 2000)).items;
}

/** @returns {Promise<any[]>} */
export async function readClasses() {
	return (await call('GET', '/tolerance-classes')).items;
}

function sources() {
	known ??= Promise.all([readRules(), readClasses()]).then(([rules, classes]) => ({
		rules: rules.map(rule => ({key: `rule ${rule.id}`, name: rule.name, note: '', rule: rule.rule})),
		/* what terms cannot say is no source of limits */
		classes: classes.filter(one => one.rule).map(one => ({key: `class ${one.code}`, name: one.title, rule: one.rule,
			note: `It holds from ${figure(one.low)} to ${figure(one.high)} \u00b0C, for an output in \u00b0C: ${shown(one.words)}.`})),
	}));
	known.catch(() => { known = null; });
	return known;
}

/**
 * A choice whose taking replaces the limits.
 *
 * @param {{label: string, key: string, take: (typed: any, from: string) => void}} spec
 * @returns {HTMLElement}
 */
export function sourceChoice({label, key, take}) {
	const id = uniqueId('source');
	const select = /** @type {HTMLSelectElement} */ (h('select', {id, 'data-key': key}, h('option', {value: ''}, 'a rule or a class \u2026')));
	/** @type {Map<string, Source>} */
	const byKey = new Map();
	const group = (/** @type {string} */ title, /** @type {Source[]} */ list) => list.length > 0 && h('optgroup', {label: title}, list.map(source => {
		byKey.set(source.key, source);
		return h('option', {value: source.key}, source.name);
	}));

	sources().then(({rules, classes}) => fill(select, select.firstElementChild, group('Rules of the plant', rules), group('Classes, output in \u00b0C', classes)),
		() => fill(select, h('option', {value: ''}, 'could not be read')));
	select.addEventListener('change', () => {
		const source = byKey.get(select.value);
		if (source)
			take(toleranceTyped(source.rule), `Taken from \u201c${source.name}\u201d. ${source.note}`.trim());
	});
	return h('p', {class: 'sentence limit-source'}, h('label', {for: id, class: 'muted'}, 'Take them from', h('span', {class: 'visually-hidden'}, ` for ${label}`)), h('span', {class: 'blank choice-blank'}, select));
}
