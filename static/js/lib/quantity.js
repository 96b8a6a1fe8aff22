/*
 * Quantities as they stand in the register, written for the reader: figure(-12.5) is '−12.5', rangeText({low: 0, high: 250, unit: 'kPa'})
 * is '0 to 250 kPa'. They are what somebody typed, so nothing is rounded.
 */
import {readersDecimalSign, shown} from './format.js';

/** @param {number|null|undefined} value @param {string} [sign] the decimal sign @returns {string} */
export function figure(value, sign) {
	return value == null ? '\u2013' : shown(String(value).replace(/^-/, '\u2212'), sign);
}

/** @param {{low: number, high: number, unit: string}|null|undefined} range */
export function rangeText(range) {
	return range ? `${figure(range.low)} to ${figure(range.high)} ${range.unit}` : '\u2013';
}

/** A stored number as it is prefilled into a field. @param {number|null|undefined} value @param {string} [sign] */
export function typedFigure(value, sign = readersDecimalSign) {
	return value == null ? '' : String(value).replace('.', sign).replace(/^-/, '\u2212');
}

/** A hash short enough to compare by eye: '3f9a 22c1 … 07be'. @param {string} hash */
export function shortHash(hash) {
	return `${hash.slice(0, 4)} ${hash.slice(4, 8)} \u2026 ${hash.slice(-4)}`;
}
