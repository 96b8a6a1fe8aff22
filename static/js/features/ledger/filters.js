/* Which entries of the ledger are shown: by words, thing, person, member and time; and the same ones to take along. */
import {h} from '../../lib/dom.js';
import {field} from '../../lib/form.js';
import {THINGS} from './entry.js';

export const NAMES = ['q', 'thing', 'thing_id', 'person', 'field', 'from', 'until'];

/** @param {URLSearchParams} query @param {any[]} people */
export function filters(query, people) {
	const member = field({name: 'field', label: 'Member that changed', value: (query.get('field') ?? '').replaceAll('_', ' '), attributes: {placeholder: 'due on', autocomplete: 'off', spellcheck: 'false'}});

	return h('form', {class: 'filters no-print', action: '/ledger', 'aria-label': 'Which entries', onchange: (/** @type {any} */ event) => event.target.tagName === 'SELECT' && event.currentTarget.requestSubmit(), onsubmit: tidy},
		field({name: 'q', label: 'Words in it', type: 'search', value: query.get('q'), width: 'wide'}),
		field({name: 'thing', label: 'Thing', value: query.get('thing') ?? '', options: [['', 'anything'], .../** @type {Array<[string, string]>} */ (Object.entries(THINGS))]}),
		field({name: 'person', label: 'Who', value: query.get('person') ?? '', options: [['', 'anybody'], ...people.map(person => /** @type {[string, string]} */ ([person.id, person.name]))]}),
		h('span', {class: 'row-end'}),
		member,
		field({name: 'from', label: 'From', type: 'date', value: query.get('from') ?? ''}),
		field({name: 'until', label: 'To', type: 'date', value: query.get('until') ?? ''}),
		h('button', {}, 'Search'),
		NAMES.some(name => query.get(name)) && h('p', {class: 'muted'}, query.get('thing_id') ? 'One thing alone. ' : null, h('a', {href: '/ledger'}, 'Show every entry')));
}

/** An address holds only what was chosen, and a member by its own name. @param {Event} event */
function tidy(event) {
	for (const input of /** @type {any} */ (event.currentTarget).elements) {
		if (input.name === 'field')
			input.value = input.value.trim().replaceAll(' ', '_');
		if (input.name && !input.value)
			input.disabled = true;
	}
}

/** @param {URLSearchParams} query */
export function takeAlong(query) {
	const link = (/** @type {string} */ format, /** @type {string} */ words) => h('a', {class: 'button', href: `/api/v1/ledger/export?${new URLSearchParams([...query, ['format', format]])}`, download: `ledger.${format}`}, words);

	return h('section', {class: 'part no-print', 'aria-labelledby': 'along'},
		h('h2', {id: 'along'}, 'Take it along'),
		h('div', {},
			h('p', {class: 'measure'}, query.size ? 'The entries chosen above, all of them, oldest first.' : 'Every entry, oldest first.', ' As JSON lines each entry is as it was hashed, with its hash beside, so that anybody can compute the chain without this program.'),
			h('p', {class: 'actions'}, link('csv', 'As a table (CSV)'), link('jsonl', 'As JSON lines'))));
}
