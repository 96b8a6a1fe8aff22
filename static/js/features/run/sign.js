/* Sign: the record to read, what is still missing, the signature. */
import {h} from '../../lib/dom.js';
import {field, form, passwordField} from '../../lib/form.js';
import {savedText} from './prepare.js';
import {t} from '../../lib/words.js';

/** @typedef {import('./prepare.js').Doing} Doing */

/** @param {any} record @param {Doing & {unsent: () => any[]}} doing @param {any} sections the record as it reads, built by the page */
export function signPhase(record, doing, sections) {
	const held = doing.unsent().length;

	return [
		record.state !== 'open' && record.state !== 'returned' ? signed(record) : null,
		doing.edit && h('section', {class: 'part'}, h('h2', {}, 'Remarks'), savedText({label: 'Remarks on this test', help: 'They stand on the certificate.', key: `${record.id}.remarks`, value: record.remarks,
			save: text => doing.change('PUT', '/notes', {remarks: text})})),
		doing.edit && h('p', {class: 'prose'}, 'Read it through. ', h('a', {href: record.may.includes('sign_performed') && !held ? '#signature' : '#missing', onclick: toEnd}, record.may.includes('sign_performed') && !held ? 'The signature' : 'What is missing', ' stands at the end.')),
		sections,
		doing.edit && missing(record, held),
		record.may.includes('sign_performed') && !held && signature(record, doing),
	];
}

/** The hash of this page names a phase, so the way to the end is scrolled. @param {Event} event */
function toEnd(event) {
	event.preventDefault();
	const end = document.querySelector('#signature, #missing');
	end?.scrollIntoView({block: 'start'});
	/** @type {HTMLElement|null} */ (end?.querySelector('input, a'))?.focus({preventScroll: true});
}

/** @param {any} record @param {number} held */
function missing(record, held) {
	if (!record.to_do.length && !held)
		return null;
	return h('section', {class: 'part', id: 'missing'}, h('h2', {}, 'Before it can be signed'), h('ul', {class: 'rows'},
		held > 0 && h('li', {}, `${t('unsent', {n: held})}.`),
		record.to_do.map((/** @type {any} */ item) => h('li', {class: 'spread'}, h('span', {}, item.text), h('a', {href: `#${item.phase}`}, `go to ${t(`phase.${item.phase}`)}`)))));
}

/** @param {any} record @param {Doing} doing */
function signature(record, doing) {
	return h('section', {class: 'raised', id: 'signature'}, h('h2', {}, 'Sign as performed'),
		h('p', {class: 'prose'}, record.amends ? `I corrected this test as its amendment asks (${record.amends.reason}); the rest is as it was certified.` : 'I carried out this test as written above, and the readings are those I took.'),
		form({
			submit: 'Sign', draft: `${record.id}.sign`,
			fields: [passwordField(), field({name: 'remark', label: 'Remark with the signature', width: 'medium', attributes: {optional: true, maxlength: 500}})],
			onsubmit: values => doing.change('POST', '/sign', (/** @type {any} */ now) => ({meaning: 'performed', password: values.password, content_sha256: now.content_sha256, ...values.remark && {remark: values.remark}})),
		}));
}

/** @param {any} record */
function signed(record) {
	const words = {
		performed: 'Signed. Another person reviews it next; it stands under \u201cWaiting for review\u201d on Due.',
		reviewed: 'Signed and reviewed. The certificate comes next.',
		certified: 'Signed, reviewed and certified.',
		void: 'This test is void.',
	};

	return h('div', {class: 'notice', role: 'status'}, h('p', {class: 'lead'}, words[/** @type {keyof typeof words} */ (record.state)]),
		h('div', {class: 'actions'}, h('a', {class: 'button primary', href: '/due'}, 'Go on: what is due'), h('a', {class: 'button', href: `/record?id=${record.id}`}, 'Read the record')));
}
