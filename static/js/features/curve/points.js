/*
 * A table as it is typed or pasted from a spreadsheet: one point a line, x and y and, where the points are not known equally well, the
 * standard uncertainty of y. Columns stand apart by tabs, else by semicolons, else by spaces; numbers take comma or point. A first line
 * without any number is a heading. Pure.
 *
 *   readPoints('x\ty\n1,50\t2,25')      {points: [{x: 1.5, y: 2.25, u: null, typed: {x: '1.50', y: '2.25'}}], decimals: 2, fault: null}
 */
import {readNumber} from '../../lib/number.js';

/** @typedef {{x: number, y: number, u: number|null, typed: {x: string, y: string}}} Point typed: as written, with its zeros */

/** @param {string} line */
function cellsOf(line) {
	const parting = line.includes('\t') ? '\t' : line.includes(';') ? ';' : /\s+/;

	return line.trim().split(parting).map(cell => cell.trim()).filter(Boolean);
}

/** @param {string} text @returns {{points: Point[], decimals: number, fault: string|null}} decimals: the most that a y was typed with */
export function readPoints(text) {
	const lines = text.split('\n').map((line, i) => ({at: i + 1, cells: cellsOf(line)})).filter(({cells}) => cells.length > 0);
	const heading = lines.length > 0 && lines[0].cells.every(cell => !readNumber(cell).ok);
	const answer = {points: /** @type {Point[]} */ ([]), decimals: 0, fault: /** @type {string|null} */ (null)};

	for (const {at, cells} of lines.slice(heading ? 1 : 0)) {
		const [x, y, u] = cells.map(readNumber);
		if (cells.length < 2 || cells.length > 3)
			return {...answer, fault: `Line ${at} has ${cells.length === 1 ? 'one number' : `${cells.length} numbers`}: x and y are needed, and u where the points are not known equally well.`};
		if (!x.ok || !y.ok || (u && !u.ok))
			return {...answer, fault: `Line ${at}: ${cells[!x.ok ? 0 : !y.ok ? 1 : 2]} is no number.`};
		if (u && !(u.value > 0))
			return {...answer, fault: `Line ${at}: the standard uncertainty must be above 0.`};
		if (answer.points.length > 0 && Boolean(u) !== (answer.points[0].u !== null))
			return {...answer, fault: `Line ${at}: either every point has its standard uncertainty, or none.`};
		answer.points.push({x: x.value, y: y.value, u: u ? u.value : null, typed: {x: x.text, y: y.text}});
		answer.decimals = Math.max(answer.decimals, y.decimals);
	}
	return answer.points.length ? answer : {...answer, fault: 'Type or paste the points, one a line.'};
}

/** Places where the curve is asked for: numbers apart by spaces or semicolons. @param {string} text */
export function readPlaces(text) {
	const cells = cellsOf(text.replaceAll('\n', ' ')), numbers = cells.map(readNumber), wrong = numbers.findIndex(number => !number.ok);

	return {places: numbers.map(number => number.ok ? number.value : NaN), fault: wrong < 0 ? null : `${cells[wrong]} is no number.`};
}

/**
 * What compute/fit is asked. Weights are 1/u², of which only the ratios count: the best known point has 1.
 *
 * @param {Point[]} points @param {{curve: string, through_zero: boolean}} how curve: the order, or robust @param {number[]} places
 */
export function fitDocument(points, {curve, through_zero}, places) {
	const least = Math.min(...points.map(({u}) => u ?? 1)), robust = curve === 'robust';

	return {
		x: points.map(({x}) => x), y: points.map(({y}) => y),
		...(robust ? {method: 'theil_sen'} : {order: Number(curve), through_zero}),
		...(!robust && points[0].u !== null && {weights: points.map(({u}) => (least / (u ?? least)) ** 2)}),
		...(places.length > 0 && {at: places}),
	};
}
