/* People: who is in the book and what each may do. */
import {mayDo, startPage} from '../features/frame/frame.js';
import {call} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {t} from '../lib/words.js';
import {keepPlace} from '../lib/place.js';

startPage(async session => {
	const people = (await call('GET', '/people')).items, mayAdminister = mayDo(session, 'administer');
	const active = people.filter((/** @type {any} */ person) => person.active).length;

	fill(byId('main'),
		h('div', {class: 'spread'}, h('p', {class: 'lead'}, active === 1 ? 'One person may sign in.' : `${active} people may sign in.`),
			h('div', {class: 'actions no-print'}, h('a', {class: 'button', href: '/settings'}, 'Plant settings'), mayAdminister && h('a', {class: 'button', href: '/person?new=1'}, 'Add a person'))),
		h('div', {class: 'table-frame'}, h('table', {class: 'stack'},
			h('thead', {}, h('tr', {}, ['Name', 'Signs in as', 'Roles', ''].map(head => head ? h('th', {scope: 'col'}, head) : h('th', {}, h('span', {class: 'visually-hidden'}, 'State'))))),
			h('tbody', {}, people.map((/** @type {any} */ person) => h('tr', {},
				h('th', {scope: 'row'}, h('a', {class: 'tag', href: `/person?id=${person.id}`}, person.name)),
				h('td', {'data-label': 'signs in as'}, person.sign_in),
				h('td', {'data-label': 'roles'}, person.roles.map((/** @type {string} */ role) => t(`role.${role}`)).join(', ')),
				h('td', {'data-label': 'state'}, person.active ? person.id === session.person.id && h('span', {class: 'muted'}, 'you') : h('span', {class: 'muted'}, 'may not sign in'))))))),
		people.length === 1 && mayAdminister && h('div', {class: 'empty part'}, h('h2', {}, 'You are alone here'), h('div', {},
			h('p', {}, 'Whoever performed a test does not review it, so a plant needs at least two people: one who tests, one who reviews.'),
			h('p', {}, h('a', {class: 'button primary', href: '/person?new=1'}, 'Add the second person')))));
	keepPlace();
});
