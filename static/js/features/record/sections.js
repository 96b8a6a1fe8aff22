/*
 * A test record as it reads: top to bottom like the certificate. Each function gives one <section class="part">, or null
 * when there is nothing to say. recordSections(record, charts) gives them all in order.
 */
import {h} from '../../lib/dom.js';
import {clock, date, shown, time, timeWithZone} from '../../lib/format.js';
import {verdict} from '../../lib/mark.js';
import {t} from '../../lib/words.js';

/** @param {any} record @param {{chart: Element|null, outcome: (run: any) => any}} parts made by the page from other features */
export function recordSections(record, parts) {
	return [instrumentPart(record), procedurePart(record), standardsPart(record), surroundingsPart(record), cautionsPart(record), checksPart(record),
		record.runs.filter((/** @type {any} */ run) => run.id).map((/** @type {any} */ run) => [resultsPart(run), run.kind === 'as_found' && adjustmentPart(record)]),
		parts.chart && record.runs.some((/** @type {any} */ run) => run.id) && part(record.runs[0].switch ? 'Where it acted' : 'Errors', parts.chart),
		record.runs.filter((/** @type {any} */ run) => run.summary).map((/** @type {any} */ run) => parts.outcome(run)),
		remarksPart(record), signaturesPart(record)];
}

/** @param {string} title @param {...any} content */
export function part(title, ...content) {
	return h('section', {class: 'part'}, h('h2', {}, title), h('div', {}, content));
}

/** @param {Array<[string, any]|false|null|undefined|''>} pairs */
export function facts(pairs) {
	return h('dl', {class: 'facts'}, pairs.filter(Boolean).flatMap(pair => [h('dt', {}, /** @type {any} */ (pair)[0]), h('dd', {}, /** @type {any} */ (pair)[1])]));
}

/** @param {any} instrument */
function switchText({switch: points, input}) {
	const figure = (/** @type {number} */ value) => shown(String(value).replace('-', '\u2212')), {low = null, high = null} = points.dead_band ?? {};
	const band = low !== null && high !== null ? `${figure(low)} to ${figure(high)}` : low !== null ? `at least ${figure(low)}` : high !== null ? `at most ${figure(high)}` : '';

	return `${figure(points.set_point)} ${input.unit}, ${t(`direction.${points.acts_on}`)}${points.reset_point === null ? '' : `; reset point ${figure(points.reset_point)} ${input.unit}`}${band && `; dead band ${band} ${input.unit}`}`;
}

/** @param {any} side */
function rangeText(side) {
	return shown(`${String(side.low).replace('-', '\u2212')} to ${String(side.high).replace('-', '\u2212')} ${side.unit}, ${side.quantity}`);
}

/** @param {any} record */
function instrumentPart({instrument}) {
	return part('Instrument', facts([
		['Tag', h('a', {class: 'tag', href: `/instrument?id=${instrument.id}`}, instrument.tag)],
		['Service', instrument.service],
		['Kind', t(`kind.${instrument.kind}`)],
		['Where', [instrument.area, instrument.location].filter(Boolean).join(' \u00b7 ')],
		(instrument.maker || instrument.model) && ['Make', [instrument.maker, instrument.model].filter(Boolean).join(' ')],
		instrument.serial && ['Serial number', instrument.serial],
		['Input', rangeText(instrument.input)],
		!instrument.switch && ['Output', rangeText(instrument.output)],
		instrument.switch && ['Set point', switchText(instrument)],
	]));
}

/** @param {any} record */
function procedurePart({procedure, opened_at, opened_by, performed_at, condition}) {
	return part('Test', facts([
		['Procedure', h('a', {href: `/procedure?id=${procedure.id}`}, `${procedure.code}, version ${procedure.number}: ${procedure.document.title}`)],
		['Approved', `${procedure.approved_by}, ${date(procedure.approved_at)}`],
		['Decision rule', decisionText(procedure.document.decision)],
		procedure.document.steps.some((/** @type {any} */ step) => step.error_at === 'set') && ['Error', 'taken at the set point, not at the input as applied'],
		['Opened', `${time(opened_at)}, ${opened_by}`],
		performed_at && ['Performed', time(performed_at)],
		['Condition as received', condition || 'nothing noted'],
	]));
}

/** @param {any} decision */
function decisionText({rule, guard_factor: factor}) {
	return rule === 'simple' ? 'simple acceptance: inside when the reading is inside the limits'
		: `guarded acceptance: a guard band of ${shown(factor ?? 1)} times the expanded uncertainty inside the limits`;
}

/** @param {any} record */
function standardsPart({needs}) {
	const chosen = needs.filter((/** @type {any} */ need) => need.chosen);

	return part('Measured with', chosen.length ? h('div', {class: 'table-frame'}, h('table', {class: 'stack'},
		h('thead', {}, h('tr', {}, ['standard', 'for', 'range', 'uncertainty', 'certificate', 'valid until'].map(head => h('th', {scope: 'col'}, head)))),
		h('tbody', {}, chosen.map((/** @type {any} */ need) => standardRow(need, need.chosen))))) : h('p', {}, 'No reference standard chosen.'));
}

/** @param {any} need @param {any} standard */
function standardRow(need, standard) {
	return h('tr', {},
		h('th', {scope: 'row'}, h('a', {class: 'nowrap', href: `/standard?id=${standard.id}`}, standard.code), h('span', {class: 'muted small block'}, [standard.name, standard.serial].filter(Boolean).join(', '))),
		h('td', {'data-label': 'for'}, need.role), h('td', {'data-label': 'range', class: 'nowrap'}, shown(standard.shown_range)),
		h('td', {'data-label': 'uncertainty', class: 'nowrap'}, shown(standard.shown_uncertainty)),
		h('td', {'data-label': 'certificate'}, h('span', {}, standard.certificate_number, h('span', {class: 'muted small block'}, `${standard.issued_by}, ${date(standard.calibrated_on)}. ${standard.traceability}`))),
		h('td', {'data-label': 'valid until', class: 'nowrap'}, date(standard.valid_until)));
}

/** @param {any} record */
function surroundingsPart({environment}) {
	if (!environment)
		return null;
	return part('Ambient conditions', facts([
		environment.temperature_c != null && ['Temperature', shown(`${String(environment.temperature_c).replace('-', '\u2212')} °C`)],
		environment.humidity_percent != null && ['Relative humidity', shown(`${environment.humidity_percent} %`)],
		environment.pressure_hpa != null && ['Air pressure', shown(`${environment.pressure_hpa} hPa`)],
	]));
}

/** @param {any} record */
function cautionsPart({cautions}) {
	return cautions.length > 0 && part('Cautions', h('ul', {class: 'rows'}, cautions.map((/** @type {any} */ caution) => h('li', {class: 'spread'}, h('span', {class: 'prose'}, caution.text),
		h('span', {class: 'muted small nowrap'}, caution.acknowledged ? `${caution.acknowledged.by}, ${clock(caution.acknowledged.at)}` : 'not acknowledged')))));
}

/** @param {any} record */
function checksPart({checks}) {
	return checks.length > 0 && part('Checks', h('ul', {class: 'rows'}, checks.map((/** @type {any} */ check) => h('li', {class: 'spread'},
		h('span', {class: 'prose'}, check.shown_apply && h('span', {class: 'muted'}, `At ${shown(check.shown_apply)}: `), check.text,
			check.answer?.observed && h('span', {class: 'block'}, `Seen: ${check.answer.observed}`), check.answer?.note && h('span', {class: 'block muted'}, check.answer.note)),
		check.answer ? h('span', {class: 'small'}, h('b', {}, t(`answer.${check.answer.answer}`)), h('span', {class: 'muted'}, `, ${check.answer.by}, ${clock(check.answer.at)}`)) : h('span', {class: 'muted small'}, 'not answered')))));
}

/** One line an actuation. @param {any} run */
function switchResults(run) {
	const {unit, actuations, reads_reset: back, reset_point: reset, shown_limits: limits, shown_dead_band_limits: band} = run.switch;
	const heads = [`acted, ${unit}`, `error, ${unit}`, back && `went back, ${unit}`, back && reset !== null && `error, ${unit}`, back && `dead band, ${unit}`].filter(Boolean);

	return [h('p', {}, `Set point ${shown(run.switch.shown_set_point)}, ${t(`direction.${run.switch.acts_on}`)}`, limits && `, limit ${shown(limits)}`, band && `; dead band ${shown(band)}`),
		h('div', {class: 'table-frame', tabindex: 0, role: 'region', 'aria-label': `Results ${t(`run.${run.kind}`)}`}, h('table', {class: `switch-results${back && reset !== null ? ' resets' : ''}`},
			h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, h('span', {class: 'visually-hidden'}, 'actuation')), heads.map(head => h('th', {scope: 'col', class: ['number', String(head).startsWith('dead band') && 'band'].filter(Boolean).join(' ')}, head)), h('th', {scope: 'col', class: 'judged'}, 'verdict'))),
			h('tbody', {}, actuations.map((/** @type {any} */ one) => h('tr', {}, h('th', {scope: 'row'}, one.cycle),
				[h('b', {}, unitless(one.shown_set, unit)), unitless(one.shown_set_error, unit), back && unitless(one.shown_reset, unit), back && reset !== null && unitless(one.shown_reset_error, unit)].filter(cell => cell !== false).map(cell => h('td', {class: 'number'}, cell || '\u2013')),
				back && h('td', {class: 'number band'}, unitless(one.shown_dead_band, unit) || '\u2013'),
				h('td', {class: 'judged'}, verdict(worst(one))))))))];
}

const ORDER = ['not_judged', 'pass', 'conditional_pass', 'conditional_fail', 'fail'];

/** @param {any} actuation */
function worst(actuation) {
	return [actuation.set_verdict, actuation.reset_verdict, actuation.dead_band_verdict].reduce((a, b) => ORDER.indexOf(a) >= ORDER.indexOf(b) ? a : b);
}

/** Readings with their errors and limits; raw values, uncertainty, time and person one tap away. @param {any} run */
export function resultsPart(run) {
	const name = t(`run.${run.kind}`), read = run.points.filter((/** @type {any} */ point) => point.reading);

	return h('section', {class: 'part'}, h('h2', {}, `${name.charAt(0).toUpperCase()}${name.slice(1)}`), h('div', {},
		h('p', {class: 'muted'}, [run.started_at && `${time(run.started_at)}, ${run.started_by}`, run.attempt > 1 && `attempt ${run.attempt}`, !run.complete && `not complete: ${read.length} of ${run.points.length} points`].filter(Boolean).join(' \u00b7 ')),
		run.captured && h('p', {class: 'small prose captured'}, shown(run.captured)),
		!run.switch && judgedOtherwise(read), run.switch ? switchResults(run) : h('div', {class: 'table-frame', tabindex: 0, role: 'region', 'aria-label': `Results ${name}`}, h('table', {class: 'results'},
			h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, h('span', {class: 'visually-hidden'}, 'direction')), [`applied, ${run.input_unit}`, `expected, ${run.output_unit}`, `reading, ${run.output_unit}`, 'error, % of span', 'limit'].map(head => h('th', {scope: 'col', class: 'number'}, head)),
				h('th', {scope: 'col'}, 'verdict'))),
			h('tbody', {}, read.map((/** @type {any} */ point) => resultRow(point, run))))),
		deadBandResults(run),
		h('details', {class: 'origin'}, h('summary', {}, 'Where these numbers come from'), originTable(read, run))));
}

/** Where the procedure sought it. @param {any} run */
function deadBandResults(run) {
	const {dead_band: band, input_unit: unit} = run;

	return band?.shown && h('div', {class: 'table-frame', tabindex: 0, role: 'region', 'aria-label': `Dead band ${t(`run.${run.kind}`)}`}, h('table', {class: 'dead-band-table'},
		h('caption', {class: 'muted small'}, `Dead band${band.shown_limit ? `, at most ${shown(band.shown_limit)} of the input\u2019s span` : ''}`),
		h('thead', {}, h('tr', {}, [`at, ${unit}`, `rising, ${unit}`, `falling, ${unit}`, '% of span'].map(head => h('th', {scope: 'col', class: 'number'}, head)), h('th', {scope: 'col'}, 'verdict'))),
		h('tbody', {}, band.places.filter((/** @type {any} */ place) => place.value !== null).map((/** @type {any} */ place) => h('tr', {}, h('th', {scope: 'row', class: 'number'}, unitless(place.shown_set, unit)),
			h('td', {class: 'number'}, unitless(place.shown_rising, unit)), h('td', {class: 'number'}, unitless(place.shown_falling, unit)), h('td', {class: 'number'}, h('b', {}, unitless(place.shown_percent, '%'))), h('td', {}, verdict(place.verdict)))))));
}

/** Two builds of one core must not differ: whoever signs hears of it when they did. @param {any[]} read */
function judgedOtherwise(read) {
	const differing = read.filter(({reading}) => reading.client_verdict && reading.client_verdict !== reading.verdict);

	return differing.length > 0 && h('div', {class: 'notice', 'data-key': 'judged-otherwise'}, h('p', {}, h('b', {}, 'The tablet judged otherwise. '), 'The verdicts below are the server\u2019s. Find out why before you sign: the tablet may have had an old page.'),
		h('ul', {class: 'bullets'}, differing.map(({shown_set: set, direction, reading}) => h('li', {}, `${shown(set)} ${t(`direction.${direction}`)}: tablet \u201c${t(`verdict.${reading.client_verdict}`)}\u201d, server \u201c${t(`verdict.${reading.verdict}`)}\u201d`))));
}

/** @param {any} point @param {any} run */
function resultRow(point, run) {
	const {reading} = point;

	return h('tr', {}, h('td', {}, h('span', {'aria-hidden': 'true'}, point.direction === 'rising' ? '\u2191' : '\u2193'), h('span', {class: 'visually-hidden'}, t(`direction.${point.direction}`)),
		run.points.some((/** @type {any} */ other) => other.cycle > 1) && h('span', {class: 'muted small'}, h('span', {class: 'visually-hidden'}, ', cycle'), ` ${point.cycle}`)),
		h('td', {class: 'number'}, unitless(reading.shown_applied, run.input_unit)), h('td', {class: 'number'}, unitless(reading.shown_expected, run.output_unit)),
		h('td', {class: 'number'}, h('b', {}, unitless(reading.shown_observed, run.output_unit))), h('td', {class: 'number'}, unitless(reading.shown_error_percent, '%')),
		h('td', {class: 'number muted'}, shown(reading.shown_limits_percent ?? '\u2013')), h('td', {}, verdict(reading.verdict)));
}

/** @param {any[]} read @param {any} run */
function originTable(read, run) {
	if (run.switch)
		return switchOrigins(read, run);
	return h('div', {class: 'table-frame', tabindex: 0, role: 'region', 'aria-label': 'Raw readings'}, h('table', {},
		h('thead', {}, h('tr', {}, h('th', {scope: 'col', class: 'number'}, 'set'), h('th', {scope: 'col', class: 'number'}, 'applied'), h('th', {scope: 'col', class: 'number'}, 'expected'), h('th', {scope: 'col', class: 'number'}, 'read'),
			h('th', {scope: 'col', class: 'number'}, `error, ${run.output_unit}`), h('th', {scope: 'col', class: 'number'}, 'uncertainty U (k = 2)'), h('th', {scope: 'col'}, 'when'), h('th', {scope: 'col'}, 'who'), run.captured && h('th', {scope: 'col'}, 'steady window'))),
		h('tbody', {}, read.map(({shown_set: set, reading}) => h('tr', {}, h('td', {class: 'number'}, shown(set)), h('td', {class: 'number'}, shown(reading.shown_applied)), h('td', {class: 'number'}, shown(reading.shown_expected)), h('td', {class: 'number'}, shown(reading.shown_observed)),
			h('td', {class: 'number'}, unitless(reading.shown_error, run.output_unit)), h('td', {class: 'number'}, shown(reading.shown_uncertainty ?? 'not known')), h('td', {class: 'nowrap'}, time(reading.taken_at)), h('td', {}, reading.by), run.captured && h('td', {}, howTaken(reading)))))));
}

/** @param {any} reading */
function howTaken({captured}) {
	return captured ? ['input', 'output'].map(name => captured[name]).filter(Boolean).map(one => h('span', {class: 'block small nowrap'}, shown(`n = ${one.n}, s = ${one.s.toPrecision(2)} ${one.unit}`), one.warnings?.length > 0 && h('span', {class: 'block bad'}, one.warnings.join(', ')))) : 'typed';
}

/** @param {any[]} read @param {any} run */
function switchOrigins(read, run) {
	return h('div', {class: 'table-frame', tabindex: 0, role: 'region', 'aria-label': 'Raw readings'}, h('table', {},
		h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, 'actuation'), h('th', {scope: 'col', class: 'number'}, 'read'), h('th', {scope: 'col', class: 'number'}, 'uncertainty U (k = 2)'),
			h('th', {scope: 'col'}, 'when'), h('th', {scope: 'col'}, 'who'))),
		h('tbody', {}, read.map(point => h('tr', {}, h('td', {}, `${point.cycle}, ${point.direction === run.switch.acts_on ? 'acted' : 'went back'}`), h('td', {class: 'number'}, shown(point.reading.shown_observed)),
			h('td', {class: 'number'}, shown(point.reading.shown_uncertainty ?? 'not known')), h('td', {class: 'nowrap'}, time(point.reading.taken_at)), h('td', {}, point.reading.by))))));
}

/** @param {string|null} text @param {string} unit */
function unitless(text, unit) {
	return shown(text?.endsWith(` ${unit}`) ? text.slice(0, -unit.length - 1) : text);
}

/** @param {any} record */
function adjustmentPart({adjustment}) {
	return adjustment && part('Adjustment', h('p', {}, h('b', {}, adjustment.made ? 'Adjusted' : 'Not adjusted'), h('span', {class: 'muted'}, `, ${adjustment.by}, ${time(adjustment.at)}`)),
		adjustment.text && h('p', {class: 'prose'}, adjustment.text));
}

/** @param {any} record */
function remarksPart({remarks}) {
	return remarks && part('Remarks', h('p', {class: 'prose'}, remarks));
}

/** @param {any} record */
function signaturesPart({signatures, amends}) {
	return signatures.length > 0 && part('Signatures', h('ul', {class: 'rows'}, signatures.map((/** @type {any} */ one) => h('li', {class: 'spread'},
		h('span', {}, h('b', {}, t(`meaning.${amends && one.meaning === 'performed' ? 'corrected' : one.meaning}`)), ` by ${one.name}, ${t(`role.${one.role}`)}`, one.reason && h('span', {class: 'block muted'}, one.reason)), h('span', {class: 'muted nowrap'}, timeWithZone(one.at))))));
}

/** Both verdicts in a line. @param {any} record */
export function verdictLine(record) {
	return record.runs.filter((/** @type {any} */ run) => run.summary).map((/** @type {any} */ run) => {
		const name = t(`run.${run.kind}`);
		return h('p', {class: 'verdict-line'}, verdict(run.summary.verdict, `${name.charAt(0).toUpperCase()}${name.slice(1)}: ${t(`verdict.${run.summary.verdict}`)}`));
	});
}

