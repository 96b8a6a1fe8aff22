/* Settings: what stands on every certificate, and where the plant's pages are reached. */
import {mayDo, startPage} from '../features/frame/frame.js';
import {call} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {facts} from '../lib/facts.js';
import {field, form} from '../lib/form.js';

const PAPERS = /** @type {Array<[string, string]>} */ ([['a4', 'A4'], ['letter', 'US Letter']]);

startPage(async session => {
	const settings = await call('GET', '/settings');

	if (!mayDo(session, 'administer')) {
		fill(byId('main'), h('section', {class: 'part'}, h('h2', {}, 'The plant'), facts([['name', settings.plant_name], ['address', h('span', {class: 'lines-kept'}, settings.plant_address)],
			['country', settings.country], ['certificate numbers begin with', settings.certificate_prefix], ['paper', PAPERS.find(([value]) => value === settings.paper)?.[1]], ['reached at', settings.public_address]])),
		h('p', {class: 'muted'}, 'An administrator changes them.'));
		return;
	}
	const saved = h('span', {class: 'saved', role: 'status'});
	const element = form({
		class: 'form register-form', submit: 'Save', draft: 'settings', extra: saved,
		fields: [
			part('The plant',
				field({name: 'plant_name', label: 'Name', value: settings.plant_name, required: true, attributes: {maxlength: 80}}),
				field({name: 'plant_address', label: 'Address', value: settings.plant_address, rows: 3, help: 'As it stands on a certificate.', attributes: {maxlength: 300, optional: true}}),
				field({name: 'country', label: 'Country', value: settings.country, width: 'short', help: 'Two letters, as GB.', attributes: {maxlength: 2, optional: true, autocapitalize: 'characters', spellcheck: 'false'}})),
			part('Certificates',
				field({name: 'certificate_prefix', label: 'Numbers begin with', value: settings.certificate_prefix, required: true, width: 'short', help: 'Capitals, figures, a hyphen inside.', attributes: {maxlength: 12, autocapitalize: 'characters', spellcheck: 'false'}}),
				field({name: 'paper', label: 'Paper', value: settings.paper, choices: PAPERS})),
			part('Where it is reached',
				field({name: 'public_address', label: 'Public address', type: 'url', value: settings.public_address, help: 'The QR code of a certificate leads here: https://tests.example', attributes: {maxlength: 200, optional: true, spellcheck: 'false'}})),
		],
		onsubmit: async values => {
			await call('PUT', '/settings', {...values, plant_address: values.plant_address || null, country: values.country || null, public_address: values.public_address || null});
			saved.textContent = 'Saved.';
			byId('plant').textContent = values.plant_name;
		},
	});
	element.addEventListener('input', () => { saved.textContent = ''; });
	fill(byId('main'), element);
});

/** @param {string} title @param {...any} children */
function part(title, ...children) {
	return h('section', {class: 'part'}, h('h2', {}, title), h('div', {}, children));
}
