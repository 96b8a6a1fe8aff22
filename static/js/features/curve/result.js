/* What the server made of a table: the curve with its coefficients, what it gives elsewhere, and what is left at each point. */
import {h} from '../../lib/dom.js';
import {facts} from '../../lib/facts.js';
import {shown} from '../../lib/format.js';
import {significant, toDecimals} from '../../lib/significant.js';
import {leftChart} from './chart.js';

const LETTERS = 'abcdef', POWERS = ['', '\u00b7x', '\u00b7x\u00b2', '\u00b7x\u00b3', '\u00b7x\u2074', '\u00b7x\u2075'];
/* digits that a coefficient is given with: rounded harder, those of a high order would bend the curve */
const COEFFICIENT_DIGITS = 12;

const three = (/** @type {number|null} */ value) => shown(significant(value, 3));

/**
 * @param {{points: import('./points.js').Point[], decimals: number, x: string, y: string, through: boolean}} asked decimals: of y as typed; through: through zero
 * @param {any} answer of compute/fit
 */
export function curveResult(asked, answer) {
	const robust = answer.pairs !== undefined;
	/* a curve that goes through every point leaves only the last bits of the figures */
	const rounding = 1e-12 * Math.max(...asked.points.map(({y}) => Math.abs(y)));
	const far = Math.max(...asked.points.map(({x}) => Math.abs(x)));
	const told = (/** @type {number|null} */ value, /** @type {number} */ i) => value !== null && Math.abs(value) * far ** i < rounding ? 0 : value;
	const used = answer.coefficients.map((/** @type {number} */ value, /** @type {number} */ i) => ({value: told(value, i), i, s: told(answer.standard_deviations?.[i] ?? null, i)})).slice(asked.through ? 1 : 0);

	return [
		part('Curve',
			h('p', {class: 'budget-figure'}, `y = ${used.map((/** @type {any} */ {i}) => LETTERS[i] + POWERS[i]).join(' + ')}`),
			table(['', 'coefficient', ...(robust ? [] : ['standard deviation'])], used.map((/** @type {any} */ {value, i, s}) => [LETTERS[i], shown(significant(value, COEFFICIENT_DIGITS)), ...(robust ? [] : [three(s)])])),
			facts(robust ? robustFacts(answer, asked) : leastSquaresFacts(answer, asked, used.length))),
		answer.at.length > 0 && part('At other values', table([asked.x, asked.y, ...(robust ? [] : ['standard deviation'])],
			answer.at.map((/** @type {any} */ one) => [plain(one.x), shown(toDecimals(one.value, asked.decimals + 1)), ...(robust ? [] : [three(one.standard_deviation)])])),
			!robust && h('p', {class: 'muted small'}, 'The standard deviation is that of the curve there, without the scatter of one more reading.')),
		part('What is left', leftChart(asked.points.map(({x}, i) => ({x, left: Math.abs(answer.residuals[i]) > rounding ? answer.residuals[i] : 0})), asked),
			table([asked.x, asked.y, 'curve', 'left'], asked.points.map(({y, typed}, i) => [plain(typed.x), plain(typed.y), shown(toDecimals(y - answer.residuals[i], asked.decimals + 1)), shown(toDecimals(answer.residuals[i], asked.decimals + 1))]))),
	];
}

/** @param {any} answer @param {{points: any[]}} asked @param {number} terms */
function leastSquaresFacts({residual_sd: sd, r_squared: r}, {points}, terms) {
	return /** @type {Array<[string, any]>} */ ([
		['points', String(points.length)], ['degrees of freedom', `${points.length - terms}`],
		[points[0].u === null ? 'standard deviation of what is left' : 'standard deviation of what is left, at the best known point', sd === null ? 'none: as many points as coefficients' : three(sd)],
		['R\u00b2', r !== null && (r > 0.999999 && r < 1 ? 'more than 0.999999' : shown(toDecimals(r, 6)))],
	]);
}

/** @param {any} answer @param {{points: any[]}} asked */
function robustFacts({slope_low: low, slope_high: high, confidence, pairs}, {points}) {
	return /** @type {Array<[string, any]>} */ ([
		['points', String(points.length)], ['pairs of points', String(pairs)],
		[`slope, at ${shown(toDecimals(confidence * 100, 0))} % confidence`, low === null || high === null ? 'too few points to say' : `${three(low)} to ${three(high)}`],
	]);
}

/** @param {number|string} value */
function plain(value) {
	return shown(String(value).replace('-', '\u2212'));
}

/** @param {string} title @param {...any} children */
function part(title, ...children) {
	return h('section', {class: 'part'}, h('h2', {}, title), h('div', {}, children));
}

/** @param {string[]} heads @param {string[][]} rows the first cell names its row */
function table(heads, rows) {
	return h('div', {class: 'table-frame'}, h('table', {class: 'figures curve-table'},
		h('thead', {}, h('tr', {}, heads.map(head => head ? h('th', {scope: 'col', class: 'number'}, head) : h('td', {})))),
		h('tbody', {}, rows.map(([first, ...rest]) => h('tr', {}, h('th', {scope: 'row', class: 'number'}, first), rest.map(text => h('td', {class: 'number'}, text)))))));
}
