/* Findings: what was out of tolerance, newest first, until somebody says what it means. */
import {mayDo, startPage} from '../features/frame/frame.js';
import {findingLine} from '../features/findings/lines.js';
import {dayColumn} from '../lib/days.js';
import {byId, fill, h} from '../lib/dom.js';
import {pagedList} from '../lib/paged.js';
import {keepPlace} from '../lib/place.js';

const STATES = [['', 'all'], ['open', 'open'], ['closed', 'closed']];

startPage(async session => {
	const state = new URLSearchParams(location.search).get('state') ?? '', column = dayColumn('Findings');
	const how = {mayReview: mayDo(session, 'review'), changed: () => location.reload()};
	const asked = new URLSearchParams(location.search).get('id');
	const list = await pagedList({path: '/findings', query: new URLSearchParams(state ? {state} : {}), least: asked ? 1000 : 0, words: n => n === 1 ? '1 finding' : `${n} findings`,
		add: items => items.map(finding => column.add(finding.opened_at, findingLine(finding, how)))[0] ?? null});

	fill(byId('main'),
		h('p', {class: 'lead'}, 'A tag found outside its limits may have misled the plant since its last good test. Each stands here until it is answered for.'),
		h('nav', {class: 'words no-print', 'aria-label': 'Which findings'}, h('ul', {}, STATES.map(([value, word]) =>
			h('li', {}, h('a', {href: value ? `/findings?state=${value}` : '/findings', 'aria-current': value === state && 'true'}, word))))),
		list.count ? column.element : h('div', {class: 'empty part'}, h('h2', {}, state === 'open' ? 'Nothing is open' : 'No findings'), h('div', {},
			h('p', {}, 'A finding is written by itself when a signed test shows that a tag was found outside its limits.'), h('p', {}, h('a', {href: '/records'}, 'Look at the records')))),
		list.more);
	keepPlace();
	if (asked)
		showFinding(asked);
});

/** A record names its finding in the address. @param {string} id */
function showFinding(id) {
	const line = document.getElementById(id);

	line?.classList.add('asked');
	line?.focus({preventScroll: true});
	line?.scrollIntoView({block: 'center'});
}
