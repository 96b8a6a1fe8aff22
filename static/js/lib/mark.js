/*
 * Marks and icons: own drawings on a 20 px grid with a 1.5 px stroke, always beside a word.
 *
 *   verdict('fail')          a crossed ring and "outside"; null gives "not judged" only where there is something to judge
 *   mark('fail')             the ring alone, for where the word stands already
 *   certificateEnd(record)   ", certificate amended" in a list
 *   icon('search')           search menu person plus minus back print sign arrow-up arrow-down check note close
 */
import {h, s} from './dom.js';
import {t} from './words.js';

/** @typedef {'pass'|'conditional_pass'|'conditional_fail'|'fail'|'not_judged'} Verdict */

/** @type {Record<string, string>} */
const PATHS = {
	'search': 'M8.5 3.5a5 5 0 1 1 0 10 5 5 0 0 1 0-10zM12.2 12.2l4.3 4.3',
	'menu': 'M3 5.5h14M3 10h9M3 14.5h14',
	'person': 'M10 3.5a3 3 0 1 1 0 6 3 3 0 0 1 0-6zM3.5 17c.6-3.4 3.2-5 6.5-5s5.9 1.6 6.5 5',
	'plus': 'M10 4v12M4 10h12',
	'minus': 'M4 10h12',
	'back': 'M8 5l-5 5 5 5M3 10h9a4 4 0 0 1 4 4v1',
	'print': 'M6 7V3h8v4M6 14H3.5V7h13v7H14M6 11.5h8V17H6z',
	'sign': 'M3 16.5h14M5 13.5l1-3.5 7.5-7 2.5 2.5-7.5 7z',
	'arrow-up': 'M10 16V4M5.5 8.5L10 4l4.5 4.5',
	'arrow-down': 'M10 4v12M5.5 11.5L10 16l4.5-4.5',
	'arrow-right': 'M4 10h12M11.5 5.5L16 10l-4.5 4.5',
	'check': 'M4 10.5l4 4 8-9',
	'note': 'M4 3.5h12v10l-3.5 3.5H4zM7 8h6M7 11.5h4',
	'close': 'M5 5l10 10M15 5L5 15',
};

/** @param {string} name @returns {SVGElement} */
export function icon(name) {
	return s('svg', {class: 'icon', viewBox: '0 0 20 20', width: 20, height: 20, 'aria-hidden': 'true', focusable: 'false'},
		s('path', {d: PATHS[name], fill: 'none', stroke: 'currentColor', 'stroke-width': 1.5, 'stroke-linejoin': 'round', 'stroke-linecap': 'round'}));
}

const RING = {cx: 10, cy: 10, r: 6.75, fill: 'none', stroke: 'currentColor', 'stroke-width': 1.5};

/** @param {string|null} verdict @returns {SVGElement} */
export function mark(verdict) {
	const line = {fill: 'none', stroke: 'currentColor', 'stroke-width': 1.75, 'stroke-linecap': 'round', 'stroke-linejoin': 'round'};
	const drawing = {
		pass: [s('path', {...line, d: 'M3.5 10.5l4.5 4.5 8.5-10'})],
		conditional_pass: [s('circle', RING), s('path', {d: 'M10 3.25a6.75 6.75 0 0 0 0 13.5z', fill: 'currentColor'})],
		conditional_fail: [s('circle', RING), s('path', {d: 'M10 3.25a6.75 6.75 0 0 1 0 13.5z', fill: 'currentColor'})],
		fail: [s('circle', RING), s('path', {...line, d: 'M7.3 7.3l5.4 5.4M12.7 7.3l-5.4 5.4'})],
	}[verdict ?? ''] ?? [s('circle', {...RING, 'stroke-dasharray': '2 2.5'})];

	return s('svg', {class: `mark ${tone(verdict)}`, viewBox: '0 0 20 20', width: 20, height: 20, 'aria-hidden': 'true', focusable: 'false'}, drawing);
}

/** The class that gives a verdict its colour. @param {string|null} verdict */
export function tone(verdict) {
	if (verdict === 'pass')
		return 'ok';
	if (verdict === 'fail')
		return 'bad';
	return verdict?.startsWith('conditional') ? 'cond' : 'muted';
}

/** @param {string|null} verdict @param {string} [word] another word than the verdict's own */
export function verdict(verdict, word) {
	return h('span', {class: `verdict ${tone(verdict)}`}, mark(verdict), h('span', {}, word ?? t(`verdict.${verdict ?? 'not_judged'}`)));
}

/** In a list: that the record's certificate no longer stands; nothing while it does. @param {{certificate_state?: string|null}} record */
export function certificateEnd(record) {
	return record.certificate_state && record.certificate_state !== 'current' && h('span', {}, `, certificate ${record.certificate_state}`);
}
