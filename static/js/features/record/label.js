/* Labels of one record or several: on which paper, from which label on, and what they say. */
import {mayDo} from '../frame/frame.js';
import {call} from '../../lib/api.js';
import {h} from '../../lib/dom.js';
import {confirmDialog, field} from '../../lib/form.js';

const PAPERS = /** @type {Array<[string, string]>} */ ([['roll-62x29', 'Label printer, 62 \u00d7 29 mm'], ['roll-89x36', 'Label printer, 89 \u00d7 36 mm'], ['a4', 'Sheet, A4'], ['letter', 'Sheet, US Letter']]);
const KINDS = /** @type {Array<[string, string]>} */ ([['', 'as the record says'], ['ordinary', 'ordinary'], ['do-not-use', 'do not use'], ['limited', 'limited use']]);
const REMEMBERED = 'loopledger.label-paper';

/**
 * Opens the dialog; the labels come in a tab of their own.
 *
 * @param {Array<{id: string, limitation?: {text: string}|null}>} records whose certificates stand
 * @param {import('../../lib/api.js').Session} session
 */
export function labelDialog(records, session) {
	const one = records.length === 1 ? records[0] : null, lead = mayDo(session, 'review');
	const paper = localStorage.getItem(REMEMBERED) ?? PAPERS[0][0];

	confirmDialog({
		title: one ? 'Label' : `${records.length} labels`, submit: 'Show the labels',
		body: [h('p', {class: 'muted'}, 'A sheet holds 27 labels of 62 \u00d7 29 mm. Print without scaling.')],
		fields: [
			field({name: 'paper', label: 'Paper', options: PAPERS, value: paper}),
			field({name: 'start', label: 'First free label of the sheet', whole: true, width: 'short', value: '1'}),
			field({name: 'kind', label: 'What it says', options: KINDS, value: ''}),
			one && lead && field({name: 'limitation', label: 'Limited use: for what only', value: one.limitation?.text ?? '', help: 'Stays with the record under your name.', attributes: {optional: true, maxlength: 120}}),
		].filter(Boolean),
		onsubmit: async values => {
			const limitation = values.limitation ?? one?.limitation?.text ?? '';
			const query = new URLSearchParams({records: records.map(record => record.id).join(','), paper: values.paper, start: values.start || '1'});

			localStorage.setItem(REMEMBERED, values.paper);
			if (one && limitation && limitation !== one.limitation?.text)
				await call('POST', `/test-records/${one.id}/limitation`, {text: limitation});
			if (values.kind)
				query.set('kind', values.kind);
			await show(`/api/v1/labels?${query}`);
		},
	});
}

/* Asked for first, so that a refusal is said in the dialog and not in an empty tab. @param {string} address */
async function show(address) {
	await call('GET', address.replace('/api/v1', ''), undefined, {file: true});
	const link = /** @type {HTMLAnchorElement} */ (h('a', {href: address, target: '_blank', rel: 'noopener'}));

	document.body.append(link);
	link.click();
	link.remove();
}
