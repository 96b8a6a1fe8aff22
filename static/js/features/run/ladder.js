/*
 * The ladder of a run: one rung for each set point, the highest at the top. The rising legs are climbed from below, the
 * falling ones descended; the topmost point is read once, where the direction turns.
 */
import {h} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';
import {icon, mark} from '../../lib/mark.js';
import {t} from '../../lib/words.js';

/** @param {any} run @param {any[]} points with what is not yet sent @param {number} current index of the next point; -1 when there is none */
export function ladder(run, points, current) {
	const legs = legsOf(points);
	const rungs = [...new Set(points.map(point => point.percent))].sort((a, b) => b - a);

	return h('table', {class: 'ladder'},
		h('caption', {}, `${points.filter(point => point.reading).length} of ${points.length} points`),
		h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, `set, ${run.input_unit}`), legs.map(leg => h('th', {scope: 'col'},
			h('span', {class: 'leg-head'}, icon(leg.direction === 'rising' ? 'arrow-up' : 'arrow-down'), t(`direction.${leg.direction}`), legs.length > 2 && ` ${leg.cycle}`))))),
		h('tbody', {}, rungs.map(percent => h('tr', {},
			h('th', {scope: 'row', class: 'number'}, bare(points.find(point => point.percent === percent).shown_set, run.input_unit)),
			legs.map(leg => rung(points.find(point => point.percent === percent && point.direction === leg.direction && point.cycle === leg.cycle), current, run))))));
}

/** @param {any[]} points */
function legsOf(points) {
	const legs = /** @type {{direction: string, cycle: number}[]} */ ([]);

	for (const point of points)
		if (!legs.some(leg => leg.direction === point.direction && leg.cycle === point.cycle))
			legs.push({direction: point.direction, cycle: point.cycle});
	return legs;
}

/** @param {any} point @param {number} current @param {any} run */
function rung(point, current, run) {
	if (!point)
		return h('td', {class: 'rung none'}, h('span', {class: 'visually-hidden'}, 'no point'));
	if (point.reading?.unsent)
		return h('td', {class: 'rung held'}, h('span', {class: 'rung-in'}, mark(null), h('span', {class: 'number'}, bare(point.reading.shown_observed, run.output_unit)),
			h('span', {class: 'visually-hidden'}, point.reading.refused ? ' needs attention' : ' on this tablet, not yet on the server')));
	if (point.reading)
		return h('td', {class: 'rung read'}, h('span', {class: 'rung-in'}, mark(point.reading.verdict), h('span', {class: 'number'}, bare(point.reading.shown_observed, run.output_unit)),
			h('span', {class: 'visually-hidden'}, ` ${t(`verdict.${point.reading.verdict}`)}`)));
	return point.index === current
		? h('td', {class: 'rung next'}, h('span', {class: 'rung-in'}, icon(point.direction === 'rising' ? 'arrow-up' : 'arrow-down'), 'now'))
		: h('td', {class: 'rung to-come'}, h('span', {class: 'rung-in muted'}, h('span', {'aria-hidden': 'true'}, '\u00b7'), h('span', {class: 'visually-hidden'}, 'to come')));
}

/** A quantity's number without its unit, which stands once in the head. @param {string} text @param {string} unit */
export function bare(text, unit) {
	return shown(text.endsWith(` ${unit}`) ? text.slice(0, -unit.length - 1) : text);
}
