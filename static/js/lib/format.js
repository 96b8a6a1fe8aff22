/*
 * Numbers, dates and times as the reader writes them. Numbers come from the server as text that was rounded once
 * ("shown…"); nothing is rounded here, only the decimal sign is swapped.
 *
 *   shown('−0.35 mA')       '−0,35 mA' for a reader who writes a comma
 *   date('2026-11-25')      '25 Nov 2026'
 *   datesInWords('it ran out on 2026-11-25')   'it ran out on 25 Nov 2026'; shown() does it too
 *   time('2026-11-25T…Z')   '25 Nov 2026, 13:30'; clock(…) '13:30'; timeWithZone(…) '25 Nov 2026, 13:30 GMT'
 *   dueWords(-12)           'overdue 12 days'
 */
import {t} from './words.js';

const locale = globalThis.navigator?.language ?? 'en-GB';
const decimalSign = new Intl.NumberFormat(locale).formatToParts(1.5).find(part => part.type === 'decimal')?.value ?? '.';

/** @param {string|number|null|undefined} text @param {string} [sign] @returns {string} */
export function shown(text, sign = decimalSign) {
	if (text == null)
		return '\u2013';
	return datesInWords(String(text)).replace(/(\d)\.(?=\d)/g, `$1${sign}`).replace(/(\d) %/g, '$1\u00a0%');	/* a % never begins a line */
}

/* making a formatter costs far more than using one, and a long list uses it for every row */
const day = {day: /** @type {const} */ ('numeric'), month: /** @type {const} */ ('short'), year: /** @type {const} */ ('numeric')};
const plainDay = new Intl.DateTimeFormat(locale, {...day, timeZone: 'UTC'}), localDay = new Intl.DateTimeFormat(locale, day);
const localClock = new Intl.DateTimeFormat(locale, {hour: '2-digit', minute: '2-digit'});
const zonedClock = new Intl.DateTimeFormat(locale, {hour: '2-digit', minute: '2-digit', timeZoneName: 'short'});

/** The month in words, so that no reader takes the day for it; never broken between two lines. @param {string|null|undefined} iso a date or a time */
export function date(iso) {
	if (!iso)
		return '\u2013';
	return (/^\d{4}-\d\d-\d\d$/.test(iso) ? plainDay.format(new Date(`${iso}T00:00:00Z`)) : localDay.format(new Date(iso))).replaceAll(' ', '\u00a0');
}

/** The server writes ISO 8601; in a sentence that people read a date stands in words. @param {string} text */
export function datesInWords(text) {
	return text.replace(/(?<![\w-])\d{4}-\d\d-\d\d(?![\w-])/g, iso => Number.isNaN(Date.parse(iso)) ? iso : date(iso));
}

/** @param {string|null|undefined} iso */
export function time(iso) {
	return iso ? `${date(iso)}, ${clock(iso)}` : '\u2013';
}

/** Of signatures and seals: whoever reads it elsewhere must know which time is meant. @param {string|null|undefined} iso */
export function timeWithZone(iso) {
	return iso ? `${date(iso)}, ${zonedClock.format(new Date(iso))}` : '\u2013';
}

/** @param {string|null|undefined} iso */
export function clock(iso) {
	return iso ? localClock.format(new Date(iso)) : '\u2013';
}

/** '2026-12' as 'Dec'; with the year where a reader needs it. @param {string} month @param {boolean} [withYear] */
export function monthName(month, withYear = false) {
	return new Intl.DateTimeFormat(locale, {month: 'short', year: withYear ? 'numeric' : undefined, timeZone: 'UTC'})
		.format(new Date(`${month}-01T00:00:00Z`));
}

/** '2026-12' as 'December', with the year when it is not today's. @param {string} month @param {string} today */
export function monthInFull(month, today) {
	return new Intl.DateTimeFormat(locale, {month: 'long', year: month.slice(0, 4) === today.slice(0, 4) ? undefined : 'numeric', timeZone: 'UTC'})
		.format(new Date(`${month}-01T00:00:00Z`));
}

/** @param {number} days until it is due; negative when that has passed */
export function dueWords(days) {
	if (days < 0)
		return t('due.overdue', {n: -days});
	if (days === 0)
		return t('due.today');
	if (days === 1)
		return t('due.tomorrow');
	return t('due.in', {n: days});
}

/** The decimal sign of the reader, for placeholders and prefilled fields. */
export const readersDecimalSign = decimalSign;
