/* One procedure: the version in force is read, the draft is written, both with a worked example beside them. */
import {mayDo, startPage} from '../features/frame/frame.js';
import {approve, discard} from '../features/procedures/deeds.js';
import {desk} from '../features/procedures/desk.js';
import {fromTyped, toTyped} from '../features/procedures/document.js';
import {workedExample} from '../features/procedures/example.js';
import {documentReading} from '../features/procedures/reading.js';
import {stateWords, versionsPart} from '../features/procedures/versions.js';
import {call} from '../lib/api.js';
import {byId, fill, h, unbroken} from '../lib/dom.js';
import {showErrors} from '../lib/form.js';
import {time} from '../lib/format.js';
import {keepPlace} from '../lib/place.js';
import {shortHash} from '../lib/quantity.js';

startPage(async session => {
	const asked = new URLSearchParams(location.search), id = asked.get('id'), example = workedExample(), mayManage = mayDo(session, 'manage');

	if (!id) {
		name('A new procedure');
		return lay(example, h('p', {class: 'lead'}, 'A draft, until it is approved.'), desk({procedure: null, draft: null, example, approve: () => {}, discard: () => {},
			saved: answer => location.replace(`/procedure?id=${answer.id}`)}).element);
	}
	const procedure = await call('GET', `/procedures/${id}`), wanted = asked.get('version');
	const version = wanted && wanted !== procedure.draft?.id ? await call('GET', `/procedure-versions/${wanted}`) : wanted || (mayManage && procedure.draft) || !procedure.approved ? procedure.draft : procedure.approved;

	name(procedure.code);
	if (version.state === 'draft' && mayManage)
		write(procedure, example);
	else
		read(procedure, version, example, mayManage);
});

/** @param {any} procedure @param {any} example */
function write(procedure, example) {
	const heading = h('div', {class: 'spread'}, h('p', {class: 'lead'}, procedure.draft.document.title || 'Without a title yet'),
		h('p', {class: 'row'}, `version ${procedure.draft.number}`, stateWords('draft')));
	const table = desk({procedure, draft: procedure.draft, example,
		saved: draft => { /** @type {Element} */ (heading.firstChild).textContent = draft.document.title; },
		approve: draft => approve(procedure, draft, () => location.assign(`/procedure?id=${procedure.id}`)),
		discard: () => discard(procedure, procedure.draft, () => {
			table.forget();
			location.assign(procedure.approved ? `/procedure?id=${procedure.id}` : '/procedures');
		})});

	lay(example, heading, table.element, versionsPart(procedure, procedure.draft.id));
}

/** @param {any} procedure @param {any} version @param {any} example @param {boolean} mayManage */
function read(procedure, version, example, mayManage) {
	const problem = h('div', {}, h('p', {class: 'form-error', role: 'alert', hidden: true}));
	const begin = () => call('POST', `/procedures/${procedure.id}/draft`).then(() => location.assign(`/procedure?id=${procedure.id}`), error => showErrors(problem, error));

	example.follow(fromTyped(toTyped(version.document)));
	lay(example,
		h('div', {}, h('p', {class: 'lead'}, version.document.title),
			h('p', {class: 'row'}, `version ${version.number}`, stateWords(version.state), version.approved_at && h('span', {class: 'muted'}, `signed by ${version.approved_by}, ${time(version.approved_at)}`)),
			h('p', {class: 'muted small'}, 'SHA-256 ', h('span', {class: 'code', title: version.content_sha256}, shortHash(version.content_sha256)))),
		documentReading(version.document),
		mayManage && version.state === 'approved' && h('div', {class: 'desk-actions no-print'}, problem, h('div', {class: 'actions'}, procedure.draft
			? h('a', {class: 'button', href: `/procedure?id=${procedure.id}&version=${procedure.draft.id}`}, `Go on with draft ${procedure.draft.number}`)
			: h('button', {type: 'button', onclick: begin}, 'Begin a new draft from it'))),
		versionsPart(procedure, version.id));
}

/** @param {any} example @param {...any} children */
function lay(example, ...children) {
	fill(byId('main'), h('div', {class: 'two-columns procedure-columns'}, h('article', {class: 'stacked-parts'}, children), example.element));
	keepPlace();
}

/** @param {string} title */
function name(title) {
	fill(byId('title'), unbroken(title));
	document.title = `${title} \u00b7 Loopledger`;
}
