/* Record: one test as it reads, and what may be done with it now: review, return, certificate, print. */
import {errorChart} from '../features/chart/errchart.js';
import {showTrouble, startPage} from '../features/frame/frame.js';
import {historyPart} from '../features/record/history.js';
import {labelDialog} from '../features/record/label.js';
import {nextPart} from '../features/record/next.js';
import {recordSections, verdictLine} from '../features/record/sections.js';
import {tracesPart} from '../features/record/traces.js';
import {outcome} from '../features/run/outcome.js';
import {call} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {date, shown, time} from '../lib/format.js';
import {t} from '../lib/words.js';

const id = new URLSearchParams(location.search).get('id') ?? '';

startPage(async session => {
	show(await call('GET', `/test-records/${encodeURIComponent(id)}`), session);
});

/** @param {any} record @param {import('../lib/api.js').Session} session */
function show(record, session) {
	const chart = errorChart(), history = h('div', {}), traces = h('div', {});
	const changed = (/** @type {any} */ fresh) => {
		show(fresh, session);
		byId('main').focus({preventScroll: true});
		scrollTo(0, 0);
	};

	document.title = `${record.number}, ${record.instrument.tag} · Loopledger`;
	fill(byId('title'), h('span', {class: 'title-word'}, 'Record '), record.number);
	chart.show(record.runs.filter((/** @type {any} */ run) => run.id));
	fill(byId('main'), head(record, session), recordSections(record, {chart: chart.element, outcome}), traces, nextPart(record, session, changed), history);
	if (record.runs.some((/** @type {any} */ run) => run.captured))
		call('GET', `/test-records/${encodeURIComponent(record.id)}/traces`).then(list => fill(traces, tracesPart(record, list.items)), error => showTrouble(traces, error));
	call('GET', `/ledger?thing=test_record&thing_id=${encodeURIComponent(record.id)}&limit=200`)
		.then(list => fill(history, historyPart(record, list.items)), error => showTrouble(history, error));
}

/** What it is and how it stands, with the way to what can be done. @param {any} record @param {import('../lib/api.js').Session} session */
function head(record, session) {
	const act = record.may.includes('sign_reviewed') ? 'Review it' : record.may.includes('issue') ? 'Issue the certificate' : null;

	return h('div', {class: 'record-head'},
		h('p', {class: 'lead'}, h('b', {}, record.instrument.tag), ` ${record.instrument.service}`),
		h('p', {}, h('b', {}, t(`state.${record.state}`)), h('span', {class: 'muted'}, `, ${date(record.performed_at ?? record.opened_at)}`),
			record.certificate && h('span', {}, ' \u00b7 certificate ', h('b', {}, h('a', {href: `/verify/${encodeURIComponent(record.certificate.number)}`}, record.certificate.number)))),
		standing(record),
		record.issue_failure && notIssued(record.issue_failure),
		verdictLine(record),
		record.finding && h('p', {}, h('a', {href: `/findings?id=${record.finding.id}`}, record.finding.state === 'open' ? 'Open finding' : 'Finding'), `: ${shown(record.finding.sentence)}`),
		h('div', {class: 'actions no-print'},
			record.may.includes('edit') && h('a', {class: 'button primary', href: `/run?id=${record.id}`}, record.state === 'returned' ? 'Take it up again' : 'Go on with the test'),
			act && h('a', {class: 'button primary', href: '#next'}, act),
			record.certificate && certificateFiles(record),
			record.certificate?.state === 'current' && h('button', {type: 'button', onclick: () => labelDialog([record], session)}, 'Label')));
}

/** What stood in the way, what is safe, what to do. @param {{at: string, sentence: string, advice: string}} failure */
function notIssued(failure) {
	const said = failure.sentence.charAt(0).toUpperCase() + failure.sentence.slice(1);

	return h('div', {class: 'notice', role: 'alert'}, h('p', {}, h('b', {}, 'The certificate was not issued'), `, ${time(failure.at)}. ${/[.!?]$/.test(said) ? said : `${said}.`}`),
		h('p', {}, `Record and signatures are safe. ${failure.advice}`));
}

/* What the certificate amends, and what has become of it. @param {any} record */
function standing(record) {
	const c = record.certificate, lines = [];

	if (record.limitation)
		lines.push(h('p', {}, h('b', {}, 'Limited use'), `: ${record.limitation.text} (${record.limitation.by}, ${date(record.limitation.at)})`));
	if (record.amends)
		lines.push(h('p', {}, 'Amendment of ', h('a', {href: `/record?id=${record.amends.record_id}`}, record.amends.certificate), `: ${record.amends.reason}`));
	if (c?.state === 'amended')
		lines.push(h('p', {class: 'notice'}, h('b', {}, `${c.number} no longer stands.`), ' ', h('a', {href: record.amended_by ? `/record?id=${record.amended_by.record_id}` : `/verify/${encodeURIComponent(c.replaced_by)}`}, c.replaced_by), ` replaces it: ${c.reason}`));
	else if (c?.state === 'void')
		lines.push(h('p', {class: 'notice'}, h('b', {}, `${c.number} is void`), `: ${c.reason}`));
	else if (record.amended_by)
		lines.push(h('p', {}, 'Its amendment is in hand: ', h('a', {href: `/record?id=${record.amended_by.record_id}`}, record.amended_by.number)));
	return lines;
}

/* The sealed files; of a certificate that no longer stands the copy that says so first. @param {any} record */
function certificateFiles(record) {
	const stands = record.certificate.state === 'current';
	const file = (/** @type {string} */ name, /** @type {string} */ words) => h('a', {class: 'button', href: `/api/v1/test-records/${record.id}/certificate.${name}`, target: '_blank', rel: 'noopener'}, words);

	if (!stands)
		return [file('pdf', 'Certificate, marked'), record.certificate.sealed && file('pdf?as=issued', 'As it was issued'), record.certificate.sealed && file('xml?as=issued', 'XML as issued')];
	return [file('pdf?paper=a4', 'Certificate, A4'), file('pdf?paper=letter', 'Certificate, US Letter'), record.certificate.sealed && file('xml', 'XML')];
}
