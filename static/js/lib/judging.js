/*
 * A typed reading judged on this tablet, by the same core and from the same figures as the server will: setup, uncertainty and
 * decimals are put together here as server/domain/record_judge.c does it.
 */

/** @typedef {Awaited<ReturnType<typeof import('./metrology.js').loadMetrology>>} Core */

/** What a run of a record is judged by. @param {any} record @param {any} run @returns {import('./metrology.js').Setup} */
export function setupOf(record, run) {
	const {instrument} = record, {tolerance, decision} = record.procedure.document;
	const asFound = tolerance?.as_found, asLeft = tolerance?.as_left ?? asFound;

	return {
		input: instrument.input, output: instrument.output, characteristic: instrument.characteristic, decision,
		tolerance: run.kind === 'as_left' ? asLeft : asFound, adjust: run.kind === 'as_left' ? asLeft : tolerance?.adjust ?? asFound, left: asLeft,
		input_unit: instrument.input.unit, output_unit: instrument.output.unit, input_decimals: run.input_decimals, output_decimals: run.output_decimals,
	};
}

/** A chosen standard's U in the instrument's unit, or null. @param {any} record @param {'input'|'output'} role */
function reference(record, role) {
	const chosen = record.needs.find((/** @type {any} */ need) => need.role === role)?.chosen;

	return chosen?.reference_u > 0 ? {expanded: chosen.reference_u, coverage_factor: chosen.coverage_factor ?? NaN} : null;
}

/**
 * Null where this tablet cannot say: a setup that gives nothing.
 *
 * @param {Core} core @param {any} record @param {any} run @param {any} point
 * @param {{applied?: string|null, observed: string}} typed plain decimals; without applied the set point
 * @param {{run?: string, point?: number, applied?: string|null, observed: string}[]} [before] what is typed and not yet sent, for the decimals it shows
 */
export function judgeTyped(core, record, run, point, typed, before = []) {
	if (run.switch)
		return judgeActuation(core, record, run, point, typed, before);
	/** @param {number} least @param {(string|null|undefined)[]} texts */
	const decimals = (least, ...texts) => Math.max(least, ...texts.map(text => text == null ? -1 : core.decimalsOfText(text)));
	/* without a typed value the server takes the set point as it is shown by then */
	const shownInput = decimals(run.input_decimals, ...before.map(one => one.applied));
	const setup = {
		...setupOf(record, run), input_decimals: decimals(shownInput, typed.applied),
		output_decimals: decimals(run.output_decimals, typed.observed, ...before.map(one => one.observed)),
	};
	const applied = typed.applied == null ? core.round(point.set, shownInput) : Number(typed.applied), observed = Number(typed.observed);
	const u = core.uncertainty(setup, {
		applied, input: reference(record, 'input'), output: reference(record, 'output'),
		input_decimals: typed.applied == null ? shownInput : core.decimalsOfText(typed.applied), output_decimals: core.decimalsOfText(typed.observed),
	});
	const judged = core.judge(setup, {set: point.set, applied, observed, direction: point.direction, cycle: point.cycle, u});

	return judged ? {
		verdict: judged.verdict, sentence: judged.sentence, applied, observed, error_percent: judged.error_percent,
		shown_error_percent: `${core.format(judged.error_percent, judged.percent_decimals, true)} %`,
	} : null;
}

/**
 * Where a switch acted or went back, by all that is known of its run: the uncertainty is the largest of its readings, and the
 * decimals are those of the finest (server/domain/record_switch.c).
 *
 * @param {Core} core @param {any} record @param {any} run @param {any} point @param {{observed: string}} typed
 * @param {{run?: string, point?: number, observed: string}[]} before
 */
function judgeActuation(core, record, run, point, typed, before) {
	const {tolerance, decision} = setupOf(record, run), {input} = record.instrument, {set_point, reset_point, acts_on, dead_band, reads_reset: back} = run.switch;
	const texts = run.points.slice(0, point.index).map((/** @type {any} */ one) => typedAt(run, one, before)).concat(typed.observed);
	const setup = /** @type {any} */ ({input, output: input, characteristic: {kind: 'linear'}, decision, tolerance});
	const standards = {input: reference(record, 'input'), output: reference(record, 'output'), input_decimals: -1};
	if (texts.some((/** @type {string|null} */ text) => text === null))
		return null;
	const values = texts.map(Number), decimals = texts.map((/** @type {string} */ text) => core.decimalsOfText(text));
	const u = Math.max(...values.map((/** @type {number} */ applied, /** @type {number} */ i) => core.uncertainty(setup, {...standards, applied, output_decimals: decimals[i]})));
	const actuations = values.flatMap((/** @type {number} */ value, /** @type {number} */ i) => back && i % 2 ? [] : [{set: value, reset: back ? values[i + 1] ?? null : null}]);
	const judged = core.judgeActuation({input, set_point, reset_point, acts_on, dead_band, tolerance, decision, u, unit: run.input_unit, decimals: Math.max(run.input_decimals, ...decimals)}, actuations);

	return judged ? {verdict: judged.verdict, sentence: judged.sentence, observed: values[values.length - 1], applied: values[values.length - 1]} : null;
}

/** As typed, with a plain minus; null where nothing was. @param {any} run @param {any} point @param {{run?: string, point?: number, observed: string}[]} before */
function typedAt(run, point, before) {
	const text = point.reading?.shown_observed ?? before.find(one => one.run === run.kind && one.point === point.index)?.observed;

	return text == null ? null : text.replace(` ${run.input_unit}`, '').replace('\u2212', '-');
}
