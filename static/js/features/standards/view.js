/* A reference standard as it is read: its state in words, its certificates, the tests that rely on it. */
import {h} from '../../lib/dom.js';
import {facts} from '../../lib/facts.js';
import {date} from '../../lib/format.js';
import {verdict} from '../../lib/mark.js';
import {figure, rangeText} from '../../lib/quantity.js';
import {t} from '../../lib/words.js';

const MARKS = {valid: 'pass', due_soon: 'conditional_pass', expired: 'fail', failed: 'fail', none: 'not_judged', out_of_use: 'not_judged'};
const DAY = 86400000;

/** 'valid until 2 Mar 2027', 'expired 54 days ago', … with its mark. @param {any} standard @param {string} today */
export function stateWords({state, calibration}, today) {
	const days = calibration ? Math.round((Date.parse(calibration.valid_until) - Date.parse(today)) / DAY) : 0;
	const words = {
		valid: () => `valid until ${date(calibration.valid_until)}`,
		due_soon: () => days === 0 ? 'valid until tonight' : `valid for ${days === 1 ? 'one day' : `${days} days`} more`,
		expired: () => `expired ${days === -1 ? 'yesterday' : `${-days} days ago`}`,
		none: () => 'no certificate', out_of_use: () => 'out of use', failed: () => 'failed',
	}[/** @type {'valid'} */ (state)];

	return verdict(MARKS[/** @type {'valid'} */ (state)] ?? 'not_judged', words?.() ?? state);
}

/** @param {any} calibration */
export function uncertaintyText(calibration) {
	return `${figure(calibration.expanded_uncertainty)}\u00a0${calibration.unit} (k\u00a0=\u00a0${figure(calibration.coverage_factor)})`;
}

/** @param {any} standard */
export function identityPart(standard) {
	return h('section', {class: 'part'}, h('h2', {}, 'Which one'), facts([
		['quantity', standard.quantity], ['maker, model', [standard.maker, standard.model].filter(Boolean).join(', ')], ['serial number', standard.serial], ['why', standard.status_reason],
	]));
}

/** @param {any[]} calibrations @param {any} form the way to add one, or nothing */
export function calibrationPart(calibrations, form) {
	return h('section', {class: 'part', id: 'certificates'}, h('h2', {}, 'Certificates'), h('div', {}, form, calibrations.length
		? h('ol', {class: 'rows certificate-rows'}, calibrations.map((calibration, i) => h('li', {},
			h('div', {class: 'certificate-when'}, h('b', {}, date(calibration.calibrated_on)), h('p', {class: 'muted'}, `until ${date(calibration.valid_until)}`), i === 0 && h('span', {class: 'visually-hidden'}, ', the newest')),
			h('div', {}, `${rangeText(calibration)}, U = ${uncertaintyText(calibration)}`,
				h('p', {class: 'muted'}, `${calibration.certificate_number}, ${calibration.issued_by}`), h('p', {class: 'small prose'}, calibration.traceability)))))
		: h('p', {class: 'muted'}, 'None yet. Without a certificate it is no standard and cannot be chosen for a test.')));
}

/** @param {any[]} records */
export function usesPart(records) {
	return h('section', {class: 'part'}, h('h2', {}, 'Tests that rely on it'), records.length
		? h('div', {class: 'table-frame'}, h('table', {class: 'stack'}, h('thead', {}, h('tr', {}, ['Date', 'Record', 'Tag', 'Service', 'As found'].map(head => h('th', {scope: 'col'}, head)))),
			h('tbody', {}, records.map(record => h('tr', {},
				h('td', {class: 'nowrap', 'data-label': 'date'}, date(record.tested_at ?? record.opened_at)),
				h('th', {scope: 'row'}, h('a', {href: `/record?id=${record.id}`}, record.number)),
				h('td', {'data-label': 'tag'}, record.tag), h('td', {'data-label': 'service'}, record.service),
				h('td', {'data-label': 'as found'}, record.verdict_as_found && record.verdict_as_found !== 'not_judged' ? verdict(record.verdict_as_found) : h('span', {class: 'muted'}, t(`state.${record.state}`))))))))
		: h('p', {class: 'muted'}, 'None. When a standard fails, this list says what it has touched.'));
}
