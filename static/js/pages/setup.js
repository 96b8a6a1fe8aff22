/* The first page of an empty test book: the plant's name and its first administrator. */
import {call} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {field, form} from '../lib/form.js';
import {showTrouble} from '../features/frame/frame.js';

start().catch(error => showTrouble(byId('main'), error));

async function start() {
	const plant = await call('GET', '/plant', undefined, {open: true});

	if (!plant.needs_setup)
		return location.replace('/due');
	fill(byId('main'),
		h('p', {class: 'lead'}, 'Nobody is in this book yet. Name the plant and its first administrator; everybody else is added under People.'),
		form({
			draft: 'setup', submit: 'Begin the book', class: 'form raised',
			fields: [
				field({name: 'plant_name', label: 'Name of the plant', required: true, help: 'It stands on every certificate.', attributes: {autocomplete: 'organization'}}),
				field({name: 'name', label: 'Your name', required: true, help: 'As it stands beside your signature.', attributes: {autocomplete: 'name'}}),
				field({name: 'sign_in', label: 'Sign-in name', required: true, width: 'medium', attributes: {autocomplete: 'username', autocapitalize: 'none', spellcheck: 'false'}}),
				field({name: 'password', label: 'Password', type: 'password', required: true, width: 'medium', help: 'At least 10 characters. You confirm every signature with it.', attributes: {autocomplete: 'new-password'}}),
			],
			onsubmit: async values => {
				await call('POST', '/setup', values, {open: true, stay: true});
				location.assign('/instruments');
			},
		}));
	document.querySelector('input')?.focus();
}
