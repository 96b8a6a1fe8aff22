/* What the lead does with a draft: approve it with his password, or throw it away. */
import {call} from '../../lib/api.js';
import {h} from '../../lib/dom.js';
import {confirmDialog, passwordField} from '../../lib/form.js';
import {shortHash} from '../../lib/quantity.js';

/** @param {any} procedure @param {any} draft as it is saved @param {() => void} approved */
export function approve(procedure, draft, approved) {
	confirmDialog({
		title: `Approve ${procedure.code}, version ${draft.number}`, submit: 'Approve',
		body: [
			h('p', {}, `You sign \u201c${draft.document.title}\u201d as it is saved now. Tests opened from now on run by it`, procedure.approved ? `; version ${procedure.approved.number} becomes superseded.` : '.'),
			h('p', {class: 'muted small'}, 'What is signed, SHA-256: ', h('span', {class: 'code', title: draft.content_sha256}, shortHash(draft.content_sha256))),
		],
		fields: [passwordField()],
		onsubmit: async values => {
			await call('POST', `/procedures/${procedure.id}/approve`, {password: values.password, content_sha256: draft.content_sha256}, {stay: true});
			approved();
		},
	});
}

/** @param {any} procedure @param {any} draft @param {() => void} discarded */
export function discard(procedure, draft, discarded) {
	confirmDialog({
		title: `Discard the draft of ${procedure.code}?`, submit: 'Discard the draft', danger: true,
		body: [h('p', {}, procedure.approved ? `Version ${procedure.approved.number} goes on as it is.` : 'Nothing of this procedure was approved yet, so it goes altogether.', ' The ledger keeps what the draft said.')],
		onsubmit: async () => {
			await call('DELETE', `/procedures/${procedure.id}/draft`);
			discarded();
		},
	});
}
