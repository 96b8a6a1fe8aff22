/*
 * The ladder of a run: one rung for each set point, the highest at the top. The rising legs are climbed from below, the
 * falling ones descended. Of several cycles the one in hand stands open, those before it below, folded.
 */
import {h} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';
import {icon, mark} from '../../lib/mark.js';
import {t} from '../../lib/words.js';

/** @param {any} run @param {any[]} points with what is not yet sent @param {number} current index of the next point; -1 when there is none */
export function ladder(run, points, current) {
	const cycles = [...new Set(points.map(point => point.cycle))], inHand = points.find(point => point.index === current)?.cycle ?? cycles[cycles.length - 1];
	const of = (/** @type {number} */ cycle) => points.filter(point => point.cycle === cycle), read = points.filter(point => point.reading).length;
	const told = `${read} of ${points.length} points`;

	if (cycles.length === 1)
		return rungs(run, points, current, told);
	return h('div', {class: 'stacked-small'}, rungs(run, of(inHand), current, `${told}, cycle ${inHand} of ${cycles.length}`),
		cycles.filter(cycle => cycle !== inHand && of(cycle).some(point => point.reading)).map(cycle =>
			h('details', {class: 'cycle'}, h('summary', {}, `Cycle ${cycle}`), rungs(run, of(cycle), current, null))));
}

/** The ladder of one cycle. @param {any} run @param {any[]} points @param {number} current @param {string|null} told */
function rungs(run, points, current, told) {
	const legs = legsOf(points);
	const percents = [...new Set(points.map(point => point.percent))].sort((a, b) => b - a);

	return h('table', {class: 'ladder'},
		told && h('caption', {}, told),
		h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, `set, ${run.input_unit}`), legs.map(leg => h('th', {scope: 'col'},
			h('span', {class: 'leg-head'}, icon(leg.direction === 'rising' ? 'arrow-up' : 'arrow-down'), t(`direction.${leg.direction}`)))))),
		h('tbody', {}, percents.map(percent => h('tr', {},
			h('th', {scope: 'row', class: 'number'}, bare(points.find(point => point.percent === percent).shown_set, run.input_unit)),
			legs.map(leg => rung(points.find(point => point.percent === percent && point.direction === leg.direction), current, run))))));
}

/** @param {any[]} points of one cycle */
function legsOf(points) {
	return [...new Set(points.map(point => point.direction))].map(direction => ({direction}));
}

/** @param {any} point @param {number} current @param {any} run */
function rung(point, current, run) {
	if (!point)
		return h('td', {class: 'rung none'}, h('span', {class: 'visually-hidden'}, 'no point'));
	if (point.reading?.unsent)
		return h('td', {class: 'rung held'}, h('span', {class: 'rung-in'}, mark(point.reading.verdict ?? null), h('span', {class: 'number'}, bare(point.reading.shown_observed, run.output_unit)),
			h('span', {class: 'visually-hidden'}, point.reading.verdict ? ` ${t(`verdict.${point.reading.verdict}`)},` : '', point.reading.refused ? ' needs attention' : ' on this tablet, not yet on the server')));
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
