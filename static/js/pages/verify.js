/*
 * Verify: what is on file of the certificate whose number stands in the address (the QR code of a certificate leads here), and
 * what a file in somebody's hand is worth. Works without an account where the plant allows it.
 */
import {showTrouble} from '../features/frame/frame.js';
import {ApiError, call, sendFile} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {facts} from '../lib/facts.js';
import {field, form} from '../lib/form.js';
import {date, datesInWords, timeWithZone} from '../lib/format.js';
import {mark, verdict} from '../lib/mark.js';
import {t} from '../lib/words.js';

const FILE_MOST = 8 * 1024 * 1024;
const number = decodeURIComponent(location.pathname.replace(/^\/verify(\.html)?\/?/, ''));

/* verdict of a file -> what it means at a glance, and its mark */
const FOUND = /** @type {Record<string, [string, string]>} */ ({
	genuine: ['The file is genuine and unchanged', 'pass'],
	sealed: ['Sealed by the plant and unchanged, but not the file on record', 'conditional_pass'],
	changed: ['The file was changed after it was sealed', 'fail'],
	foreign: ['The file is sealed, but not by this plant', 'fail'],
	unsealed: ['The file carries no seal', 'fail'],
	unreadable: ['This is no certificate of this plant', 'fail'],
});

start().catch(error => showTrouble(byId('main'), error));

async function start() {
	const plant = await call('GET', '/plant', undefined, {open: true});

	byId('plant').textContent = plant.name;
	try {
		await show();
	} catch (error) {
		if (!(error instanceof ApiError) || error.status !== 401)
			throw error;
		fill(byId('main'), h('p', {class: 'lead'}, 'This plant shows its certificates to people with an account only.'),
			h('p', {}, h('a', {class: 'button primary', href: `/signin?next=${encodeURIComponent(location.pathname)}`}, 'Sign in')));
	}
}

async function show() {
	if (!number) {
		fill(byId('main'), askNumber(), laying());
		return;
	}
	document.title = `${number}, certificate · Loopledger`;
	fill(byId('title'), 'Certificate ', h('span', {class: 'nowrap'}, number));
	try {
		const certificate = await call('GET', `/verify/${encodeURIComponent(number)}`, undefined, {stay: true});
		fill(byId('main'), onFile(certificate), laying());
	} catch (error) {
		if (!(error instanceof ApiError) || error.status !== 404)
			throw error;
		fill(byId('main'), state('fail', `No certificate ${number} was issued here.`), h('p', {}, 'Look at the number again. A certificate that claims this number and this plant is not genuine.'), askNumber(), laying());
	}
}

/** @param {string} kind @param {string} sentence */
function state(kind, sentence) {
	return h('div', {class: 'verify-state'}, mark(kind), h('p', {}, h('b', {}, datesInWords(sentence))));
}

/** @param {any} certificate */
function stateOf(certificate) {
	return state(certificate.state === 'current' ? 'pass' : 'fail', certificate.sentence);
}

/** @param {any} c */
function onFile(c) {
	return h('section', {},
		stateOf(c),
		c.replaced_by && h('p', {}, h('a', {href: `/verify/${encodeURIComponent(c.replaced_by)}`}, `To ${c.replaced_by}`)),
		facts([
			['instrument', h('span', {}, h('b', {}, c.tag), ` ${c.service}`)],
			['tested', c.tested_at && date(c.tested_at)],
			['as found', c.as_found && verdict(c.as_found)],
			['as left', c.as_left && verdict(c.as_left)],
			...c.signatures.map((/** @type {any} */ s) => [t(`meaning.${c.amends && s.meaning === 'performed' ? 'corrected' : s.meaning}`), `${s.name}, ${timeWithZone(s.at)}`]),
			['issued', `${date(c.issued_at)} by ${c.plant}`],
			['amends', c.amends && h('a', {href: `/verify/${encodeURIComponent(c.amends)}`}, c.amends)],
			['seal', c.sealed ? 'sealed' : 'issued without a seal'],
			['SHA-256 of the PDF', c.pdf_sha256 && h('span', {class: 'hash'}, c.pdf_sha256)],
		]));
}

function askNumber() {
	return form({
		class: 'form', submit: 'Look it up', draft: 'verify',
		fields: [field({name: 'number', label: 'Certificate number', required: true, width: 'medium', help: 'As it stands on the first page.', attributes: {autocapitalize: 'characters', spellcheck: 'false', maxlength: 64}})],
		onsubmit: async values => { location.assign(`/verify/${encodeURIComponent(values.number)}`); },
	});
}

/* The place for a file: chosen, or dragged onto it. */
function laying() {
	const found = h('div', {class: 'found', role: 'status'});
	const input = /** @type {HTMLInputElement} */ (h('input', {type: 'file', id: 'file', accept: 'application/pdf,application/xml,text/xml,.pdf,.xml'}));
	const place = h('div', {class: 'laying'}, h('label', {for: 'file'}, 'Is a file in your hand genuine?'), input,
		h('p', {class: 'muted small'}, 'Choose the PDF or the XML document, or drop it here. It is looked at and not kept.'));

	input.addEventListener('change', () => input.files?.[0] && look(input.files[0], found));
	for (const kind of ['dragenter', 'dragover'])
		place.addEventListener(kind, event => { event.preventDefault(); place.classList.add('over'); });
	place.addEventListener('dragleave', () => place.classList.remove('over'));
	place.addEventListener('drop', event => {
		const file = /** @type {DragEvent} */ (event).dataTransfer?.files[0];

		event.preventDefault();
		place.classList.remove('over');
		if (file)
			look(file, found);
	});
	return h('section', {class: 'no-print'}, h('h2', {}, 'Check a file'), place, found);
}

/** @param {File} file @param {HTMLElement} place */
async function look(file, place) {
	fill(place, h('p', {class: 'progress'}, `Looking at ${file.name}`));
	if (file.size > FILE_MOST) {
		fill(place, state('fail', `${file.name} is too long for a certificate.`));
		return;
	}
	try {
		fill(place, answer(await sendFile('/verify', file), file.name));
	} catch (error) {
		showTrouble(place, error);
	}
}

/** @param {any} found @param {string} name */
function answer(found, name) {
	const [words, kind] = FOUND[found.verdict], stands = !found.certificate || found.certificate.state === 'current';
	const other = found.certificate && number && found.certificate.number !== number.toUpperCase();

	return h('div', {},
		stands ? state(kind, `${words}.`) : state(kind === 'pass' ? 'conditional_fail' : kind, `${words}, but its certificate no longer stands.`),
		h('ul', {}, found.sentences.map((/** @type {string} */ sentence) => h('li', {}, datesInWords(sentence)))),
		other && h('p', {}, 'It is another certificate than the one on this page: ', h('a', {href: `/verify/${encodeURIComponent(found.certificate.number)}`}, found.certificate.number)),
		facts([
			['file', name],
			...found.seals.map((/** @type {any} */ seal) => ['seal', h('span', {}, [seal.meaning, seal.name].filter(Boolean).join(', '), seal.name || seal.meaning ? '; ' : '', seal.signer, seal.at && `, ${timeWithZone(seal.at)}${seal.stamped ? ' by a time stamp' : ''}`)]),
			['SHA-256', h('span', {class: 'hash'}, found.sha256)],
		]));
}
