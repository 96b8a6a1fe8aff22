/* The rows of the due page: one for each schedule, grouped by when it is due and by area, and the short list of records in hand. */
import {h} from '../../lib/dom.js';
import {date, dueWords, monthInFull, shown} from '../../lib/format.js';
import {verdict} from '../../lib/mark.js';
import {t} from '../../lib/words.js';

/**
 * @param {import('./groups.js').DueGroup} group
 * @param {string} today
 * @param {{open: (schedule: any, button: HTMLElement) => void, mayTest: boolean}} how
 */
export function duePart({when, month, areas, count}, today, how) {
	const title = {overdue: 'Overdue', week: 'This week', month: 'This month', later: monthInFull(month, today)}[when];

	return h('section', {class: 'part due-part', id: when === 'later' ? `due-${month}` : `due-${when}`},
		h('h2', {class: when === 'overdue' && 'bad'}, title, h('span', {class: 'muted due-count'}, ' ', count)),
		h('div', {}, areas.map(({area, items}) => h('div', {class: 'due-area'},
			h('h3', {}, area),
			h('ul', {class: 'due-rows'}, items.map(schedule => row(schedule, how)))))));
}

/** @param {any} schedule @param {{open: Function, mayTest: boolean}} how */
function row(schedule, {open, mayTest}) {
	const late = schedule.days < 0;

	return h('li', {class: 'due-row'},
		h('div', {class: 'due-what'}, mayTest && schedule.runnable
			? h('button', {type: 'button', class: 'due-open', onclick: (/** @type {any} */ event) => open(schedule, event.currentTarget)},
				h('span', {class: 'tag'}, schedule.tag), h('span', {class: 'visually-hidden'}, schedule.open_record ? ': go on with the test' : ': open the test'))
			: h('a', {class: 'tag due-open', href: `/instrument?id=${schedule.instrument_id}`}, schedule.tag),
		h('span', {class: 'due-service'}, schedule.service)),
		h('div', {class: 'due-how'}, h('span', {}, schedule.procedure_title),
			!schedule.runnable && h('span', {class: 'muted due-also'}, 'no approved version'),
			schedule.open_record && h('span', {class: 'muted due-also'}, `${schedule.open_record.number} ${t(`state.${schedule.open_record.state}`)}`)),
		h('div', {class: 'due-when'}, h('span', {class: late ? 'bad late' : ''}, dueWords(schedule.days)), h('span', {class: 'muted'}, date(schedule.due_on))),
		h('div', {class: 'due-who muted'}, schedule.assigned_to?.name ?? 'anyone'));
}

/** Records that wait for somebody: in progress, or for review. @param {string} id @param {string} title @param {any[]} records @param {(record: any) => string} to */
export function recordsPart(id, title, records, to) {
	return h('section', {class: 'part', id}, h('h2', {}, title),
		h('ul', {class: 'due-rows'}, records.map(record => h('li', {class: 'due-row'},
			h('div', {class: 'due-what'}, h('a', {class: 'tag due-open', href: to(record)}, record.tag), h('span', {class: 'due-service'}, record.service)),
			h('div', {class: 'due-how'}, h('span', {class: 'nowrap'}, record.number),
				record.verdict_as_found && record.verdict_as_found !== 'not_judged' && verdict(record.verdict_as_found, `as found ${t(`verdict.${record.verdict_as_found}`)}`),
				record.shown_worst_as_found && h('span', {class: 'muted nowrap'}, `worst ${shown(record.shown_worst_as_found)}`)),
			h('div', {class: 'due-when'}, h('span', {}, t(`state.${record.state}`)), h('span', {class: 'muted'}, date(record.performed_at ?? record.opened_at))),
			h('div', {class: 'due-who muted'}, record.performed_by ?? record.opened_by)))));
}
