/*
 * The scale of an instrument: its input and its output as two ruled lines, joined at the quarters, so that a square root or a
 * falling output is seen at once. The figures come from the server, which rounds them once.
 */
import {call} from '../../lib/api.js';
import {h, s} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';

const WIDTH = 320, HEIGHT = 236, TOP = 42, BOTTOM = 214, LEFT = 112, RIGHT = 208;

/** The least document that the worked example of a procedure takes: the quarters, upwards. */
const QUARTERS = {
	title: 'scale', purpose: '', kinds: ['transmitter'], preparation: [], cautions: [], needs: [],
	steps: [{kind: 'points', title: 'scale', percent: [0, 25, 50, 75, 100], pattern: 'up', cycles: 1, settle_s: 0}],
	tolerance: {as_found: {terms: [{kind: 'percent_of_span', plus: 0.1}], join: 'sum'}, adjust: null, as_left: null},
	decision: {rule: 'simple'}, environment: false, adjustment: '',
};

/** @param {any} instrument @returns {Promise<HTMLElement|null>} null when its characteristic gives no figures */
export async function scaleFigure(instrument) {
	const example = await call('POST', '/procedures/example', {document: QUARTERS, instrument_id: instrument.id});
	const shares = outputShares(example.points.map((/** @type {any} */ point) => numberOf(point.shown_expected)));
	const words = example.points.map((/** @type {any} */ point) => `${shown(point.shown_set)} ${example.input_unit} gives ${shown(point.shown_expected)} ${example.output_unit}`);

	return h('figure', {class: 'scale'}, s('svg', {viewBox: `0 0 ${WIDTH} ${HEIGHT}`, width: WIDTH, height: HEIGHT, role: 'img', 'aria-label': `${words.join('; ')}.`},
		ruler(LEFT, -1, example.points.map((/** @type {any} */ point) => shown(point.shown_set)), [0, 0.25, 0.5, 0.75, 1], 'input', example.input_unit),
		ruler(RIGHT, 1, example.points.map((/** @type {any} */ point) => shown(point.shown_expected)), shares, 'output', example.output_unit),
		shares.map((share, i) => s('path', {class: 'scale-tie', d: `M${LEFT + 6} ${at(i / 4)}L${RIGHT - 6} ${at(share)}`}))));
}

/** Where each output lies between the lowest and the highest, 0 to 1. @param {number[]} outputs */
export function outputShares(outputs) {
	const low = Math.min(...outputs), span = Math.max(...outputs) - low;

	return outputs.map(value => span > 0 ? (value - low) / span : 0);
}

/** @param {string} text as the server writes it */
function numberOf(text) {
	return Number(text.replace('\u2212', '-'));
}

/** @param {number} share */
function at(share) {
	return Math.round((BOTTOM - share * (BOTTOM - TOP)) * 10) / 10;
}

/** @param {number} x @param {number} side -1 writes left of the line @param {string[]} figures @param {number[]} shares @param {string} name @param {string} unit */
function ruler(x, side, figures, shares, name, unit) {
	const anchor = side < 0 ? 'end' : 'start';

	return s('g', {},
		s('text', {class: 'scale-name', x: x + side * 16, y: 16, 'text-anchor': anchor}, `${name}, ${unit}`),
		s('path', {class: 'scale-line', d: `M${x} ${TOP}V${BOTTOM}`}),
		figures.map((text, i) => s('g', {},
			s('path', {class: 'scale-line', d: `M${x} ${at(shares[i])}h${side * 8}`}),
			s('text', {x: x + side * 16, y: at(shares[i]) + 5, 'text-anchor': anchor}, text))));
}
