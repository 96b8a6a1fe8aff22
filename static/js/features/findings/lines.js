/* A finding as a dated line: what was out of tolerance, what it touched, what was decided. */
import {call} from '../../lib/api.js';
import {h} from '../../lib/dom.js';
import {confirmDialog, field, passwordField} from '../../lib/form.js';
import {shown, time} from '../../lib/format.js';
import {certificateEnd, verdict} from '../../lib/mark.js';
import {t} from '../../lib/words.js';

/** @param {any} finding @param {{mayReview: boolean, changed: () => void}} how */
export function findingLine(finding, {mayReview, changed}) {
	const {record} = finding, open = finding.state === 'open';

	return h('li', {class: 'finding', id: finding.id, tabindex: -1},
		h('div', {class: 'spread'},
			h('h3', {}, h('a', {class: 'tag', href: `/instrument?id=${record.instrument_id}`}, record.tag), h('span', {class: 'finding-service'}, ` ${record.service}`)),
			open ? verdict('fail', 'open') : verdict('pass', 'closed')),
		h('p', {class: 'prose'}, shown(finding.sentence)),
		h('p', {class: 'muted finding-facts'}, h('span', {}, h('a', {href: `/record?id=${record.id}`}, record.number), certificateEnd(record)), record.performed_by && h('span', {}, `found by ${record.performed_by}`),
			record.adjusted ? h('span', {}, `adjusted, left ${t(`verdict.${record.verdict_as_left ?? 'not_judged'}`)}`) : h('span', {}, 'not adjusted')),
		finding.disposition && h('blockquote', {class: 'disposition'}, h('p', {class: 'prose'}, finding.disposition), h('footer', {class: 'muted small'}, `${finding.closed_by}, ${time(finding.closed_at)}`)),
		open && mayReview && h('div', {class: 'actions no-print'}, h('button', {type: 'button', onclick: () => close(finding, changed)}, 'Close \u2026', h('span', {class: 'visually-hidden'}, ` the finding on ${record.tag}`))));
}

/** @param {any} finding @param {() => void} changed */
function close(finding, changed) {
	const kept = `loopledger.disposition.${finding.id}`;
	const dialog = confirmDialog({
		title: `Close the finding on ${finding.record.tag}`, submit: 'Sign and close',
		body: [h('p', {}, shown(finding.sentence))],
		fields: [
			field({name: 'disposition', label: 'What was decided', rows: 4, required: true, value: sessionStorage.getItem(kept), help: 'What the error may have touched since the last good test, what was done about it, and why that is enough.', attributes: {maxlength: 1000}}),
			passwordField(),
		],
		onsubmit: async values => {
			await call('POST', `/findings/${finding.id}/close`, values, {stay: true});
			sessionStorage.removeItem(kept);
			changed();
		},
	});
	const text = /** @type {HTMLTextAreaElement} */ (dialog.querySelector('textarea'));
	text.addEventListener('input', () => sessionStorage.setItem(kept, text.value));
}
