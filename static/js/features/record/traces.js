/*
 * What was recorded against time beside a run: the set point dotted and the input above, the output below, then what else was
 * recorded, on one time axis; a hairline at each reading that was taken. Nothing depends on colour. The numbers are in a CSV file beside it.
 */
import {fill, h, s} from '../../lib/dom.js';
import {shown, time} from '../../lib/format.js';
import {linear, roundTicks, tickText} from '../../lib/scale.js';
import {t} from '../../lib/words.js';

const LEFT = 54, RIGHT = 12, TOP = 26, PLOT = 110, GAP = 40, FOOT = 44;

/** @param {any} record @param {any[]} traces as the API lists them @returns {HTMLElement|null} */
export function tracesPart(record, traces) {
	const runs = new Map();

	for (const trace of traces)
		runs.set(`${trace.run} ${trace.attempt}`, [...runs.get(`${trace.run} ${trace.attempt}`) ?? [], trace]);
	if (!runs.size)
		return null;
	return h('section', {class: 'part', id: 'traces'}, h('h2', {}, 'Against time'), h('div', {},
		[...runs.values()].map(list => runFigure(record, list)),
		h('p', {class: 'no-print'}, h('a', {href: `/api/v1/test-records/${record.id}/traces.csv`}, 'The numbers, CSV'))));
}

/** One attempt, with as many traces of each channel as it took beginnings. @param {any} record @param {any[]} traces */
function runFigure(record, traces) {
	const first = Math.min(...traces.map(trace => Date.parse(trace.started_at)));
	const run = record.runs.find((/** @type {any} */ other) => other.kind === traces[0].run && other.attempt === traces[0].attempt);
	const taken = (run?.points ?? []).filter((/** @type {any} */ point) => point.reading?.captured).map((/** @type {any} */ point) => (Date.parse(point.reading.taken_at) - first) / 1000);
	const lines = traces.map(trace => ({channel: trace.channel, unit: trace.unit, samples: trace.samples.map((/** @type {any} */ [at, value]) => [at + (Date.parse(trace.started_at) - first) / 1000, value])}));
	const place = h('div', {class: 'traces'}), name = `${t(`run.${traces[0].run}`)}${traces[0].attempt > 1 ? `, attempt ${traces[0].attempt}` : ''}`;
	let width = 0;

	new ResizeObserver(([entry]) => {
		if (Math.abs(entry.contentRect.width - width) < 1)
			return;
		width = Math.round(entry.contentRect.width);
		fill(place, drawing(lines, taken, width, name));
	}).observe(place);
	return h('figure', {class: 'errchart traces-figure'}, h('figcaption', {class: 'muted'}, `${name.charAt(0).toUpperCase()}${name.slice(1)}, from ${time(new Date(first).toISOString())}`), place);
}

/** @param {any[]} lines @param {number[]} taken @param {number} width @param {string} name */
function drawing(lines, taken, width, name) {
	const end = Math.max(1, ...lines.flatMap(line => line.samples.map((/** @type {number[]} */ sample) => sample[0]))), x = linear(0, end, LEFT, width - RIGHT);
	const across = roundTicks(0, end, width < 480 ? 4 : 8), plots = plotsOf(lines), foot = TOP + plots.length * (PLOT + GAP) - GAP, height = foot + FOOT;

	return s('svg', {viewBox: `0 0 ${width} ${height}`, width, height, role: 'img', 'aria-label': inWords(lines, taken, end, name)},
		taken.filter(at => at >= 0 && at <= end + 2).map(at => x(Math.min(at, end))).map(at => s('line', {class: 'chart-axis trace-taken', x1: at, x2: at, y1: TOP, y2: foot})),
		plots.map(([title, mine], i) => plot(mine, title, x, TOP + i * (PLOT + GAP), width)),
		s('text', {class: 'chart-word', x: width - RIGHT, y: 14, 'text-anchor': 'end'}, width < 420 ? 'dotted: set' : `dotted: where it was set${taken.length ? '; hairlines: readings' : ''}`),
		s('line', {class: 'chart-axis', x1: LEFT, x2: width - RIGHT, y1: foot, y2: foot}),
		across.ticks.map(value => s('g', {}, s('line', {class: 'chart-axis', x1: x(value), x2: x(value), y1: foot, y2: foot + 5}),
			s('text', {class: 'chart-tick', x: x(value), y: foot + 20, 'text-anchor': 'middle'}, shown(tickText(value, across.decimals))))),
		s('text', {class: 'chart-title', x: width - RIGHT, y: foot + 38, 'text-anchor': 'end'}, 'time, s'));
}

/** Input with its set point, output, and each other channel by itself. @param {any[]} lines @returns {Array<[string, any[]]>} */
function plotsOf(lines) {
	const plots = new Map([['input', []], ['output', []]]);

	for (const line of lines) {
		const name = line.channel === 'set' ? 'input' : line.channel;
		plots.set(name, [...plots.get(name) ?? [], line]);
	}
	return [...plots].filter(([, mine]) => mine.length).map(([name, mine]) => [`${name}, ${mine[0].unit}`, mine]);
}

/** @param {any[]} lines @param {string} title @param {(value: number) => number} x @param {number} top @param {number} width */
function plot(lines, title, x, top, width) {
	const values = lines.flatMap(line => line.samples.map((/** @type {any[]} */ sample) => sample[1])).filter(value => value !== null);

	if (!values.length)
		return null;
	const low = Math.min(...values), high = Math.max(...values), spread = (high - low) || Math.abs(high) || 1;
	const y = linear(low - spread * 0.06, high + spread * 0.06, top + PLOT, top), up = roundTicks(low - spread * 0.06, high + spread * 0.06, 4);

	return s('g', {},
		s('text', {class: 'chart-title', x: 0, y: top - 12}, title),
		s('line', {class: 'chart-axis', x1: LEFT, x2: LEFT, y1: top, y2: top + PLOT}),
		up.ticks.map(value => s('g', {}, s('line', {class: 'chart-axis', x1: LEFT - 5, x2: LEFT, y1: y(value), y2: y(value)}),
			s('text', {class: 'chart-tick', x: LEFT - 9, y: y(value) + 5, 'text-anchor': 'end'}, shown(tickText(value, up.decimals))))),
		s('clipPath', {id: `trace-${top}`}, s('rect', {x: LEFT, y: top, width: Math.max(0, width - RIGHT - LEFT), height: PLOT})),
		lines.map(line => s('path', {class: line.channel === 'set' ? 'chart-guard' : 'chart-line', 'clip-path': `url(#trace-${top})`, d: pathOf(line.samples, line.channel === 'set', x, y)})));
}

/** Where a value is missing the line is broken; a set point holds until the next. @param {any[]} samples @param {boolean} holds @param {(value: number) => number} x @param {(value: number) => number} y */
function pathOf(samples, holds, x, y) {
	let d = '', last = null;

	for (const [at, value] of samples) {
		if (value === null) {
			last = null;
			continue;
		}
		d += last === null ? `M${x(at)} ${y(value)}` : holds ? `L${x(at)} ${y(last)}L${x(at)} ${y(value)}` : `L${x(at)} ${y(value)}`;
		last = value;
	}
	return d;
}

/** @param {any[]} lines @param {number[]} taken @param {number} end @param {string} name */
function inWords(lines, taken, end, name) {
	const told = plotsOf(lines).flatMap(([, mine]) => mine).filter(line => line.channel !== 'set').map(line => {
		const values = line.samples.map((/** @type {any[]} */ sample) => sample[1]).filter((/** @type {any} */ value) => value !== null);
		return values.length ? `${line.channel} from ${Math.min(...values).toFixed(2)} to ${Math.max(...values).toFixed(2)} ${line.unit}` : `${line.channel} without a value`;
	});

	return `${name}: ${told.join(', ')}, over ${Math.round(end)} s${taken.length ? `, ${taken.length} readings taken` : ''}.`;
}
