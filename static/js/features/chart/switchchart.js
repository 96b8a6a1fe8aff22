/*
 * The chart of a switch: the input from left to right, one line an actuation. A triangle points the way the input went where
 * it acted, another the way back where it went back; between them lies the dead band. The limits of the set point are a
 * hatched band, where it may go back is dotted. As found is hollow, as left filled; what is outside is ringed.
 */
import {s} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';
import {linear, roundTicks, tickText} from '../../lib/scale.js';
import {t} from '../../lib/words.js';

const LEFT = 30, RIGHT = 14, TOP = 46, BOTTOM = 48, ROW = 34, HEAD = 26, SIDE = 6.5;

/** @param {any[]} runs @param {number} width @param {string} hatch */
export function switchDrawing(runs, width, hatch) {
	const last = runs[runs.length - 1].switch, [from, to] = reach(runs);
	const rows = rowsOf(runs), height = TOP + rows.height + BOTTOM, x = linear(from, to, LEFT, width - RIGHT);
	const plot = {x, width, height, foot: height - BOTTOM, from, to, hatch, last};

	return s('svg', {viewBox: `0 0 ${width} ${height}`, width, height, role: 'img', 'aria-label': inWords(runs)},
		s('defs', {}, s('pattern', {id: hatch, width: 7, height: 7, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)'},
			s('line', {class: 'chart-hatch', x1: 0, y1: 0, x2: 0, y2: 7}))),
		rows.blocks.map(block => bands(block, plot)),
		named(last.set_point, `set ${shown(last.shown_set_point)}`, plot),
		last.reset_point !== null && named(last.reset_point, `reset ${shown(last.shown_reset_point)}`, plot),
		axis(plot),
		rows.heads.map(head => s('text', {class: 'chart-name', x: 0, y: head.y}, head.text)),
		rows.lines.map(line => lineOf(line, plot)),
		s('text', {class: 'chart-word', x: 0, y: 16}, last.shown_dead_band_limits && last.reset_point === null ? 'hatched: may act; dotted: may go back' : 'hatched: limits'));
}

/** What the input axis covers: points, limits, and every actuation. @param {any[]} runs @returns {[number, number]} */
function reach(runs) {
	const values = runs.flatMap(({switch: one}) => [one.set_point, one.set_point + (one.limit_low ?? 0), one.set_point + (one.limit_high ?? 0), one.reset_point,
		one.reset_point === null ? null : one.reset_point + (one.reset_limit_low ?? 0), ...one.actuations.flatMap((/** @type {any} */ a) => [a.set, a.reset, ...allowed(one, a.set)]),
		...allowed(one, one.set_point)]).filter(value => value !== null);
	const low = Math.min(...values), high = Math.max(...values), air = (high - low || 1) * 0.08;

	return [low - air, high + air];
}

/** Where the dead band lets it go back that acted there; empty without limits or with a reset point. @param {any} one @param {number} set */
function allowed(one, set) {
	const {low = null, high = null} = one.dead_band ?? {}, way = one.acts_on === 'rising' ? -1 : 1;

	return one.reset_point !== null || !one.reads_reset || low === null || high === null ? [] : [set + way * low, set + way * high];
}

/** @param {any[]} runs */
function rowsOf(runs) {
	const heads = /** @type {{y: number, text: string}[]} */ ([]), lines = /** @type {any[]} */ ([]), blocks = /** @type {any[]} */ ([]);
	let y = TOP;

	for (const run of runs) {
		heads.push({y: y + HEAD - 8, text: t(`run.${run.kind}`)});
		y += HEAD;
		blocks.push({one: run.switch, y, height: ROW * run.switch.wanted});
		for (let cycle = 1; cycle <= run.switch.wanted; cycle++, y += ROW)
			lines.push({y: y + ROW / 2, cycle, kind: run.kind, one: run.switch, actuation: run.switch.actuations[cycle - 1] ?? null});
	}
	return {heads, lines, blocks, height: y - TOP};
}

/** The limits of one run; as left may be judged by narrower ones. @param {{one: any, y: number, height: number}} block @param {any} plot */
function bands({one, y, height}, {x, hatch}) {
	const points = [[one.set_point, one.limit_low, one.limit_high], [one.reset_point, one.reset_limit_low, one.reset_limit_high]];

	return points.filter(([at, low, high]) => at !== null && low !== null && high !== null).map(([at, low, high]) =>
		s('rect', {fill: `url(#${hatch})`, x: x(at + low), y, width: Math.max(1, x(at + high) - x(at + low)), height}));
}

/** @param {number} at @param {string} name @param {any} plot */
function named(at, name, {x, foot}) {
	return s('g', {},
		s('line', {class: 'chart-zero', x1: x(at), x2: x(at), y1: TOP, y2: foot}),
		s('text', {class: 'chart-word', x: x(at), y: TOP - 8, 'text-anchor': 'middle'}, name));
}

/** @param {any} plot */
function axis({x, width, height, foot, from, to, last}) {
	const {ticks, decimals} = roundTicks(from, to, width < 480 ? 4 : 6);

	return s('g', {},
		s('line', {class: 'chart-axis', x1: LEFT, x2: width - RIGHT, y1: foot, y2: foot}),
		ticks.map(value => s('g', {},
			s('line', {class: 'chart-axis', x1: x(value), x2: x(value), y1: foot, y2: foot + 5}),
			s('text', {class: 'chart-tick', x: x(value), y: foot + 20, 'text-anchor': 'middle'}, shown(tickText(value, decimals))))),
		s('text', {class: 'chart-title', x: width - RIGHT, y: height - 6, 'text-anchor': 'end'}, `input, ${last.unit}`));
}

/** One actuation. @param {any} line @param {any} plot */
function lineOf({y, cycle, kind, one, actuation}, {x, width}) {
	const way = one.acts_on === 'rising' ? 1 : -1, dotted = allowed(one, actuation ? actuation.set : one.set_point);
	const outside = (/** @type {string} */ verdict) => verdict === 'fail' || verdict === 'conditional_fail';
	const backOutside = actuation && (outside(actuation.reset_verdict) ? actuation.reset_verdict : outside(actuation.dead_band_verdict) ? actuation.dead_band_verdict : null);

	return s('g', {},
		s('text', {class: 'chart-tick', x: 0, y: y + 5}, cycle),
		dotted.length > 0 && s('line', {class: 'chart-guard', x1: x(dotted[0]), x2: x(dotted[1]), y1: y, y2: y}),
		actuation?.reset != null && s('line', {class: `chart-line ${kind}`, x1: x(actuation.set), x2: x(actuation.reset), y1: y, y2: y}),
		actuation && outside(actuation.set_verdict) && ring(x(actuation.set), y, actuation.set_verdict, actuation.shown_set_error, way, width),
		backOutside && ring(x(actuation.reset), y, backOutside, actuation.shown_dead_band, -way, width),
		actuation && triangle(x(actuation.set), y, way, kind), actuation?.reset != null && triangle(x(actuation.reset), y, -way, kind));
}

/** Its value is written on the side the input came from, or on the other where there is no room. @param {number} cx @param {number} cy @param {string} verdict @param {string} text @param {number} way @param {number} width */
function ring(cx, cy, verdict, text, way, width) {
	const room = text.length * 8 + 20, right = way > 0 ? cx + room < width : cx - room < LEFT;

	return s('g', {}, s('circle', {class: `chart-ring ${verdict}`, cx, cy, r: 12}),
		s('text', {class: 'chart-value', x: cx + (right ? 18 : -18), y: cy - 9, 'text-anchor': right ? 'start' : 'end'}, shown(text)));
}

/** @param {number} cx @param {number} cy @param {number} way 1 points to the right @param {string} kind */
function triangle(cx, cy, way, kind) {
	return s('polygon', {class: `chart-mark ${kind}`, points: `${cx + way * SIDE},${cy} ${cx - way * SIDE * 0.8},${cy - SIDE} ${cx - way * SIDE * 0.8},${cy + SIDE}`});
}

/** The chart for those who do not see it. @param {any[]} runs */
function inWords(runs) {
	const told = runs.map(run => `${t(`run.${run.kind}`)}: ${run.switch.actuations.length
		? run.switch.actuations.map((/** @type {any} */ a) => `acted at ${shown(a.shown_set)}${a.shown_reset ? `, went back at ${shown(a.shown_reset)}` : ''}`).join('; ') : 'not yet acted'}`);

	return `Where the switch acted; its set point is ${shown(runs[0].switch.shown_set_point)}. ${told.join('. ')}.`;
}
