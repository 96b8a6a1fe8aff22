/*
 * How far the error may go along the input: a hatched band about zero, with its limits written at both ends. The server gives the
 * figures; the same limits stand in a table beside it, so the drawing has no words of its own for who cannot see it.
 */
import {h, s, uniqueId} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';
import {linear, roundTicks, tickText} from '../../lib/scale.js';

const WIDTH = 336, HEIGHT = 200, LEFT = 64, RIGHT = 24, TOP = 30, BOTTOM = 44;

/** @param {{points: {x: number, low: number|null, high: number|null}[], across: string, up: string}} spec across and up name the axes */
export function bandFigure({points, across, up}) {
	const usable = points.filter(point => point.low !== null && point.high !== null), hatch = uniqueId('hatch');
	const most = Math.max(...usable.map(point => Math.max(Number(point.high), -Number(point.low))), 0);

	if (usable.length < 2 || most <= 0)
		return null;
	const xs = usable.map(point => point.x), from = Math.min(...xs), to = Math.max(...xs);
	const x = linear(from, to, LEFT, WIDTH - RIGHT), y = linear(-most * 1.15, most * 1.15, HEIGHT - BOTTOM, TOP);
	const edge = (/** @type {'low'|'high'} */ side) => usable.map(point => `${x(point.x)},${y(Number(point[side]))}`);
	const ticks = roundTicks(-most, most, 4), feet = roundTicks(from, to, 4);

	return h('figure', {class: 'band-figure'}, s('svg', {viewBox: `0 0 ${WIDTH} ${HEIGHT}`, width: WIDTH, height: HEIGHT, 'aria-hidden': 'true'},
		s('defs', {}, s('pattern', {id: hatch, width: 7, height: 7, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)'},
			s('line', {class: 'chart-hatch', x1: 0, y1: 0, x2: 0, y2: 7}))),
		s('polygon', {fill: `url(#${hatch})`, points: [...edge('high'), ...edge('low').reverse()].join(' ')}),
		s('polyline', {class: 'band-edge', points: edge('high').join(' ')}), s('polyline', {class: 'band-edge', points: edge('low').join(' ')}),
		s('line', {class: 'chart-zero', x1: LEFT, x2: WIDTH - RIGHT, y1: y(0), y2: y(0)}),
		s('line', {class: 'chart-axis', x1: LEFT, x2: LEFT, y1: TOP - 6, y2: HEIGHT - BOTTOM}), s('line', {class: 'chart-axis', x1: LEFT, x2: WIDTH - RIGHT, y1: HEIGHT - BOTTOM, y2: HEIGHT - BOTTOM}),
		ticks.ticks.map(value => [s('line', {class: 'chart-axis', x1: LEFT - 5, x2: LEFT, y1: y(value), y2: y(value)}),
			s('text', {x: LEFT - 9, y: y(value) + 5, 'text-anchor': 'end'}, shown(tickText(value, ticks.decimals)))]),
		feet.ticks.map(value => [s('line', {class: 'chart-axis', x1: x(value), x2: x(value), y1: HEIGHT - BOTTOM, y2: HEIGHT - BOTTOM + 5}),
			s('text', {x: x(value), y: HEIGHT - BOTTOM + 19, 'text-anchor': 'middle'}, shown(tickText(value, feet.decimals)))]),
		s('text', {x: 0, y: 14}, up), s('text', {x: WIDTH - RIGHT, y: HEIGHT - 6, 'text-anchor': 'end'}, across)));
}
