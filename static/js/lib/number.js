/*
 * Numbers as they are typed: comma or point as the decimal sign, a minus of any kind, no grouping. What was typed is
 * kept as text with a point ("12.00"), because 12.0 and 12.00 state different resolutions; the server takes such text.
 */

/** @typedef {{ok: true, text: string, value: number, decimals: number}} Typed */
/** @typedef {{ok: false, why: 'empty'|'grouping'|'not_a_number'}} NotTyped */

/**
 * @param {string} typed
 * @returns {Typed|NotTyped}
 */
export function readNumber(typed) {
	const text = typed.trim().replace(/^[\u2212\u2013]/, '-');

	if (text === '')
		return {ok: false, why: 'empty'};
	if (/^[+-]?\d[\d.,' \u00a0\u2009\u202f]*$/.test(text) && /[' \u00a0\u2009\u202f]|[.,].*[.,]/.test(text))
		return {ok: false, why: 'grouping'};

	const match = /^([+-]?)(\d*)(?:[.,](\d*))?$/.exec(text);
	if (!match || (!match[2] && !match[3]))
		return {ok: false, why: 'not_a_number'};
	const [, sign, whole, fraction = ''] = match;
	const plain = `${sign === '-' ? '-' : ''}${whole || '0'}${fraction ? `.${fraction}` : ''}`;
	return {ok: true, text: plain, value: Number(plain), decimals: fraction.length};
}

/** The typed text with its sign turned, for the ± button: keypads of some tablets have no minus. @param {string} typed */
export function turnSign(typed) {
	const text = typed.trim();

	return /^[-\u2212\u2013]/.test(text) ? text.slice(1) : `\u2212${text.replace(/^\+/, '')}`;
}
