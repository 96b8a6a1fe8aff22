/* What a curve leaves at each point, over x: a stem from the zero line to a ring, so that a pattern shows that the order is too low. */
import {h, s} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';
import {linear, roundTicks, tickText} from '../../lib/scale.js';

const LEFT = 76, RIGHT = 20, TOP = 40, BOTTOM = 48, RING = 5;

/** @param {{x: number, left: number}[]} points @param {{x: string, y: string}} names */
export function leftChart(points, names) {
	const element = h('figure', {class: 'errchart left-chart'});
	let width = 0;

	new ResizeObserver(([entry]) => {
		if (Math.abs(entry.contentRect.width - width) < 1)
			return;
		width = Math.round(entry.contentRect.width);
		element.replaceChildren(drawing(points, names, width, width < 480 ? 260 : 300));
	}).observe(element);
	return element;
}

/** @param {{x: number, left: number}[]} points @param {{x: string, y: string}} names @param {number} width @param {number} height */
function drawing(points, names, width, height) {
	const all = points.map(({x}) => x), from = Math.min(...all), to = Math.max(...all), most = Math.max(...points.map(({left}) => Math.abs(left)));
	const across = roundTicks(from, from === to ? from + 1 : to, width < 480 ? 3 : 6), reach = most > 0 ? most * 1.1 : 1, up = roundTicks(-reach, reach, 5);
	const x = linear(from, from === to ? from + 1 : to, LEFT + 12, width - RIGHT - 8), y = linear(-reach, reach, height - BOTTOM, TOP), foot = height - BOTTOM;

	return s('svg', {viewBox: `0 0 ${width} ${height}`, width, height, role: 'img', 'aria-label': `What is left of ${names.y} at each ${names.x}; the figures are in the table below.`},
		s('line', {class: 'chart-axis', x1: LEFT, x2: width - RIGHT, y1: foot, y2: foot}), s('line', {class: 'chart-axis', x1: LEFT, x2: LEFT, y1: TOP - 8, y2: foot}),
		across.ticks.map(value => s('g', {}, s('line', {class: 'chart-axis', x1: x(value), x2: x(value), y1: foot, y2: foot + 5}),
			s('text', {class: 'chart-tick', x: x(value), y: foot + 20, 'text-anchor': 'middle'}, shown(tickText(value, across.decimals))))),
		up.ticks.map(value => s('g', {}, s('line', {class: 'chart-axis', x1: LEFT - 5, x2: LEFT, y1: y(value), y2: y(value)}),
			s('text', {class: 'chart-tick', x: LEFT - 9, y: y(value) + 5, 'text-anchor': 'end'}, shown(tickText(value, up.decimals))))),
		s('line', {class: 'chart-zero', x1: LEFT, x2: width - RIGHT, y1: y(0), y2: y(0)}),
		points.map(point => s('g', {}, s('line', {class: 'chart-line', x1: x(point.x), x2: x(point.x), y1: y(0), y2: y(point.left)}),
			s('circle', {class: 'chart-mark', cx: x(point.x), cy: y(point.left), r: RING}))),
		s('text', {class: 'chart-title', x: 0, y: 16}, `${names.y} less the curve`),
		s('text', {class: 'chart-title', x: width - RIGHT, y: height - 6, 'text-anchor': 'end'}, names.x));
}
