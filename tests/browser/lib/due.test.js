import assert from 'node:assert/strict';
import test from 'node:test';
import {byTime} from '../../../static/js/features/due/groups.js';

const TODAY = '2026-11-20';

/** @param {string} tag @param {number} days */
function due(tag, days) {
	return {tag, days, due_on: new Date(Date.parse(TODAY) + days * 86400000).toISOString().slice(0, 10)};
}

/** @param {ReturnType<typeof byTime>} groups */
function outline(groups) {
	return groups.map(({when, month, count, areas}) => [when, month, count, areas.map(({area, items}) => [area, items.map(item => item.tag)])]);
}

test('what is overdue stands on top, whatever area it is in, and areas keep their order within', () => {
	const areas = [
		{area: 'Intake', area_id: 'a', items: [due('LT-1', 3)]},
		{area: 'Filters', area_id: 'b', items: [due('PDT-2', -23), due('AIT-3', 3)]},
		{area: 'Contact tank', area_id: 'c', items: [due('AIT-4', -1)]},
	];

	assert.deepEqual(outline(byTime(areas, TODAY)), [
		['overdue', '2026-10', 2, [['Filters', ['PDT-2']], ['Contact tank', ['AIT-4']]]],
		['week', '2026-11', 2, [['Intake', ['LT-1']], ['Filters', ['AIT-3']]]],
	]);
});

test('today and the seventh day are this week; then the rest of the month, then one month after the other across the year', () => {
	const areas = [{area: 'Hall', area_id: 'a', items: [due('T-0', 0), due('T-7', 7), due('T-8', 8), due('T-11', 11), due('T-50', 50)]}, {area: 'Yard', area_id: 'b', items: [due('T-10', 10)]}];

	/* 20 Nov 2026 + 7 = 27 Nov, + 8 = 28 Nov, + 10 = 30 Nov, + 11 = 1 Dec, + 50 = 9 Jan 2027 */
	assert.deepEqual(outline(byTime(areas, TODAY)), [
		['week', '2026-11', 2, [['Hall', ['T-0', 'T-7']]]],
		['month', '2026-11', 2, [['Hall', ['T-8']], ['Yard', ['T-10']]]],
		['later', '2026-12', 1, [['Hall', ['T-11']]]],
		['later', '2027-01', 1, [['Hall', ['T-50']]]],
	]);
	assert.deepEqual(byTime([], TODAY), []);
});

test('days of this week that fall into the next month stay in this week, and in one group', () => {
	const areas = [{area: 'Hall', area_id: 'a', items: [{...due('T-1', 0), days: 6, due_on: '2026-11-30'}, {...due('T-2', 0), days: 7, due_on: '2026-12-01'}]}];

	assert.deepEqual(outline(byTime(areas, '2026-11-24')), [['week', '2026-11', 2, [['Hall', ['T-1', 'T-2']]]]]);
});
