/* Records: every test, newest first, found by search and filter. The filter is in the address, so it can be sent on. */
import {startPage} from '../features/frame/frame.js';
import {selectionBar} from '../features/record/batch.js';
import {call} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {field, showErrors} from '../lib/form.js';
import {date, shown} from '../lib/format.js';
import {verdict} from '../lib/mark.js';
import {t} from '../lib/words.js';

const STATES = ['open', 'performed', 'reviewed', 'certified', 'returned', 'void'];
const VERDICTS = ['pass', 'conditional_pass', 'conditional_fail', 'fail', 'not_judged'];

startPage(async session => {
	const query = new URLSearchParams();

	for (const [name, value] of new URLSearchParams(location.search))
		if (['q', 'state', 'verdict', 'instrument'].includes(name) && value)
			query.set(name, value);
	const first = await call('GET', `/test-records?${query}`);
	fill(byId('main'), filters(query), first.items.length ? list(first, query, session) : nothing(query));
});

/** @param {URLSearchParams} query */
function filters(query) {
	return h('form', {class: 'filters no-print', action: '/records', role: 'search', 'aria-label': 'Records', onchange: (/** @type {any} */ event) => event.target.type !== 'search' && event.currentTarget.requestSubmit()},
		h('div', {class: 'field wide'}, h('label', {for: 'records-q'}, 'Search'), h('input', {id: 'records-q', type: 'search', name: 'q', value: query.get('q'), placeholder: 'Tag, service, number'})),
		field({name: 'state', label: 'State', value: query.get('state') ?? '', options: [['', 'any'], ...STATES.map(state => /** @type {[string, string]} */ ([state, t(`state.${state}`)]))]}),
		field({name: 'verdict', label: 'As found', value: query.get('verdict') ?? '', options: [['', 'any'], ...VERDICTS.map(one => /** @type {[string, string]} */ ([one, t(`verdict.${one}`)]))]}),
		query.get('instrument') && h('input', {type: 'hidden', name: 'instrument', value: query.get('instrument')}),
		h('button', {}, 'Search'));
}

/** @param {{items: any[], next: string|null}} first @param {URLSearchParams} query @param {import('../lib/api.js').Session} session */
function list(first, query, session) {
	/** @type {Map<string, HTMLInputElement>} */
	const boxes = new Map();
	const clear = () => boxes.forEach(box => box.checked && box.click());
	const bar = selectionBar(session, {clear});
	const line = (/** @type {any} */ record) => {
		const box = /** @type {HTMLInputElement} */ (h('input', {type: 'checkbox', 'aria-label': `Choose ${record.number}`, onchange: () => bar.choose(record, box.checked)}));

		boxes.set(record.id, box);
		return row(record, box);
	};
	const all = /** @type {HTMLInputElement} */ (h('input', {type: 'checkbox', 'aria-label': 'Choose all that are shown', onchange: () => boxes.forEach(box => box.checked !== all.checked && box.click())}));
	const rows = h('tbody', {}, first.items.map(line)), foot = h('div', {class: 'actions'});
	let next = first.next;

	function showFoot() {
		fill(foot, next ? h('button', {type: 'button', onclick: more}, 'Show more') : h('p', {class: 'muted'}, rows.childElementCount === 1 ? 'One record.' : `All ${rows.childElementCount} records are shown.`),
			h('p', {class: 'form-error', role: 'alert', hidden: true}));
	}
	async function more() {
		try {
			const page = await call('GET', `/test-records?${new URLSearchParams([...query, ['after', String(next)]])}`);
			rows.append(...page.items.map(line));
			next = page.next;
			showFoot();
		} catch (error) {
			showErrors(foot, error);
		}
	}
	showFoot();
	return h('div', {class: 'stacked'}, h('table', {class: 'stack records'},
		h('thead', {}, h('tr', {}, h('th', {class: 'choose no-print'}, h('label', {class: 'choice'}, all, h('span', {class: 'muted choose-word'}, 'all that are shown'))), ['number', 'instrument', 'state', 'as found', 'as left', 'performed'].map(head => h('th', {scope: 'col'}, head)))), rows), foot, bar.elements);
}

/** @param {any} record @param {HTMLInputElement} box */
function row(record, box) {
	return h('tr', {},
		h('td', {class: 'choose no-print'}, h('label', {class: 'choice'}, box)),
		h('th', {scope: 'row'}, h('a', {class: 'nowrap', href: `/record?id=${record.id}`}, record.number)),
		h('td', {class: 'instrument-cell', 'data-label': 'instrument'}, h('span', {}, h('b', {}, record.tag), ` ${record.service}`)),
		h('td', {class: 'state-cell', 'data-label': 'state'}, h('span', {}, t(`state.${record.state}`), record.certificate_number && h('span', {class: 'muted small block nowrap'}, record.certificate_number, record.certificate_state !== 'current' && `, ${record.certificate_state}`))),
		h('td', {class: 'found-cell', 'data-label': 'as found'}, record.verdict_as_found ? h('span', {}, verdict(record.verdict_as_found), record.shown_worst_as_found && h('span', {class: 'muted small block nowrap'}, `worst ${shown(record.shown_worst_as_found)}`)) : null),
		h('td', {class: 'left-cell', 'data-label': 'as left'}, record.verdict_as_left ? verdict(record.verdict_as_left) : null),
		h('td', {class: 'performed-cell', 'data-label': 'performed'}, record.performed_at ? h('span', {}, date(record.performed_at), h('span', {class: 'muted small block'}, record.performed_by)) : null));
}

/** @param {URLSearchParams} query */
function nothing(query) {
	return h('div', {class: 'empty part'}, h('h2', {}, [...query].length ? 'No record fits' : 'No record yet'),
		h('div', {}, h('p', {}, [...query].length ? 'Nothing was found for this search.' : 'A record begins when a test is opened on Due. Every test stands here from then on.'),
			h('p', {}, [...query].length ? h('a', {href: '/records'}, 'Show all records') : h('a', {class: 'button primary', href: '/due'}, 'Go to Due'))));
}
