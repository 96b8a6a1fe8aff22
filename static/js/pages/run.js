/*
 * Run: one test from the first caution to the technician's signature. The page keeps one state, the record; every answer of
 * the server replaces it and the phase in view is shown again. Readings go by way of this tablet (lib/unsent.js), and the
 * record is remembered here too, so that a reload without the server goes on where it was.
 */
import {errorChart} from '../features/chart/errchart.js';
import {showTrouble, showUnsent, startPage} from '../features/frame/frame.js';
import {modemPart, needsModem} from '../features/modem/attach.js';
import {recordSections} from '../features/record/sections.js';
import {adjustPhase} from '../features/run/adjust.js';
import {attention} from '../features/run/attention.js';
import {outcome} from '../features/run/outcome.js';
import {pointsPhase} from '../features/run/points.js';
import {preparePhase} from '../features/run/prepare.js';
import {provePhase} from '../features/run/prove.js';
import {signPhase} from '../features/run/sign.js';
import {PHASES, thread} from '../features/run/thread.js';
import {wiringSheet} from '../features/wiring/sheet.js';
import {ApiError, call, newKey, Unreachable} from '../lib/api.js';
import {byId, fill, h, unbroken} from '../lib/dom.js';
import {rebuild} from '../lib/draft.js';
import {judgeTyped} from '../lib/judging.js';
import {loadMetrology} from '../lib/metrology.js';
import {sender, unsentStore} from '../lib/unsent.js';
import {t} from '../lib/words.js';

const id = new URLSearchParams(location.search).get('id') ?? '';
const REMEMBERED = `loopledger.record.${id}`, REMEMBERED_LIVE = `loopledger.live.${id}`;
const store = unsentStore(localStorage);

/** @type {any} */ let record = null;
/** Without it, verdicts come after sending. @type {import('../lib/judging.js').Core|null} */
let core = null;
/** @type {{id: string, name: string}} */ let person;
/** @type {ReturnType<typeof sender>} */ let sending;
/** @type {ReturnType<typeof layout>} */ let page;
let shownPhase = '';
/** Changes go one after the other, so that each starts from what the one before has left. @type {Promise<any>} */
let lastChange = Promise.resolve();

startPage(async session => {
	await begin(session.person);
}, {offline: begin});

/** @param {{id: string, name: string}} who */
async function begin(who) {
	const remembered = localStorage.getItem(REMEMBERED);

	person = who;
	loadMetrology().then(loaded => { core = loaded; }, () => {});
	sending = sender({store, person: person.id, changed: sent, post: item => call('POST', `/test-records/${item.record}/readings`, item.body, {key: item.key, stay: true})});
	if (remembered) {
		record = JSON.parse(remembered);
		doing.live = JSON.parse(localStorage.getItem(REMEMBERED_LIVE) ?? 'null');
		start();
	}
	try {
		const [fresh, live] = await Promise.all([call('GET', `/test-records/${encodeURIComponent(id)}`), call('GET', `/test-records/${encodeURIComponent(id)}/live`, undefined, {stay: true}).catch(() => null)]);

		doing.live = live;
		if (live)
			localStorage.setItem(REMEMBERED_LIVE, JSON.stringify({...live, run: null}));
		take(fresh);
	} catch (error) {
		if (!(error instanceof Unreachable) || !record)
			throw error;
		sending.state.reachable = false;
		show();
	}
	sending.flush();
	for (const event of ['online', 'focus', 'pageshow'])
		addEventListener(event, () => sending.flush());
	document.addEventListener('visibilitychange', () => document.visibilityState === 'visible' && sending.flush());
}

function start() {
	if (page)
		return;
	page = layout();
	addEventListener('hashchange', () => {
		show();
		page.phase.focus({preventScroll: true});
		scrollTo(0, 0);
	});
	show();
}

/** The places of the page, made once. */
function layout() {
	const places = {
		thread: h('div', {class: 'run-thread'}), about: h('div', {class: 'run-about'}), attention: h('div', {id: 'attention'}), problem: h('div', {class: 'run-problem'}),
		phase: h('div', {class: 'run-phase', tabindex: -1}), beside: h('aside', {class: 'aside run-beside', 'aria-label': 'Wiring'}),
	};

	fill(byId('main'), places.about, places.thread, places.attention, places.problem, h('div', {class: 'run-columns'}, places.phase, places.beside));
	return places;
}

/** A record that came from the server. @param {any} fresh */
function take(fresh) {
	record = fresh;
	remember();
	start();
	show();
	return fresh;
}

/** Kept on this tablet only while there is work to do on it. */
function remember() {
	if (record.state === 'open' || record.state === 'returned')
		localStorage.setItem(REMEMBERED, JSON.stringify(record));
	else
		for (const key of [REMEMBERED, REMEMBERED_LIVE])
			localStorage.removeItem(key);
}

const doing = {
	/** The channels of the test and the run that is on; null when nobody knows. @type {any} */
	live: null,
	modem: modemOf,
	get edit() { return record.may.includes('edit'); },
	/** @param {'PUT'|'POST'|'DELETE'} method @param {string} path @param {object|((record: any) => object)} [body] of the record as it then is */
	change(method, path, body) {
		const made = lastChange.then(async () => {
			const fresh = await call(method, `/test-records/${record.id}${path}`, typeof body === 'function' ? body(record) : body);
			fill(page.problem);
			return take(fresh);
		});
		lastChange = made.catch(() => {}); /* whoever asked hears of it; the next goes on */
		return made;
	},
	/** The record as the server has it now: something else than this page has changed it. */
	refresh: async () => take(await call('GET', `/test-records/${record.id}`, undefined, {stay: true})),
	/** @param {unknown} error */
	problem(error) {
		if (!(error instanceof ApiError) && !(error instanceof Unreachable))
			throw error;
		fill(page.problem, h('div', {class: 'trouble', role: 'alert'}, h('p', {}, error.message)));
		page.problem.scrollIntoView({block: 'nearest'});
	},
	unsent: () => store.all(person.id).filter(item => item.record === record.id),
	/** @param {any} run @param {any} point @param {{observed: string, applied: string|null, shown: any}} reading */
	enter(run, point, reading) {
		const at = new Date().toISOString();
		const judged = core && judgeTyped(core, record, run, point, reading, doing.unsent().map(item => /** @type {any} */ (item.body)));
		store.put({key: newKey(), person: person.id, record: record.id, number: record.number, tag: record.instrument.tag, run: run.kind, point: point.index, at, shown: reading.shown, judged,
			body: {run: run.kind, point: point.index, ...reading.applied !== null && {applied: reading.applied}, observed: reading.observed, taken_at: at, ...judged && {client_verdict: judged.verdict}}});
		show();
		sending.flush();
	},
	/** The newest reading goes: off this tablet when it was not sent, else off the record. @param {any} run @param {any[]} points */
	undo(run, points) {
		const read = points.filter(point => point.reading), last = read[read.length - 1]?.reading;
		if (last?.unsent && sending.state.sending !== last.key) {
			store.remove(last.key);
			show();
		} else if (last?.id) {
			doing.change('DELETE', `/readings/${last.id}`).catch(doing.problem);
		}
	},
};

/** What the sender has to tell. @param {{record?: any, item?: any, error?: any}} what */
function sent(what) {
	if (what.record && what.record.id === record?.id)
		take(what.record);
	else
		show();
}

/** @type {Map<string, HTMLElement>} */
const modems = new Map();

/** Made once a page, so that an attached modem outlives the phase in view. @param {any} channel */
function modemOf(channel) {
	if (!needsModem(channel) || !doing.edit)
		return null;
	const part = modems.get(channel.id) ?? modemPart(channel);

	modems.set(channel.id, part);
	return part;
}

function phaseInView() {
	const wanted = location.hash.slice(1);

	if (PHASES.includes(wanted))
		return wanted;
	const phase = PHASES.includes(record.phase) ? record.phase : 'sign';
	/* the page stays at a phase until the person goes on, however far the record has come meanwhile */
	if (wanted !== 'attention')
		history.replaceState(null, '', `#${phase}`);
	return phase;
}

function show() {
	if (!record || !page)
		return;
	const phase = phaseInView(), changed = phase !== shownPhase;

	document.title = `${record.instrument.tag}, ${t(`phase.${phase}`)} · Loopledger`;
	fill(byId('title'), unbroken(`Run ${record.instrument.tag}`));
	showUnsent(sending);
	fill(page.about, about());
	rebuild(page.thread, () => fill(page.thread, thread(record, phase)));
	fill(page.attention, returned(), attention(store.all(person.id).filter(item => item.record === record.id), {retry, discard}));
	shownPhase = phase;
	page.beside.hidden = !['prepare', 'prove'].includes(phase);
	page.phase.parentElement?.classList.toggle('with-aside', !page.beside.hidden);
	if (changed)
		fill(page.problem);
	if (!page.beside.hidden && !page.beside.firstChild)
		fill(page.beside, h('section', {class: 'part'}, h('h2', {}, 'How to wire it'), wiringSheet(record.wiring, record.instrument.tag)));
	if (phase === 'as_found' || phase === 'as_left')
		showPoints(phase, changed);
	else
		rebuild(page.phase, () => fill(page.phase, ...phaseContent(phase)));
}

/** @type {ReturnType<typeof pointsPhase>|null} */
let points = null;

/** @param {'as_found'|'as_left'} kind @param {boolean} changed */
function showPoints(kind, changed) {
	if (changed || !points) {
		points = pointsPhase(kind, doing, errorChart());
		fill(page.phase, points.element);
	}
	rebuild(page.phase, () => points?.show(record));
}

/** @param {string} phase */
function phaseContent(phase) {
	if (phase === 'prepare')
		return preparePhase(record, doing);
	if (phase === 'prove')
		return provePhase(record, doing);
	if (phase === 'adjust')
		return adjustPhase(record, doing);
	const chart = errorChart();
	chart.show(record.runs.filter((/** @type {any} */ run) => run.id));
	return signPhase(record, doing, recordSections(record, {chart: chart.element, outcome}));
}

/** Why the record came back, for as long as it is to be worked on again. */
function returned() {
	const back = record.state === 'returned' && record.signatures.findLast((/** @type {any} */ one) => one.meaning === 'returned');

	return back && h('div', {class: 'notice'}, h('p', {}, h('b', {}, `${back.name} returned this test: `), back.reason));
}

/** What is being tested, in two lines that are always there. */
function about() {
	const {instrument, procedure} = record;

	return h('p', {}, h('b', {}, instrument.service), h('span', {class: 'muted about-area'}, h('span', {class: 'about-dot'}, ' \u00b7 '), instrument.area),
		h('span', {class: 'muted block'}, `${record.number} \u00b7 ${procedure.code} version ${procedure.number}`, h('span', {class: 'about-title'}, `, ${procedure.document.title}`)));
}

/** @param {any} item */
function retry(item) {
	const {refused, ...again} = item;

	store.put(again);
	show();
	sending.flush();
}

/** @param {any} item */
function discard(item) {
	store.remove(item.key);
	show();
	sending.flush();
}
