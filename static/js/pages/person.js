/* One person. ?id= shows or, for the administrator, changes; ?new=1 adds. */
import {mayDo, startPage} from '../features/frame/frame.js';
import {personForm, setPassword} from '../features/people/form.js';
import {call} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {facts} from '../lib/facts.js';
import {t} from '../lib/words.js';

startPage(async session => {
	const id = new URLSearchParams(location.search).get('id');
	const done = () => setTimeout(() => location.replace('/people'));
	const cancel = () => {
		sessionStorage.removeItem(`loopledger.draft.${id ? `person-${id}` : 'person-new'}`);
		location.assign('/people');
	};

	if (!id) {
		name('A new person');
		fill(byId('main'), personForm({person: null, saved: done, cancel}));
		document.querySelector('main input')?.focus();
		return;
	}
	const person = await call('GET', `/people/${id}`);
	name(person.name);
	fill(byId('main'), mayDo(session, 'administer')
		? [h('div', {class: 'spread'}, h('p', {class: 'lead'}, `Signs in as ${person.sign_in}.`), h('button', {type: 'button', onclick: () => setPassword(person)}, 'Set a password \u2026')),
			personForm({person, saved: done, cancel})]
		: h('section', {class: 'part'}, h('h2', {}, 'Who'), facts([['signs in as', person.sign_in],
			['roles', person.roles.map((/** @type {string} */ role) => t(`role.${role}`)).join(', ')], ['state', person.active ? 'may sign in' : 'may not sign in']])),
	h('p', {class: 'no-print'}, h('a', {href: `/ledger?person=${person.id}`}, 'What they did, in the ledger')));
});

/** @param {string} title */
function name(title) {
	byId('title').textContent = title;
	document.title = `${title} \u00b7 Loopledger`;
}
