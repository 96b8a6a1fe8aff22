/*
 * When the tests fall due: what is late first, then this week, this month and the months after; within each the areas in the
 * order of a round, as the server gives them. Pure.
 */

const WEEK_DAYS = 7;

/** @typedef {{area: string, area_id: string, items: any[]}} AreaGroup the schedules of one area, by due date */
/** @typedef {{when: 'overdue'|'week'|'month'|'later', month: string, areas: AreaGroup[], count: number}} DueGroup month is '2026-12' */

/** @param {AreaGroup[]} areas @param {string} today '2026-11-25' @returns {DueGroup[]} none of them empty */
export function byTime(areas, today) {
	/** @type {Map<string, DueGroup>} */
	const groups = new Map();

	for (const area of areas) {
		for (const schedule of area.items) {
			const when = whenOf(schedule, today), month = schedule.due_on.slice(0, 7), key = order(when, month);
			const group = groups.get(key) ?? {when, month, areas: [], count: 0};
			groups.set(key, group);
			if (group.areas.at(-1)?.area_id !== area.area_id)
				group.areas.push({area: area.area, area_id: area.area_id, items: []});
			group.areas[group.areas.length - 1].items.push(schedule);
			group.count += 1;
		}
	}
	return [...groups.entries()].sort(([a], [b]) => a < b ? -1 : 1).map(([, group]) => group);
}

/** @param {{days: number, due_on: string}} schedule @param {string} today @returns {DueGroup['when']} */
function whenOf({days, due_on: dueOn}, today) {
	if (days < 0)
		return 'overdue';
	if (days <= WEEK_DAYS)
		return 'week';
	return dueOn.slice(0, 7) === today.slice(0, 7) ? 'month' : 'later';
}

/** What sorts the groups, and tells one month from another. @param {DueGroup['when']} when @param {string} month */
function order(when, month) {
	return {overdue: '0', week: '1', month: '2', later: `3 ${month}`}[when];
}
