/* Record: one test as it reads, and what may be done with it now: review, return, certificate, print. */
import {errorChart} from '../features/chart/errchart.js';
import {showTrouble, startPage} from '../features/frame/frame.js';
import {historyPart} from '../features/record/history.js';
import {nextPart} from '../features/record/next.js';
import {recordSections, verdictLine} from '../features/record/sections.js';
import {outcome} from '../features/run/outcome.js';
import {call} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {date, shown} from '../lib/format.js';
import {t} from '../lib/words.js';

const id = new URLSearchParams(location.search).get('id') ?? '';

startPage(async session => {
	show(await call('GET', `/test-records/${encodeURIComponent(id)}`), session);
});

/** @param {any} record @param {import('../lib/api.js').Session} session */
function show(record, session) {
	const chart = errorChart(), history = h('div', {});
	const changed = (/** @type {any} */ fresh) => {
		show(fresh, session);
		byId('main').focus({preventScroll: true});
		scrollTo(0, 0);
	};

	document.title = `${record.number}, ${record.instrument.tag} · Loopledger`;
	fill(byId('title'), h('span', {class: 'title-word'}, 'Record '), record.number);
	chart.show(record.runs.filter((/** @type {any} */ run) => run.id));
	fill(byId('main'), head(record), recordSections(record, {chart: chart.element, outcome}), nextPart(record, session, changed), history);
	call('GET', `/ledger?thing=test_record&thing_id=${encodeURIComponent(record.id)}`)
		.then(list => fill(history, historyPart(record, list.items)), error => showTrouble(history, error));
}

/** What it is and how it stands, with the way to what can be done. @param {any} record */
function head(record) {
	const act = record.may.includes('sign_reviewed') ? 'Review it' : record.may.includes('issue') ? 'Issue the certificate' : null;

	return h('div', {class: 'record-head'},
		h('p', {class: 'lead'}, h('b', {}, record.instrument.tag), ` ${record.instrument.service}`),
		h('p', {}, h('b', {}, t(`state.${record.state}`)), h('span', {class: 'muted'}, `, ${date(record.performed_at ?? record.opened_at)}`),
			record.certificate && h('span', {}, ' \u00b7 certificate ', h('b', {}, record.certificate.number), record.certificate.state !== 'current' && ` (${record.certificate.state})`)),
		verdictLine(record),
		record.finding && h('p', {}, h('a', {href: `/findings?id=${record.finding.id}`}, record.finding.state === 'open' ? 'Open finding' : 'Finding'), `: ${shown(record.finding.sentence)}`),
		h('div', {class: 'actions no-print'},
			record.may.includes('edit') && h('a', {class: 'button primary', href: `/run?id=${record.id}`}, record.state === 'returned' ? 'Take it up again' : 'Go on with the test'),
			act && h('a', {class: 'button primary', href: '#next'}, act),
			record.certificate && ['a4', 'letter'].map(paper => h('a', {class: 'button', href: `/api/v1/test-records/${record.id}/certificate.pdf?paper=${paper}`, target: '_blank', rel: 'noopener'},
				`Certificate, ${paper === 'a4' ? 'A4' : 'US Letter'}`)),
			record.certificate?.state === 'current' && h('a', {class: 'button', href: `/api/v1/labels?records=${record.id}&paper=roll-62x29`, target: '_blank', rel: 'noopener'}, 'Label')));
}
