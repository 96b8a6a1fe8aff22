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
 * Null where this tablet cannot say: a switch, whose actuations are judged together, or a setup that gives nothing.
 *
 * @param {Core} core @param {any} record @param {any} run @param {any} point
 * @param {{applied?: string|null, observed: string}} typed plain decimals; without applied the set point
 * @param {{applied?: string|null, observed: string}[]} [before] what is typed and not yet sent, for the decimals it shows
 */
export function judgeTyped(core, record, run, point, typed, before = []) {
	if (run.switch)
		return null;
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
