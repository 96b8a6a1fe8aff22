/* The points in the order in which a run goes through them, drawn small: across the readings, up the input. */
import {h, s} from '../../lib/dom.js';

const WIDTH = 300, HEIGHT = 64, SIDE = 6, MOST = 60;

/** @param {{percent: number, direction: string}[]} points */
export function order(points) {
	const percents = points.map(point => point.percent), low = Math.min(0, ...percents), high = Math.max(100, ...percents);
	const x = (/** @type {number} */ i) => points.length > 1 ? SIDE + i * (WIDTH - 2 * SIDE) / (points.length - 1) : WIDTH / 2;
	const y = (/** @type {number} */ percent) => HEIGHT - SIDE - (percent - low) / (high - low) * (HEIGHT - 2 * SIDE);
	const rising = points.filter(point => point.direction === 'rising').length;
	const told = `${points.length === 1 ? 'One reading' : `${points.length} readings`}${rising && rising < points.length ? `, ${rising} rising and ${points.length - rising} falling` : rising ? ', rising' : ', falling'}`;

	return h('figure', {class: 'order'},
		s('svg', {viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: 'img', 'aria-label': `${told}: ${percents.slice(0, MOST).map(percent => Math.round(percent * 100) / 100).join(', ')} %`},
			s('polyline', {class: 'order-line', points: points.map((point, i) => `${x(i)},${y(point.percent)}`).join(' ')}),
			points.length <= MOST && points.map((point, i) => s('circle', {class: 'order-point', cx: x(i), cy: y(point.percent), r: points.length > 30 ? 2 : 3}))),
		h('figcaption', {class: 'muted small'}, told));
}
