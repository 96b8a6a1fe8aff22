/* The form of a person, new or known. */
import {ticks} from '../../lib/amount.js';
import {call} from '../../lib/api.js';
import {h} from '../../lib/dom.js';
import {confirmDialog, field, form} from '../../lib/form.js';
import {draftUpon, sharedRow} from '../../lib/newer.js';
import {t} from '../../lib/words.js';

export const ROLES = ['technician', 'lead', 'auditor', 'administrator'];
const MAY = {technician: 'runs tests and signs them as performed', lead: 'runs, reviews and certifies; writes the register and the procedures', auditor: 'reads everything, changes nothing', administrator: 'looks after people and settings'};

/** @param {any} person @returns {Record<string, string|boolean>} */
function personValues(person) {
	return {name: person?.name ?? '', active: person?.active ?? true, ...Object.fromEntries(ROLES.map(role => [`role_${role}`, person ? person.roles.includes(role) : role === 'technician']))};
}

/** @param {{person: any|null, saved: () => void, cancel: () => void}} spec */
export function personForm({person, saved, cancel}) {
	const values = personValues(person), roles = roleTicks(values);
	const row = person && sharedRow({row: person, path: `/people/${person.id}`, thing: 'person', values: personValues});

	return form({
		class: 'form register-form', submit: person ? 'Save' : 'Add the person', cancel, draft: person ? draftUpon(`person-${person.id}`, person, personValues) : 'person-new',
		fields: [part('Who',
			field({name: 'name', label: 'Name', value: /** @type {string} */ (values.name), required: true, width: 'medium', help: 'As it stands beside a signature.', attributes: {maxlength: 80, autocomplete: 'off'}}),
			!person && field({name: 'sign_in', label: 'Sign-in name', required: true, width: 'medium', help: 'a to z, 0 to 9, point, hyphen and underscore.', attributes: {maxlength: 40, autocomplete: 'off', autocapitalize: 'none', spellcheck: 'false'}}),
			!person && field({name: 'password', label: 'First password', type: 'password', required: true, width: 'medium', help: 'At least 10 characters. They change it themselves after signing in.', attributes: {autocomplete: 'new-password'}}),
			person && field({name: 'active', label: 'May sign in', check: true, value: values.active, help: 'Who has left stays in the book, because of what they signed.'})),
		part('What they may do', roles)],
		onsubmit: async (typed, self) => {
			const held = ROLES.filter(role => typed[`role_${role}`]);
			if (row)
				await row.save(self, version => call('PUT', row.path, {name: typed.name, roles: held, active: typed.active}, {version}));
			else
				await call('POST', '/people', {sign_in: typed.sign_in, name: typed.name, roles: held, password: typed.password});
			saved();
		},
	});
}

/** @param {Record<string, string|boolean>} values */
function roleTicks(values) {
	return ticks({legend: 'Roles', pointer: '/roles', help: 'One or several.', options: ROLES.map(role =>
		({name: `role_${role}`, word: `${t(`role.${role}`)}: ${MAY[/** @type {'lead'} */ (role)]}`, value: Boolean(values[`role_${role}`])}))});
}

/** @param {any} person */
export function setPassword(person) {
	confirmDialog({
		title: `A new password for ${person.name}`, submit: 'Set the password',
		body: [h('p', {}, 'It signs them out everywhere. Tell it to them in person; they change it after signing in.')],
		fields: [field({name: 'new_password', label: 'New password', type: 'password', required: true, width: 'medium', help: 'At least 10 characters.', attributes: {autocomplete: 'new-password'}})],
		onsubmit: values => call('POST', `/people/${person.id}/password`, values),
	});
}

/** @param {string} title @param {...any} children */
function part(title, ...children) {
	return h('section', {class: 'part'}, h('h2', {}, title), h('div', {}, children));
}
