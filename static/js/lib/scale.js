/* Axes of a chart: round ticks that cover a range. Pure arithmetic. */

/**
 * Ticks at 1, 2, 2.5 or 5 times a power of ten, from below low to above high.
 *
 * @param {number} low
 * @param {number} high above low
 * @param {number} about how many are wanted
 * @returns {{ticks: number[], decimals: number}}
 */
export function roundTicks(low, high, about) {
	const raw = (high - low) / about, power = 10 ** Math.floor(Math.log10(raw));
	const step = [1, 2, 2.5, 5, 10].map(nice => nice * power).find(nice => nice >= raw * 0.999) ?? 10 * power;
	const first = Math.ceil(low / step - 1e-9), last = Math.floor(high / step + 1e-9);
	const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9) + (Math.abs(step / 10 ** Math.floor(Math.log10(step) + 1e-9) - 2.5) < 1e-6 ? 1 : 0));

	return {ticks: Array.from({length: last - first + 1}, (_, i) => (first + i) * step), decimals};
}

/**
 * Maps a value linearly to a pixel.
 *
 * @param {number} low @param {number} high @param {number} from pixel of low @param {number} to pixel of high
 * @returns {(value: number) => number}
 */
export function linear(low, high, from, to) {
	return value => Math.round((from + (value - low) / (high - low) * (to - from)) * 10) / 10;
}

/** A tick as text with the true minus sign. @param {number} value @param {number} decimals */
export function tickText(value, decimals) {
	const text = Math.abs(value).toFixed(decimals);

	return value < 0 && Number(text) !== 0 ? `\u2212${text}` : text;
}
