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
			['country', settings.country], ['certificate numbers begin with', settings.certificate_prefix], ['paper', PAPERS.find(([value]) => value === settings.paper)?.[1]], ['an approval is needed', settings.approval && 'yes'], ['verified without signing in', settings.verify_public ? 'yes' : 'no'], ['seal', settings.seal_each ? 'one a signature' : 'one a certificate'], ['time stamps by', settings.time_stamp], ['reached at', settings.public_address]])),
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
				field({name: 'paper', label: 'Paper', value: settings.paper, choices: PAPERS}),
				field({name: 'approval', label: 'A third person approves before a certificate is issued', value: settings.approval, check: true}),
				field({name: 'verify_public', label: 'Who holds a certificate may verify it without signing in', value: settings.verify_public, check: true, help: 'The page that its QR code leads to then shows what the certificate itself says, and nothing else.'})),
			part('The seal',
				field({name: 'seal_each', label: 'Each person\u2019s signature is sealed as a revision of its own', value: settings.seal_each, check: true, help: 'Otherwise the plant seals the certificate once, when it is issued.'}),
				field({name: 'time_stamp', label: 'Time stamp authority', type: 'url', value: settings.time_stamp, help: 'Address of an RFC 3161 authority that proves when a certificate was sealed. Empty: the server\u2019s own clock.', attributes: {maxlength: 200, optional: true, spellcheck: 'false'}})),
			part('Where it is reached',
				field({name: 'public_address', label: 'Public address', type: 'url', value: settings.public_address, help: 'The QR code of a certificate leads here: https://tests.example', attributes: {maxlength: 200, optional: true, spellcheck: 'false'}})),
		],
		onsubmit: async values => {
			await call('PUT', '/settings', {...values, plant_address: values.plant_address || null, country: values.country || null, public_address: values.public_address || null, time_stamp: values.time_stamp || null});
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
