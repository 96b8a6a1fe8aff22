/*
 * The error chart: error in % of span over the input. Tolerance is a hatched band, the guard band a dotted line, zero a
 * hairline; rising readings are triangles up, falling ones down, joined in the order they were taken, so that hysteresis
 * shows as a loop. As found is hollow, as left filled; a reading outside is ringed, its error beside it. Nothing depends on
 * colour: it reads in black and white.
 *
 *   const chart = errorChart();  place.append(chart.element);  chart.show(record.runs, 'mA');
 *
 * It draws itself again at the width it gets, so letters stay the size of letters.
 */
import {h, s, uniqueId} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';
import {linear, roundTicks, tickText} from '../../lib/scale.js';
import {t} from '../../lib/words.js';
import {switchDrawing} from './switchchart.js';

const LEFT = 54, RIGHT = 27, TOP = 40, BOTTOM = 48, SIDE = 6.5, LETTER = 9.5;

/** @returns {{element: HTMLElement, show: (runs: any[]) => void}} */
export function errorChart() {
	const hatch = uniqueId('hatch');
	const element = h('figure', {class: 'errchart'});
	let runs = /** @type {any[]} */ ([]), width = 0;

	function draw() {
		if (width > 0 && runs.length)
			element.replaceChildren(runs[0].switch ? switchDrawing(runs, width, hatch) : drawing(runs, width, width < 480 ? 300 : 360, hatch));
	}
	new ResizeObserver(([entry]) => {
		if (Math.abs(entry.contentRect.width - width) < 1)
			return;
		width = Math.round(entry.contentRect.width);
		draw();
	}).observe(element);
	return {element, show: shownRuns => { runs = shownRuns; draw(); }};
}

/** @param {any[]} runs @param {number} width @param {number} height @param {string} hatch */
function drawing(runs, width, height, hatch) {
	const last = runs[runs.length - 1], band = bandOf(last.band), series = runs.map(seriesOf);
	const [low, high] = reach(band, series), [from, to] = inputReach(last, series);
	const x = linear(from, to, LEFT + 12, width - RIGHT), y = linear(low, high, height - BOTTOM, TOP);
	const named = runs.length > 1 && JSON.stringify(runs[0].band) !== JSON.stringify(last.band) ? `tolerance ${t(`run.${last.kind}`)}` : 'tolerance';
	const plot = {named, x, y, width, height, from, to, low, high, hatch, highSide: series.reduce((sum, one) => sum + mean(one, 'y'), 0) >= 0};

	return s('svg', {viewBox: `0 0 ${width} ${height}`, width, height, role: 'img', 'aria-label': inWords(runs, last)},
		s('defs', {}, s('pattern', {id: hatch, width: 7, height: 7, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)'},
			s('line', {class: 'chart-hatch', x1: 0, y1: 0, x2: 0, y2: 7}))),
		bandDrawing(band, plot),
		axes(last, plot),
		series.map(one => lineOf(one, plot)),
		series.map(one => marksOf(one, plot)),
		series.map((one, i) => nameOf(one, i, series, plot)),
		key(width));
}

/** The band as the server computed it; without limits there is none. @param {any[]} band */
function bandOf(band) {
	const usable = band.filter(point => point.low != null && point.high != null);
	const guarded = usable.some(point => point.accept_high != null && (point.accept_high !== point.high || point.accept_low !== point.low));

	return {usable, guarded};
}

/** @param {any} run */
function seriesOf(run) {
	return {
		kind: run.kind,
		points: run.points.filter((/** @type {any} */ point) => point.reading?.error_percent != null)
			.map((/** @type {any} */ point) => ({x: point.reading.applied ?? point.set, y: point.reading.error_percent, direction: point.direction, verdict: point.reading.verdict,
				shown: point.reading.shown_error_percent})),
	};
}

/** @param {{usable: any[]}} band @param {any[]} series @returns {[number, number]} */
function reach(band, series) {
	const values = [...band.usable.flatMap(point => [point.low, point.high]), ...series.flatMap(one => one.points.map((/** @type {any} */ p) => p.y))];
	const low = Math.min(...values, 0), high = Math.max(...values, 0), spread = (high - low) || 1;

	return [low - spread * 0.15, high + spread * 0.15];
}

/** @param {any} run @param {any[]} series @returns {[number, number]} */
function inputReach(run, series) {
	const xs = [run.input_low, run.input_high, ...series.flatMap(one => one.points.map((/** @type {any} */ p) => p.x))];

	return [Math.min(...xs), Math.max(...xs)];
}

/** @param {{usable: any[], guarded: boolean}} band @param {any} plot */
function bandDrawing({usable, guarded}, {x, y, hatch, from, to, highSide, width, named}) {
	const inside = usable.filter(point => point.x >= from - 1e-9 && point.x <= to + 1e-9);
	const edge = (/** @type {string} */ member) => inside.filter(point => point[member] != null).map(point => `${x(point.x)},${y(point[member])}`);

	if (inside.length < 2)
		return null;
	/* the words stand where the readings are not */
	const start = inside[0], side = highSide ? 'low' : 'high', shift = highSide ? 17 : -7;
	return s('g', {},
		s('polygon', {fill: `url(#${hatch})`, points: [...edge('high'), ...edge('low').reverse()].join(' ')}),
		guarded && ['accept_high', 'accept_low'].map(member => s('polyline', {class: 'chart-guard', points: edge(member).join(' ')})),
		s('text', {class: 'chart-word', x: x(start.x), y: y(start[side]) + shift}, !guarded ? named : width < 400 ? `${named}; dotted: guard band` : `${named}; dotted: less the guard band`));
}

/** @param {any} run @param {any} plot */
function axes(run, {x, y, width, height, from, to, low, high}) {
	const across = roundTicks(from, to, width < 480 ? 4 : 6), up = roundTicks(low, high, 6), foot = height - BOTTOM;
	const set = [...new Set(run.points.map((/** @type {any} */ point) => point.set))].filter(value => value >= from && value <= to);
	const few = set.length <= (width < 480 ? 5 : 7) ? run.points.filter((/** @type {any} */ point, /** @type {number} */ i) =>
		run.points.findIndex((/** @type {any} */ other) => other.set === point.set) === i) : null;
	const marks = few ? few.map((/** @type {any} */ point) => ({at: point.set, text: point.shown_set.replace(` ${run.input_unit}`, '')}))
		: across.ticks.map(value => ({at: value, text: tickText(value, across.decimals)}));

	return s('g', {},
		s('line', {class: 'chart-axis', x1: LEFT, x2: width - RIGHT + 8, y1: foot, y2: foot}),
		marks.map((/** @type {any} */ tick) => s('g', {},
			s('line', {class: 'chart-axis', x1: x(tick.at), x2: x(tick.at), y1: foot, y2: foot + 5}),
			s('text', {class: 'chart-tick', x: x(tick.at), y: foot + 20, 'text-anchor': 'middle'}, shown(tick.text)))),
		up.ticks.map(value => s('g', {},
			s('line', {class: Math.abs(value) < 1e-9 ? 'chart-zero' : 'chart-axis', x1: Math.abs(value) < 1e-9 ? LEFT : LEFT - 5, x2: Math.abs(value) < 1e-9 ? width - RIGHT + 8 : LEFT, y1: y(value), y2: y(value)}),
			s('text', {class: 'chart-tick', x: LEFT - 9, y: y(value) + 5, 'text-anchor': 'end'}, shown(tickText(value, up.decimals))))),
		s('line', {class: 'chart-axis', x1: LEFT, x2: LEFT, y1: TOP - 8, y2: foot}),
		s('text', {class: 'chart-title', x: 0, y: 16}, 'error, % of span'),
		s('text', {class: 'chart-title', x: width - RIGHT + 8, y: height - 6, 'text-anchor': 'end'}, `input, ${run.input_unit}`));
}

/** @param {any} one @param {any} plot */
function lineOf(one, {x, y}) {
	return one.points.length > 1 && s('polyline', {class: `chart-line ${one.kind}`, points: one.points.map((/** @type {any} */ p) => `${x(p.x)},${y(p.y)}`).join(' ')});
}

/** @param {any} one @param {any} plot */
function marksOf(one, {x, y, width}) {
	const outside = one.points.filter((/** @type {any} */ p) => p.verdict === 'fail' || p.verdict === 'conditional_fail');

	return s('g', {},
		outside.map((/** @type {any} */ p) => s('circle', {class: `chart-ring ${p.verdict}`, cx: x(p.x), cy: y(p.y), r: 12})),
		placeValues(outside.map((/** @type {any} */ p) => ({at: Math.max(LEFT + 34, Math.min(x(p.x), width - RIGHT - 18)), sides: p.y >= 0 ? [y(p.y) - 17, y(p.y) + 27] : [y(p.y) + 27, y(p.y) - 17], text: shown(p.shown)})))
			.map(({at, level, text}) => s('text', {class: 'chart-value', x: at, y: level, 'text-anchor': 'middle'}, text)),
		one.points.map((/** @type {any} */ p) => triangle(x(p.x), y(p.y), p.direction, one.kind)));
}

/**
 * Where the errors are written: on the outer side of the point, else on the inner one. One that fits on neither is left out;
 * its ring stays, and its figure stands in the table beside.
 *
 * @param {{at: number, sides: number[], text: string}[]} values
 * @returns {{at: number, level: number, text: string}[]}
 */
export function placeValues(values) {
	/** @type {{at: number, level: number, text: string}[]} */
	const placed = [];

	for (const {at, sides, text} of values) {
		const level = sides.find(side => placed.every(other => Math.abs(other.at - at) >= (other.text.length + text.length) * LETTER / 2 || Math.abs(other.level - side) >= 18));
		if (level !== undefined)
			placed.push({at, level, text});
	}
	return placed;
}

/** @param {number} cx @param {number} cy @param {string} direction @param {string} kind */
function triangle(cx, cy, direction, kind) {
	const up = direction === 'rising' ? -1 : 1;

	return s('polygon', {class: `chart-mark ${kind}`, points: `${cx},${cy + up * SIDE} ${cx - SIDE},${cy - up * SIDE * 0.8} ${cx + SIDE},${cy - up * SIDE * 0.8}`});
}

/** The run's name beside its line, on the side where the other run is not. @param {any} one @param {number} i @param {any[]} series @param {any} plot */
function nameOf(one, i, series, {x, y, width}) {
	if (!one.points.length)
		return null;
	const sorted = [...one.points].sort((p, q) => p.x - q.x), outside = sorted.filter(p => p.verdict === 'fail' || p.verdict === 'conditional_fail');
	const free = [sorted[Math.floor(sorted.length / 2)], sorted[0], sorted[sorted.length - 1]].filter(p => !outside.some(q => Math.abs(x(q.x) - x(p.x)) < 75));
	const middle = free[0] ?? sorted[Math.floor(sorted.length / 2)];
	const other = series.find((other, k) => k !== i && other.points.length);
	/* where every reading is outside, the errors are written on the outer side and the name goes to the inner one */
	const outer = other ? mean(one, 'y') >= mean(other, 'y') : mean(one, 'y') >= 0, above = free.length ? outer : mean(one, 'y') < 0;
	const level = one.points.filter((/** @type {any} */ p) => Math.abs(x(p.x) - x(middle.x)) < 30).map((/** @type {any} */ p) => y(p.y));

	return s('text', {class: 'chart-name', x: x(middle.x), y: above ? Math.min(...level) - 16 : Math.max(...level) + 27, 'text-anchor': x(middle.x) < LEFT + 40 ? 'start' : x(middle.x) > width - RIGHT - 30 ? 'end' : 'middle'}, t(`run.${one.kind}`));
}

/** 0 without readings. @param {any} one @param {'x'|'y'} member */
function mean(one, member) {
	return one.points.length === 0 ? 0 : one.points.reduce((/** @type {number} */ sum, /** @type {any} */ p) => sum + p[member], 0) / one.points.length;
}

/** @param {number} width */
function key(width) {
	const right = width - RIGHT + 8;

	return s('g', {}, triangle(right - 146, 11, 'rising', 'key'), s('text', {class: 'chart-word', x: right - 134, y: 16}, 'rising'),
		triangle(right - 66, 11, 'falling', 'key'), s('text', {class: 'chart-word', x: right - 54, y: 16}, 'falling'));
}

/** The chart for those who do not see it. @param {any[]} runs @param {any} last */
function inWords(runs, last) {
	const told = runs.map(run => {
		const read = run.points.filter((/** @type {any} */ point) => point.reading?.error_percent != null);
		if (!read.length)
			return `${t(`run.${run.kind}`)}: no reading yet`;
		const sorted = [...read].sort((a, b) => a.reading.error_percent - b.reading.error_percent);
		const outside = read.filter((/** @type {any} */ point) => ['fail', 'conditional_fail'].includes(point.reading.verdict));
		const where = outside.map((/** @type {any} */ point) => `${shown(point.shown_set)} ${t(`direction.${point.direction}`)} ${shown(point.reading.shown_error_percent)}`).join(', ');
		return `${t(`run.${run.kind}`)}: ${read.length} readings, errors from ${shown(sorted[0].reading.shown_error_percent)} to ${shown(sorted[sorted.length - 1].reading.shown_error_percent)}; `
			+ (outside.length ? `outside at ${where}` : 'none outside');
	});

	return `Error in % of span over the input in ${last.input_unit}. ${told.join('. ')}.`;
}
