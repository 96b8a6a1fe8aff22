/* The tests an instrument is planned for: shown as lines, added and changed in place. */
import {call} from '../../lib/api.js';
import {fill, h} from '../../lib/dom.js';
import {field, form, showErrors} from '../../lib/form.js';
import {date, dueWords} from '../../lib/format.js';
import {draftUpon, sharedRow} from '../../lib/newer.js';
import {readRows} from '../../lib/paged.js';

/**
 * @param {{instrument: any, schedules: any[], mayManage: boolean, mayTest: boolean, today: string}} spec
 * @returns {HTMLElement}
 */
export function schedulePart(spec) {
	const place = h('div', {});
	const state = {...spec, schedules: [...spec.schedules], open: openDraft(spec)};

	show(place, state);
	return h('section', {class: 'part', id: 'schedules'}, h('h2', {}, 'When it is tested'), place);
}

/** A form that was being filled in stands open again after a reload. @param {any} spec */
function openDraft({instrument, schedules, mayManage}) {
	const typed = (/** @type {string} */ id) => sessionStorage.getItem(`loopledger.draft.${draftKey(instrument, id)}`);

	if (!mayManage)
		return null;
	return typed('new') ? 'new' : schedules.find((/** @type {any} */ schedule) => typed(schedule.id))?.id ?? null;
}

/** @param {any} instrument @param {string} id */
function draftKey(instrument, id) {
	return `schedule-${instrument.id}-${id}`;
}

/** @param {HTMLElement} place @param {any} state */
function show(place, state) {
	const {schedules, mayManage, open} = state;
	const to = (/** @type {string|null} */ id, /** @type {string} */ focus) => {
		state.open = id;
		show(place, state);
		/** @type {HTMLElement|null} */ (place.querySelector(focus))?.focus();
	};

	fill(place,
		schedules.length ? h('ul', {class: 'rows schedule-rows'}, schedules.map((/** @type {any} */ schedule) => h('li', {},
			open === schedule.id ? editor(place, state, schedule, to) : line(schedule, state, () => to(schedule.id, '.schedule-form input')))))
			: open !== 'new' && h('p', {class: 'muted'}, mayManage ? 'No test is planned. A procedure and an interval make it appear under Due.' : 'No test is planned.'),
		open === 'new' && editor(place, state, null, to),
		mayManage && !open && h('div', {class: 'actions'}, h('button', {type: 'button', class: 'plan', onclick: () => to('new', '.schedule-form select')}, 'Plan a test')));
}

/** @param {any} schedule @param {any} state @param {() => void} change */
function line(schedule, {mayManage, mayTest, open}, change) {
	const due = !schedule.active ? h('span', {class: 'muted'}, 'set aside') : [h('span', {class: schedule.days < 0 ? 'bad late' : ''}, dueWords(schedule.days)), h('span', {class: 'muted'}, date(schedule.due_on))];

	return h('div', {class: 'schedule-line'},
		h('div', {}, h('a', {href: `/procedure?id=${schedule.procedure_id}`}, schedule.procedure_title), h('span', {class: 'muted'}, ` ${schedule.procedure_code}`),
			h('p', {class: 'muted'}, `every ${months(schedule.interval_months)}, by ${schedule.assigned_to?.name ?? 'anyone'}`, !schedule.runnable && '; no approved version yet'),
			schedule.evidence && h('p', {class: 'small prose'}, schedule.evidence)),
		h('div', {class: 'schedule-due'}, due),
		h('div', {class: 'actions no-print'},
			mayTest && schedule.runnable && schedule.active && h('button', {type: 'button', onclick: (/** @type {any} */ event) => openTest(schedule, event.currentTarget)}, schedule.open_record ? 'Go on with the test' : 'Open the test'),
			mayManage && !open && h('button', {type: 'button', class: 'quiet', onclick: change}, 'Change', h('span', {class: 'visually-hidden'}, ` the plan for ${schedule.procedure_code}`))));
}

/** @param {any} schedule @param {HTMLElement} button */
async function openTest(schedule, button) {
	const line = /** @type {HTMLElement} */ (button.closest('.schedule-line'));

	if (button.getAttribute('aria-disabled') === 'true')
		return;
	button.setAttribute('aria-disabled', 'true');
	line.querySelector('.form-error')?.remove();
	try {
		const record = await call('POST', '/test-records', {schedule_id: schedule.id});
		location.assign(`/run?id=${record.id}`);
	} catch (error) {
		button.removeAttribute('aria-disabled');
		line.append(h('p', {class: 'form-error', role: 'alert', hidden: true}));
		showErrors(line, error);
	}
}

/** @param {number} n */
export function months(n) {
	if (n % 12 === 0)
		return n === 12 ? 'year' : `${n / 12} years`;
	return n === 1 ? 'month' : `${n} months`;
}

/** @param {any} schedule */
function scheduleValues(schedule) {
	return {interval_months: String(schedule.interval_months), due_on: schedule.due_on, assigned_to: schedule.assigned_to?.id ?? '', evidence: schedule.evidence ?? '', active: schedule.active};
}

/** @param {HTMLElement} place @param {any} state @param {any|null} schedule @param {(id: string|null, focus: string) => void} to */
function editor(place, state, schedule, to) {
	const {instrument, today} = state, holder = h('div', {class: 'raised'}, h('p', {class: 'progress', role: 'status'}, 'Reading procedures and people'));
	const values = schedule ? scheduleValues(schedule) : {interval_months: '12', due_on: today, assigned_to: '', evidence: '', active: true};
	const key = draftKey(instrument, schedule?.id ?? 'new');
	const close = () => {
		sessionStorage.removeItem(`loopledger.draft.${key}`);
		to(null, schedule ? '.schedule-line button' : '.plan');
	};
	const row = schedule && sharedRow({row: schedule, path: `/instruments/${instrument.id}`, thing: 'schedule', values: scheduleValues, pick: found => found.schedules.find((/** @type {any} */ other) => other.id === schedule.id)});

	Promise.all([schedule ? null : readRows('/procedures', new URLSearchParams(), 1000), call('GET', '/people')]).then(([procedures, people]) => {
		fill(holder, h('h3', {}, schedule ? `Change the plan: ${schedule.procedure_title}` : 'Plan a test'), form({
			class: 'form schedule-form', submit: schedule ? 'Save' : 'Plan it', cancel: close, draft: schedule ? draftUpon(key, schedule, scheduleValues) : key,
			fields: [
				procedures && field({name: 'procedure_id', label: 'Procedure', required: true, options: [['', 'choose'], ...procedures.items.map(procedure => /** @type {[string, string]} */ ([procedure.id, procedureWords(procedure)]))]}),
				h('div', {class: 'fields'},
					field({name: 'interval_months', label: 'Every', unit: 'months', whole: true, required: true, value: values.interval_months}),
					field({name: 'due_on', label: 'Next due', type: 'date', required: true, width: 'short', value: values.due_on}),
					field({name: 'assigned_to', label: 'By', width: 'medium', value: values.assigned_to, options: [['', 'anyone'], ...testers(people.items, schedule)]})),
				field({name: 'evidence', label: 'Why this interval', rows: 2, value: values.evidence, help: 'What it rests on: the history, the maker\u2019s advice, a rule. An auditor reads it.', attributes: {optional: true}}),
				schedule && field({name: 'active', label: 'It is on the list of due tests', check: true, value: values.active}),
			],
			onsubmit: async (typed, self) => {
				const body = {interval_months: typed.interval_months, due_on: typed.due_on, assigned_to: typed.assigned_to || null, evidence: typed.evidence || null};
				const saved = row ? await row.save(self, version => call('PUT', `/schedules/${schedule.id}`, {...body, active: typed.active}, {version}))
					: await call('POST', '/schedules', {...body, instrument_id: instrument.id, procedure_id: typed.procedure_id});
				state.schedules = schedule ? state.schedules.map((/** @type {any} */ other) => other.id === saved.id ? saved : other) : [...state.schedules, saved];
				close();
			},
		}));
		/** @type {HTMLElement|null} */ (holder.querySelector('select, input'))?.focus();
	}, error => {
		fill(holder, h('p', {class: 'form-error', role: 'alert'}, error.message), h('div', {class: 'actions'}, h('button', {type: 'button', onclick: close}, 'Close')));
	});
	return holder;
}

/** @param {any} procedure */
function procedureWords(procedure) {
	return `${procedure.code}${procedure.title ? `, ${procedure.title}` : ''}${procedure.approved ? '' : ' (not yet approved)'}`;
}

/** Who may run tests; somebody who no longer may stays named. @param {any[]} people @param {any} schedule @returns {Array<[string, string]>} */
function testers(people, schedule) {
	const list = people.filter(person => person.active && person.roles.some((/** @type {string} */ role) => role === 'technician' || role === 'lead'));
	const now = schedule?.assigned_to;

	if (now && !list.some(person => person.id === now.id))
		list.push(now);
	return list.map(person => [person.id, person.name]);
}
