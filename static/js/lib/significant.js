/*
 * A number with so many significant digits, for what the server gives unrounded: the figures of a budget between its components and its
 * result, which the server rounds itself. Rounded half away from zero on the decimal digits, as the server does (ISO 80000-1:2009, B.3
 * rule B). Pure.
 *
 *   significant(0.00265894716, 3)    '0.00266'
 *   significant(-1234.5, 3)          '\u22121230'
 *   significant(3.2e-7, 2)           '3.2·10⁻⁷'
 */

const RAISED = '\u2070\u00b9\u00b2\u00b3\u2074\u2075\u2076\u2077\u2078\u2079';

/** @param {number|null|undefined} value @param {number} digits @returns {string} an en dash when there is none */
export function significant(value, digits) {
	if (value == null || !Number.isFinite(value))
		return '\u2013';
	if (value === 0)
		return '0';
	/* 15 digits are what the server wrote; the binary number behind them is not asked */
	const [mantissa, power] = Math.abs(value).toExponential(14).split('e');
	const {text, exponent} = rounded(mantissa.replace('.', ''), Number(power), digits);
	const sign = value < 0 ? '\u2212' : '';

	if (exponent < -5 || exponent > 9)
		return `${sign}${text[0]}${text.length > 1 ? `.${text.slice(1)}` : ''}\u00b710${raised(exponent)}`;
	if (exponent < 0)
		return `${sign}0.${'0'.repeat(-exponent - 1)}${text}`;
	if (exponent >= text.length - 1)
		return sign + text + '0'.repeat(exponent - text.length + 1);
	return `${sign}${text.slice(0, exponent + 1)}.${text.slice(exponent + 1)}`;
}

/** A number with so many decimals, rounded by the same rule. @param {number|null|undefined} value @param {number} decimals @returns {string} */
export function toDecimals(value, decimals) {
	if (value == null || !Number.isFinite(value))
		return '\u2013';
	const [mantissa, power] = Math.abs(value).toExponential(14).split('e');
	const digits = Number(power) + 1 + decimals, all = mantissa.replace('.', '');
	/* counted in units of the last decimal */
	const units = digits < 0 ? 0n : BigInt(all.slice(0, digits).padEnd(digits, '0') || '0') + (Number(all[digits] ?? '0') >= 5 ? 1n : 0n);
	const text = String(units).padStart(decimals + 1, '0'), whole = text.slice(0, text.length - decimals);

	return `${value < 0 && units > 0n ? '\u2212' : ''}${whole}${decimals ? `.${text.slice(-decimals)}` : ''}`;
}

/** The first digits of a decimal mantissa, rounded; 9.99 becomes 10.0 and carries. @param {string} all @param {number} exponent @param {number} digits */
function rounded(all, exponent, digits) {
	const kept = BigInt(all.slice(0, digits)) + (Number(all[digits] ?? '0') >= 5 ? 1n : 0n), text = String(kept);

	return text.length > digits ? {text: text.slice(0, digits), exponent: exponent + 1} : {text, exponent};
}

/** @param {number} exponent */
function raised(exponent) {
	return (exponent < 0 ? '\u207b' : '') + [...String(Math.abs(exponent))].map(digit => RAISED[Number(digit)]).join('');
}
