/* Sign in. In the demo plant a quiet list of its people fills in name and password with one tap. */
import {call, session, ApiError} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {field, form, passwordField} from '../lib/form.js';
import {showTrouble} from '../features/frame/frame.js';
import {t} from '../lib/words.js';

start().catch(error => showTrouble(byId('main'), error));

async function start() {
	const plant = await call('GET', '/plant', undefined, {open: true});

	if (plant.needs_setup)
		return location.replace('/setup');
	byId('plant').textContent = plant.name;
	if (await alreadySignedIn())
		return location.replace(whereTo());
	show(plant);
}

/* asked only where somebody was signed in before, so that a first visit does not begin with a refusal */
async function alreadySignedIn() {
	if (!localStorage.getItem('loopledger.frame'))
		return false;
	try {
		await session({stay: true});
		return true;
	} catch (error) {
		if (error instanceof ApiError && error.status === 401)
			return false;
		throw error;
	}
}

/** @param {any} plant */
function show(plant) {
	const name = field({name: 'sign_in', label: 'Sign-in name', required: true, attributes: {autocomplete: 'username', autocapitalize: 'none', spellcheck: 'false'}});
	const password = passwordField('Password');
	const signInForm = form({
		fields: [name, password], submit: 'Sign in', class: 'form raised signin-form', draft: 'signin',
		onsubmit: async values => {
			await call('POST', '/session', values, {open: true, stay: true});
			location.assign(whereTo());
		},
	});

	fill(byId('main'), signInForm, plant.demo && demoPeople(plant.demo, (/** @type {any} */ person) => {
		/** @type {any} */ (name.querySelector('input')).value = person.sign_in;
		/** @type {any} */ (password.querySelector('input')).value = plant.demo.password;
		signInForm.querySelector('button')?.focus();
	}));
	name.querySelector('input')?.focus();
}

/** @param {{password: string, people: any[]}} demo @param {(person: any) => void} choose */
function demoPeople(demo, choose) {
	return h('section', {class: 'part demo-people-part'}, h('h2', {}, 'People of the demo plant'),
		h('div', {},
			h('p', {class: 'muted'}, 'All of them are invented. One tap fills in name and password.'),
			h('ul', {class: 'rows demo-people'}, demo.people.map(person => h('li', {},
				h('button', {type: 'button', class: 'quiet', onclick: () => choose(person)}, person.name),
				h('span', {class: 'muted'}, person.roles.map((/** @type {string} */ role) => t(`role.${role}`)).join(', ')))))));
}

/** Back to where the person came from, within this site only. */
function whereTo() {
	const next = new URLSearchParams(location.search).get('next') ?? '/due';

	return /^\/(?![/\\])/.test(next) && !next.startsWith('/signin') ? next : '/due';
}
