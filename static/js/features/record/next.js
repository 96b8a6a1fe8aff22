/* What this person may do with the record now: sign the review, return it, issue the certificate, void it. */
import {mayDo} from '../frame/frame.js';
import {ApiError, call} from '../../lib/api.js';
import {h} from '../../lib/dom.js';
import {confirmDialog, field, form, passwordField} from '../../lib/form.js';

/**
 * @param {any} record
 * @param {import('../../lib/api.js').Session} session
 * @param {(record: any) => void} changed
 */
export function nextPart(record, session, changed) {
	const may = (/** @type {string} */ act) => record.may.includes(act);
	const post = async (/** @type {string} */ path, /** @type {object} */ body) => changed(await call('POST', `/test-records/${record.id}${path}`, body));
	const mayLift = record.limitation && record.certificate?.state === 'current' && mayDo(session, 'review');
	const parts = [
		may('sign_reviewed') && review(record, post, may('return')),
		may('sign_approved') && approve(record, post),
		may('issue') && issue(record, post, changed),
		record.state === 'performed' && !may('sign_reviewed') && h('p', {class: 'muted'}, waitsFor(record, session)),
		(may('amend') || may('void') || mayLift) && h('div', {class: 'actions'},
			mayLift && h('button', {type: 'button', onclick: () => liftDialog(record, post)}, 'Lift the limitation'),
			may('amend') && h('button', {type: 'button', onclick: () => amendDialog(record)}, 'Amend the certificate'),
			may('void') && h('button', {type: 'button', onclick: () => voidDialog(record, post)}, record.amends && !record.certificate ? 'Give the amendment up' : 'Make void')),
	].filter(Boolean);

	return parts.length > 0 && h('div', {id: 'next', class: 'stacked no-print'}, parts);
}

/** @param {any} record @param {import('../../lib/api.js').Session} session */
function waitsFor(record, session) {
	return record.signatures.some((/** @type {any} */ one) => one.meaning === 'performed' && one.name === session.person.name)
		? 'It waits for a second person: nobody reviews their own test.' : 'It waits for the review of a metrology lead.';
}

/** @param {any} record @param {(path: string, body: object) => Promise<void>} post @param {boolean} mayReturn */
function review(record, post, mayReturn) {
	return h('section', {class: 'raised'}, h('h2', {}, 'Review'),
		h('p', {class: 'prose'}, 'I have read this record: procedure, standards, readings and verdict belong together.'),
		form({
			submit: 'Sign as reviewed', draft: `${record.id}.review`,
			fields: [passwordField(), field({name: 'remark', label: 'Remark with the signature', width: 'medium', attributes: {optional: true, maxlength: 500}})],
			onsubmit: values => post('/sign', {meaning: 'reviewed', password: values.password, content_sha256: record.content_sha256, ...values.remark && {remark: values.remark}}),
			extra: mayReturn && h('button', {type: 'button', onclick: () => returnDialog(record, post)}, 'Return with a reason'),
		}));
}

/** @param {any} record @param {(path: string, body: object) => Promise<void>} post */
function approve(record, post) {
	return h('section', {class: 'raised'}, h('h2', {}, 'Approval'),
		h('p', {class: 'prose'}, 'I approve that the certificate of this test is issued.'),
		form({
			submit: 'Sign as approved', draft: `${record.id}.approval`,
			fields: [passwordField(), field({name: 'remark', label: 'Remark with the signature', width: 'medium', attributes: {optional: true, maxlength: 500}})],
			onsubmit: values => post('/sign', {meaning: 'approved', password: values.password, content_sha256: record.content_sha256, ...values.remark && {remark: values.remark}}),
		}));
}

/** @param {any} record */
function amendDialog(record) {
	confirmDialog({
		title: `Amend ${record.certificate.number}`, submit: 'Open the amendment',
		body: [h('p', {}, 'The test opens once more under a number of its own, with everything it rests on, to be corrected, signed and reviewed again. This certificate stands until the amendment has its own; then it says that it was amended, and why.')],
		fields: [field({name: 'reason', label: 'What is corrected, and why', rows: 3, required: true, attributes: {maxlength: 500}}), passwordField()],
		onsubmit: async values => { location.assign(`/record?id=${(await call('POST', `/test-records/${record.id}/amend`, values)).id}`); },
	});
}

/** @param {any} record @param {(path: string, body: object) => Promise<void>} post */
function liftDialog(record, post) {
	confirmDialog({
		title: `Lift the limitation of ${record.instrument.tag}`, submit: 'Lift it',
		body: [h('p', {}, h('b', {}, 'Limited use'), `: ${record.limitation.text} (${record.limitation.by}).`), h('p', {}, 'Labels are ordinary ones again: put one on the instrument. Words, reason and your name stay in the ledger.')],
		fields: [field({name: 'reason', label: 'Why it may be used in full again', rows: 3, required: true, attributes: {maxlength: 500}})],
		onsubmit: values => post('/limitation/lift', values),
	});
}

/** @param {any} record @param {(path: string, body: object) => Promise<void>} post @param {(record: any) => void} changed */
function issue(record, post, changed) {
	return h('section', {class: 'raised'}, h('h2', {}, 'Certificate'),
		form({submit: record.issue_failure ? 'Issue the certificate again' : 'Issue the certificate',
			fields: [h('p', {class: 'prose'}, 'It gets its number now and can be printed; the record does not change any more.')],
			onsubmit: () => post('/certificate', {}).catch(error => showFailure(record, error, changed))}));
}

/** What stood in the way is kept with the record, so the record shows it; any other refusal stands at the button. @param {any} record @param {unknown} error @param {(record: any) => void} changed */
async function showFailure(record, error, changed) {
	const fresh = error instanceof ApiError ? await call('GET', `/test-records/${record.id}`) : null;

	if (!fresh?.issue_failure)
		throw error;
	changed(fresh);
}

/** @param {any} record @param {(path: string, body: object) => Promise<void>} post */
function returnDialog(record, post) {
	confirmDialog({
		title: `Return ${record.number}`, submit: 'Return it',
		body: [h('p', {}, 'It goes back to the technician, readings and all. The reason stays in the record.')],
		fields: [field({name: 'reason', label: 'Reason', rows: 3, required: true, attributes: {maxlength: 500}}), passwordField()],
		onsubmit: values => post('/return', values),
	});
}

/** @param {any} record @param {(path: string, body: object) => Promise<void>} post */
function voidDialog(record, post) {
	confirmDialog({
		title: `Make ${record.number} void`, submit: 'Make void', danger: true,
		body: [h('p', {}, 'A void record proves nothing any more, and its certificate becomes void with it. It stays readable; this cannot be taken back.')],
		fields: [field({name: 'reason', label: 'Reason', rows: 3, required: true, attributes: {maxlength: 500}}), passwordField()],
		onsubmit: values => post('/void', values),
	});
}
