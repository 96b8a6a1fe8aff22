/*
 * The wiring sheet: a drawing of the loop, the leads one by one, and whether the supply can drive it. Drawn from the
 * record's own connections ("device, terminal" to "device, terminal"); leads carry the numbers of the list below.
 */
import {h, s} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';
import {mark} from '../../lib/mark.js';
import {arrange, wrap} from '../../lib/leads.js';

const WIDTH = 360;

/** @param {any} wiring of the record @param {string} tag */
export function wiringSheet(wiring, tag) {
	return h('div', {class: 'wiring stacked-small'},
		h('p', {}, wiring.source),
		wiring.connections.length > 0 && h('figure', {class: 'wiring-drawing'}, drawing(wiring.connections, tag)),
		h('ol', {class: 'leads'}, wiring.connections.map((/** @type {any} */ lead) => h('li', {},
			h('div', {}, `${shown(lead.from)} `, h('span', {class: 'muted-inline'}, '\u2192'), ` ${shown(lead.to)}`, lead.note && h('span', {class: 'muted'}, lead.note))))),
		wiring.loop && h('p', {class: 'loop-budget verdict-line'}, mark(wiring.loop.drives ? 'pass' : 'fail'), h('span', {}, shown(wiring.loop.sentence))));
}

/** @param {any[]} connections @param {string} tag */
function drawing(connections, tag) {
	const {loop, across, chains} = arrange(connections);
	const parts = [], top = loop ? loopDrawing(loop, across) : null;
	let y = top ? top.height + 20 : 4;

	if (top)
		parts.push(top.drawing);
	for (const chain of top ? chains : [...chains, ...across.map(lead => [lead])]) {
		const one = chainDrawing(chain, y);
		parts.push(one.drawing);
		y += one.height + 16;
	}
	return s('svg', {viewBox: `0 0 ${WIDTH} ${y}`, width: WIDTH, height: y, role: 'img', 'aria-label': `How to wire ${tag}; the leads are listed below`}, parts);
}

/** Source left, instrument right, what lies in the return lead between them. @param {any} loop @param {any[]} across */
function loopDrawing({out, back, left, right, between}, across) {
	const upper = 36, lower = across.length ? 132 : 104, middle = (upper + lower) / 2, edge = 86, other = WIDTH - edge, half = 18;
	const labels = Math.max(0, ...between.map((/** @type {any} */ device) => wrap(device.name, 11).length));
	const gap = (other - edge - between.length * half * 2) / (between.length + 1);
	const places = between.map((/** @type {any} */ _, /** @type {number} */ i) => other - gap * (i + 1) - half * (2 * i + 1));

	return {height: lower + 36 + Math.max(0, labels * 17 - 14), drawing: s('g', {},
		s('path', {class: 'wire-lead', d: `M${edge} ${upper}H${other}M${other} ${lower}H${edge}`}),
		box(0, 12, edge, lower - upper + 48, left.name), box(other, 12, WIDTH - other, lower - upper + 48, right.name),
		across.slice(0, 1).map(lead => s('g', {},
			s('path', {class: 'wire-lead thin', d: `M${other} ${upper}L${other - 18} ${middle - 14}M${other} ${lower}L${other - 18} ${middle + 14}`}),
			box(edge + 24, middle - 15, other - edge - 36, 30, lead.fromDevice.name), numbered(edge + 24, middle, lead.number))),
		terminal(edge, upper, left.out, -1), terminal(other, upper, right.in, 1), terminal(other, lower, right.out, 1), terminal(edge, lower, left.in, -1),
		numbered((edge + other) / 2, upper, out.number),
		between.map((/** @type {any} */ device, /** @type {number} */ i) => series(device.name, places[i], lower)),
		back.map((/** @type {any} */ lead, /** @type {number} */ i) => numbered(other - gap * (i + 0.5) - half * 2 * i, lower, lead.number)))};
}

/** A meter is a circle with its unit, anything else a resistor's rectangle; the name below. @param {string} name @param {number} x @param {number} y */
function series(name, x, y) {
	const meter = /meter/.test(name);

	return s('g', {},
		meter ? s('circle', {class: 'wire-box', cx: x, cy: y, r: 17}) : s('rect', {class: 'wire-box', x: x - 18, y: y - 8, width: 36, height: 16}),
		meter && s('text', {x, y: y + 5, 'text-anchor': 'middle'}, name.split(' ')[0].slice(0, 3)),
		wrap(shown(meter ? name.replace(/^(\S+) /, '') : name), 11).map((line, i) => s('text', {class: 'wire-small', x, y: y + 33 + i * 17, 'text-anchor': 'middle'}, line)));
}

/** Boxes in a row, a numbered lead between each two. @param {any[]} chain @param {number} y */
function chainDrawing(chain, y) {
	const devices = [chain[0].fromDevice, ...chain.map(lead => lead.toDevice)], n = devices.length;
	const gap = n > 2 ? 26 : 56, width = (WIDTH - gap * (n - 1)) / n;
	const lines = Math.max(...devices.map(device => wrap(label(device), Math.floor((width - 10) / 7.6)).length)), height = lines * 18 + 14;

	return {height, drawing: s('g', {}, devices.map((device, i) => s('g', {},
		i > 0 && s('path', {class: 'wire-lead', d: `M${i * (width + gap) - gap} ${y + height / 2}h${gap}`}),
		i > 0 && numbered(i * (width + gap) - gap / 2, y + height / 2, chain[i - 1].number),
		box(i * (width + gap), y, width, height, label(device)))))};
}

/** @param {{name: string, terminal: string}} device */
function label(device) {
	return device.terminal ? `${device.name}, ${device.terminal}` : device.name;
}

/** @param {number} x @param {number} y @param {number} width @param {number} height @param {string} text */
function box(x, y, width, height, text) {
	const lines = wrap(shown(text), Math.floor((width - 10) / 7.6)), first = y + height / 2 + 5 - (lines.length - 1) * 9;

	return s('g', {}, s('rect', {class: 'wire-box', x: x + 0.5, y: y + 0.5, width: width - 1, height: height - 1, rx: 4}),
		lines.map((line, i) => s('text', {x: x + width / 2, y: first + i * 18, 'text-anchor': 'middle'}, line)));
}

/** @param {number} x @param {number} y @param {string} sign @param {number} inwards -1 when the box lies left of it */
function terminal(x, y, sign, inwards) {
	return s('g', {}, s('circle', {class: 'wire-end', cx: x, cy: y, r: 4}), s('text', {class: 'wire-sign', x: x + inwards * 12, y: y + 5, 'text-anchor': 'middle'}, sign));
}

/** @param {number} x @param {number} y @param {number} number */
function numbered(x, y, number) {
	return s('g', {}, s('circle', {class: 'wire-number', cx: x, cy: y, r: 9.5}), s('text', {class: 'wire-number-text', x, y: y + 4.5, 'text-anchor': 'middle'}, number));
}
