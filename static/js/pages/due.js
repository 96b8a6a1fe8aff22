/* Due: what to do next. Sentences first, then what is late, what is in hand, and the rest by when it is due and by area. */
import {mayDo, startPage, showTrouble} from '../features/frame/frame.js';
import {byTime} from '../features/due/groups.js';
import {monthsTable} from '../features/due/months.js';
import {duePart, recordsPart} from '../features/due/rows.js';
import {call} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {field} from '../lib/form.js';

/** @typedef {import('../lib/api.js').Session} Session */

startPage(async session => {
	const filter = new URLSearchParams(location.search);
	const query = new URLSearchParams({within: filter.get('within') ?? '30'});

	for (const name of ['area', 'mine'])
		if (filter.get(name))
			query.set(name, String(filter.get(name)));
	const [due, areas] = await Promise.all([call('GET', `/due?${query}`), call('GET', '/areas')]);
	show(due, areas.items, session, query);
});

/** @param {any} due @param {any[]} areas @param {Session} session @param {URLSearchParams} query */
function show(due, areas, session, query) {
	const problem = h('div', {});
	const how = {mayTest: mayDo(session, 'test'), open: (/** @type {any} */ schedule, /** @type {HTMLElement} */ button) => open(schedule, button, problem)};
	const many = due.areas.reduce((/** @type {number} */ sum, /** @type {any} */ group) => sum + group.items.length, 0) > 200;
	const groups = byTime(due.areas, due.today), late = groups.filter(group => group.when === 'overdue');
	const part = (/** @type {import('../features/due/groups.js').DueGroup} */ group) => duePart(group, due.today, how);

	fill(byId('main'), h('div', {class: 'spread'}, sentences(due.counts, Number(query.get('within'))), h('span', {class: 'actions no-print'}, h('a', {class: 'button', href: '/live'}, 'Live values'), h('a', {class: 'button', href: '/calculate'}, 'Work out a value'))), problem,
		h('div', {class: 'two-columns due-columns'},
			h('div', {class: many ? 'stacked due-many' : 'stacked'},
				filters(areas, query),
				late.map(part),
				due.in_progress.length > 0 && recordsPart('in-progress', 'In progress', due.in_progress, record => `/run?id=${record.id}`),
				due.reviews.length > 0 && recordsPart('reviews', 'Waiting for review', due.reviews, record => `/record?id=${record.id}`),
				groups.filter(group => group.when !== 'overdue').map(part),
				!groups.length && nothing(query)),
			h('aside', {class: 'aside stacked', 'aria-label': 'Load by month'}, monthsTable(due.months))));
}

/** @param {any} counts @param {number} within */
function sentences(counts, within) {
	const tests = (/** @type {number} */ n) => n === 1 ? '1 test' : `${n} tests`;
	const are = (/** @type {number} */ n) => n === 1 ? 'is' : 'are', wait = (/** @type {number} */ n) => n === 1 ? 'waits' : 'wait';
	const first = counts.overdue ? [h('b', {class: 'bad'}, h('a', {href: '#due-overdue'}, `${tests(counts.overdue)} ${are(counts.overdue)} overdue`))] : ['Nothing is overdue'];

	return h('div', {class: 'due-say'},
		h('p', {class: 'lead'}, first, `, ${counts.this_week} due this week, ${counts.within} within ${within} days.`),
		h('p', {class: 'lead'},
			counts.in_progress ? h('a', {href: '#in-progress'}, `${counts.in_progress} in progress`) : 'None in progress', ', ',
			counts.waiting_for_review ? h('a', {href: '#reviews'}, `${counts.waiting_for_review} ${wait(counts.waiting_for_review)} for review`) : 'none waiting for review', '.'));
}

/** @param {any[]} areas @param {URLSearchParams} query */
function filters(areas, query) {
	const change = (/** @type {Event} */ event) => /** @type {HTMLFormElement} */ (/** @type {any} */ (event.currentTarget)).requestSubmit();

	return h('form', {class: 'filters no-print', action: '/due', onchange: change, 'aria-label': 'Which tests'},
		field({name: 'area', label: 'Area', value: query.get('area') ?? '', options: [['', 'All areas'], ...areas.map(area => /** @type {[string, string]} */ ([area.id, area.path]))]}),
		field({name: 'within', label: 'How far ahead', value: query.get('within') ?? '30', options: [['0', 'overdue and today'], ['7', '7 days'], ['30', '30 days'], ['90', '90 days'], ['366', 'a year']]}),
		field({name: 'mine', label: 'For whom', value: query.get('mine') ?? '', options: [['', 'anyone'], ['1', 'me']]}),
		h('noscript', {}, h('button', {}, 'Show')));
}

/** @param {URLSearchParams} query */
function nothing(query) {
	const filtered = query.get('area') || query.get('mine');

	return h('div', {class: 'empty part'}, h('h2', {}, 'Nothing due'), h('div', {},
		h('p', {}, filtered ? 'Nothing is due for this choice.' : 'No test falls due in this time. What stands here comes from schedules: an instrument, a procedure and an interval.'),
		h('p', {}, filtered ? h('a', {href: '/due'}, 'Show all areas') : h('a', {class: 'button primary', href: '/instruments'}, 'Go to Instruments'))));
}

/** @param {any} schedule @param {HTMLElement} button @param {Element} problem */
async function open(schedule, button, problem) {
	if (button.getAttribute('aria-disabled'))
		return;
	button.setAttribute('aria-disabled', 'true');
	try {
		const record = await call('POST', '/test-records', {schedule_id: schedule.id});
		location.assign(`/run?id=${record.id}`);
	} catch (error) {
		button.removeAttribute('aria-disabled');
		showTrouble(problem, error);
		problem.scrollIntoView({block: 'nearest'});
	}
}
