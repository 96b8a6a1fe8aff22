/*
 * The server's own arithmetic in the browser: metrology.wasm is compiled from the sources that judge on the server and make
 * the certificate, so a verdict or a rounded number never differs between them (server/metrology/wasm/exchange.h).
 *
 *   const core = await loadMetrology();
 *   core.evaluate({input: {low: 0, high: 100}, output: {low: 4, high: 20}, characteristic: {kind: 'linear'}, tolerance, decision},
 *   	[{set: 50, observed: 12.05, direction: 'rising'}]).readings[0].verdict
 *
 * Ranges, characteristics, tolerances and decision rules have the form in which the API gives them. A missing number is null
 * here and NaN in the core.
 */

const VERSION = 3;

/** In the order of the enums of include/metrology; tests/wasm holds both together. */
export const WORDS = {
	characteristic: ['linear', 'square_root', 'rtd', 'thermocouple', 'callendar_van_dusen', 'equal_percentage', 'table', 'polynomial'],
	thermocouple: ['K', 'B', 'E', 'J', 'N', 'R', 'S', 'T'],
	interpolation: ['linear', 'monotone_cubic'],
	tolerance: ['absolute', 'percent_of_span', 'percent_of_reading', 'percent_of_high'],
	join: ['sum', 'greatest'],
	decision: ['simple', 'guarded'],
	verdict: ['pass', 'conditional_pass', 'conditional_fail', 'fail', 'not_judged'],
	direction: ['rising', 'falling'],
	errorAt: ['applied', 'set'],
	cause: ['zero', 'span', 'curvature', 'hysteresis', 'scatter'],
	line: ['independent', 'terminal', 'zero', 'least_squares'],
	pattern: ['up', 'up_down', 'down', 'down_up', 'up_all'],
	choice: ['3', '5', '11', '0_10_50_90_100', '10_50_90'],
	signal: ['measures', 'between', 'fails_low', 'fails_high'],
};

/** @typedef {{low: number, high: number}} Range */
/** @typedef {{input: Range, output: Range, characteristic: any, tolerance?: any, decision?: any, error_at?: string, adjust?: any, left?: any,
 *   input_unit?: string, output_unit?: string, input_decimals?: number, output_decimals?: number}} Setup */
/** @typedef {{input: Range, set_point: number, reset_point?: number|null, acts_on: string, tolerance?: any, dead_band?: {low?: number|null, high?: number|null}|null, decision?: any, u?: number}} SwitchSpec */
/** @typedef {{set: number, applied?: number|null, observed: number|null, direction?: string, cycle?: number, u?: number}} Reading */

/**
 * @param {Promise<Response>|BufferSource} [source] the module
 * @returns {Promise<ReturnType<typeof coreOf>>}
 */
export async function loadMetrology(source = fetch('/metrology.wasm')) {
	const {instance} = source instanceof Promise ? await WebAssembly.instantiateStreaming(source) : await WebAssembly.instantiate(source);
	const exported = /** @type {any} */ (instance.exports);

	if (exported.core_version() !== VERSION)
		throw new Error(`metrology.wasm is of version ${exported.core_version()}, these pages are written for ${VERSION}`);
	return coreOf(exported);
}

const SWITCH_VERDICTS = ['set_verdict', 'reset_verdict', 'dead_band_verdict'];

/** Numbers of a missing value. @param {number|null|undefined} value */
const numberOf = value => value ?? NaN;

/** @param {string[]} words @param {string} word */
function placeOf(words, word) {
	const at = words.indexOf(word);

	if (at < 0)
		throw new RangeError(`${word} is none of ${words.join(', ')}`);
	return at;
}

/* ---- the API's forms and the core's structs ---- */

/** @param {any} c */
function characteristicStruct(c) {
	const points = c.points ?? [], coefficients = c.coefficients ?? [];

	return {
		kind: placeOf(WORDS.characteristic, c.kind), r0: c.r0 ?? 0, type: placeOf(WORDS.thermocouple, c.type ?? 'K'), a: c.a ?? 0, b: c.b ?? 0, c: c.c ?? 0,
		cutoff: c.cutoff ?? 0, rangeability: c.rangeability ?? 0, linear_below: c.linear_below ?? 0,
		interpolation: placeOf(WORDS.interpolation, c.interpolation ?? 'linear'),
		n_points: points.length, x: points.map((/** @type {any} */ p) => p[0]), y: points.map((/** @type {any} */ p) => p[1]),
		n_coefficients: coefficients.length, coefficient: coefficients, validity: c.validity ?? {low: 0, high: 0},
	};
}

/** No limits without a tolerance. @param {any} t */
function toleranceStruct(t) {
	const terms = t?.terms ?? [];

	return {
		n_terms: terms.length, join: placeOf(WORDS.join, t?.join ?? 'sum'),
		terms: terms.map((/** @type {any} */ term) => ({kind: placeOf(WORDS.tolerance, term.kind), plus: term.plus, minus: term.minus ?? term.plus})),
	};
}

/** @param {any} d */
function decisionStruct(d) {
	return {kind: placeOf(WORDS.decision, d?.rule ?? 'simple'), guard_factor: d?.guard_factor ?? 1};
}

/** @param {Setup} s */
function setupStruct(s) {
	return {
		input: s.input, output: s.output, characteristic: characteristicStruct(s.characteristic), tolerance: toleranceStruct(s.tolerance),
		decision: decisionStruct(s.decision), error_at: placeOf(WORDS.errorAt, s.error_at ?? 'applied'),
	};
}

/** @param {Reading} r */
function readingStruct(r) {
	return {
		set: r.set, applied: numberOf(r.applied), observed: numberOf(r.observed), direction: placeOf(WORDS.direction, r.direction ?? 'rising'),
		cycle: r.cycle ?? 1, u: r.u ?? 0,
	};
}

/** A struct's numbered words spelt out. @param {any} struct @param {string[]} names of its members that are verdicts */
function withVerdicts(struct, names = ['verdict']) {
	return {...struct, ...Object.fromEntries(names.map(name => [name, WORDS.verdict[struct[name]]]))};
}

/** A list of the core under the names of its places. @param {string[]} names @param {any[]} list */
function named(names, list) {
	return Object.fromEntries(names.map((name, i) => [name, list[i]]));
}

/** @param {any} d */
function diagnosisOf(d) {
	return {
		...d, share: named(WORDS.cause, d.share), size: named(WORDS.cause, d.size), p_value: named(WORDS.cause, d.p_value),
		significant: named(WORDS.cause, d.significant), order: d.order.map((/** @type {number} */ cause) => WORDS.cause[cause]),
	};
}

/* ---- the exchange ---- */

const BYTES = /** @type {Record<string, number>} */ ({double: 8, int: 4, bool: 1, char: 1});

/** @typedef {{name: string, type: string, offset: number, count: number}} Field count 1: no list */
/** @typedef {Map<string, {size: number, fields: Field[]}>} Layout */

/** What the module says of where things lie. @param {any} exported @returns {Layout} */
export function layoutOf(exported) {
	const view = new DataView(exported.memory.buffer), bytes = new Uint8Array(exported.memory.buffer);
	const layout = new Map();
	const text = (/** @type {number} */ at) => new TextDecoder().decode(bytes.subarray(at, bytes.indexOf(0, at)));

	for (let at = exported.core_layout(); view.getUint32(at, true); at += 20) {
		const [of, name, type, offset, count] = [0, 4, 8, 12, 16].map(part => view.getUint32(at + part, true));
		const struct = layout.get(text(of)) ?? {size: 0, fields: []};

		layout.set(text(of), struct);
		if (count)
			struct.fields.push({name: text(name), type: text(type), offset, count});
		else
			struct.size = offset;
	}
	return layout;
}

/** Reads and writes structs in the module's memory. @param {any} exported */
function exchangeOf(exported) {
	const layout = layoutOf(exported), base = exported.core_exchange();
	const view = new DataView(exported.memory.buffer), bytes = new Uint8Array(exported.memory.buffer);
	const sizeOf = (/** @type {string} */ type) => BYTES[type] ?? layout.get(type)?.size ?? 0;

	/** @param {string} type @param {number} at @returns {any} */
	function get(type, at) {
		if (type === 'double')
			return view.getFloat64(at, true);
		if (type === 'int')
			return view.getInt32(at, true);
		if (type === 'bool')
			return bytes[at] !== 0;
		return Object.fromEntries((layout.get(type)?.fields ?? []).map(field => [field.name, getField(field, at, field.count)]));
	}

	/** @param {Field} field @param {number} at of its struct @param {number} n how many of a list */
	function getField(field, at, n) {
		if (field.type === 'char')
			return new TextDecoder().decode(bytes.subarray(at + field.offset, bytes.indexOf(0, at + field.offset)));
		if (field.count === 1)
			return get(field.type, at + field.offset);
		return Array.from({length: n}, (_, i) => get(field.type, at + field.offset + i * sizeOf(field.type)));
	}

	/** @param {string} type @param {number} at @param {any} value */
	function put(type, at, value) {
		if (type === 'double')
			view.setFloat64(at, value, true);
		else if (type === 'int')
			view.setInt32(at, value, true);
		else if (type === 'bool')
			bytes[at] = value ? 1 : 0;
		else
			for (const field of layout.get(type)?.fields ?? [])
				if (value[field.name] !== undefined)
					putField(field, at, value[field.name]);
	}

	/** @param {Field} field @param {number} at of its struct @param {any} value */
	function putField(field, at, value) {
		if (field.type === 'char')
			return putText(at + field.offset, String(value), field.count);
		if (field.count === 1)
			return put(field.type, at + field.offset, value);
		if (value.length > field.count)
			throw new RangeError(`${field.name} holds ${field.count} at most`);
		value.forEach((/** @type {any} */ one, /** @type {number} */ i) => put(field.type, at + field.offset + i * sizeOf(field.type), one));
	}

	/** @param {number} at @param {string} text @param {number} size */
	function putText(at, text, size) {
		const {written = 0} = new TextEncoder().encodeInto(text, bytes.subarray(at, at + size - 1));

		bytes[at + written] = 0;
	}

	const fields = new Map((layout.get('exchange')?.fields ?? []).map(field => [field.name, field]));
	const fieldOf = (/** @type {string} */ name) => /** @type {Field} */ (fields.get(name));
	return {
		/** A member; of a list the first n. @param {string} name @param {number} [n] @returns {any} */
		read: (name, n) => getField(fieldOf(name), base, n ?? fieldOf(name).count),
		/** @param {string} name @param {any} value */
		write: (name, value) => putField(fieldOf(name), base, value),
	};
}

/* ---- what it offers ---- */

/** @param {any} exported */
function coreOf(exported) {
	const {read, write} = exchangeOf(exported);

	/** @param {Setup} setup */
	function writeSetup(setup) {
		write('setup', setupStruct(setup));
	}

	/** A function of the core about one setup. @template T @param {(...given: any[]) => T} ask @returns {(setup: Setup, ...given: any[]) => T} */
	function about(ask) {
		return (setup, ...given) => {
			writeSetup(setup);
			return ask(...given);
		};
	}

	/** @param {() => void} call @param {string} [name] */
	function answer(call, name = 'text') {
		call();
		return read(name);
	}

	/** Units and decimals for sentences. @param {Setup} setup */
	function writeManner(setup) {
		for (const name of /** @type {const} */ (['input_unit', 'output_unit', 'input_decimals', 'output_decimals']))
			write(name, setup[name] ?? (name.endsWith('unit') ? '' : 0));
	}

	/** @param {Setup} setup @param {any} one as judged @param {number} i its place */
	function judgedReading(setup, one, i) {
		return {
			...withVerdicts(one), error_decimals: exported.core_judged_error_decimals(i, exported.core_error_decimals(setup.output_decimals ?? 0)),
			percent_decimals: exported.core_judged_percent_decimals(i, exported.core_percent_decimals()), sentence: answer(() => exported.core_reading_sentence(i)),
		};
	}

	/** @param {SwitchSpec} spec @param {{set: number, reset?: number|null}[]} actuations */
	function judgedSwitch(spec, actuations) {
		write('spec', {
			input: spec.input, set_point: spec.set_point, reset_point: numberOf(spec.reset_point), acts_on: placeOf(WORDS.direction, spec.acts_on),
			tolerance: toleranceStruct(spec.tolerance), dead_band: {low: numberOf(spec.dead_band?.low), high: numberOf(spec.dead_band?.high)},
			decision: decisionStruct(spec.decision), u: spec.u ?? 0,
		});
		write('actuations', actuations.map(one => ({set: one.set, reset: numberOf(one.reset)})));
		return exported.core_switch(actuations.length) ? read('judged_actuations', actuations.length).map((/** @type {any} */ one) => withVerdicts(one, SWITCH_VERDICTS)) : null;
	}

	return {
		/** The module's own functions and memory. */
		exported,

		/**
		 * Error, limits and verdict of one reading, in words and with the decimals to show them with; null when the setup is impossible.
		 *
		 * @param {Setup} setup @param {Reading} reading
		 */
		judge(setup, reading) {
			writeSetup(setup);
			writeManner(setup);
			write('readings', [readingStruct(reading)]);
			return exported.core_judge_reading() ? judgedReading(setup, read('judged', 1)[0], 0) : null;
		},

		/**
		 * Of the whole core, which no page loads: the same of each reading, and what they say together; null when the setup is impossible.
		 *
		 * @param {Setup} setup @param {Reading[]} readings
		 */
		evaluate(setup, readings) {
			const n = readings.length;

			writeSetup(setup);
			write('adjust', toleranceStruct(setup.adjust));
			write('left', toleranceStruct(setup.left));
			writeManner(setup);
			write('readings', readings.map(readingStruct));
			if (!exported.core_evaluate(n))
				return null;
			const sum = read('sum');
			return {
				readings: read('judged', n).map((/** @type {any} */ one, /** @type {number} */ i) => judgedReading(setup, one, i)),
				summary: {...withVerdicts(sum), linearity: named(WORDS.line, sum.linearity)},
				diagnosis: diagnosisOf(read('diagnosis')),
				sentence: read('sentence'), advice: read('advice'),
				points: read('summaries', read('n_summaries')),
			};
		},

		/** Limits of the error. */
		limits: about((/** @type {number} */ expected) => answer(() => exported.core_limits(expected), 'limits')),
		/** Decimals of errors: in the output's unit, and in % of span. */
		errorDecimals: about((/** @type {number} */ outputDecimals) => exported.core_error_decimals(outputDecimals)),
		percentDecimals: about(() => exported.core_percent_decimals()),
		forward: about((/** @type {number} */ value) => exported.core_forward(value)),
		inverse: about((/** @type {number} */ value) => exported.core_inverse(value)),
		slope: about((/** @type {number} */ value) => exported.core_slope(value)),
		domain: about(() => answer(() => exported.core_domain(), 'range')),
		image: about(() => answer(() => exported.core_image(), 'range')),
		/** What is wrong with a characteristic, or null. */
		fault: about(() => exported.core_fault() ? read('text') : null),
		characteristicText: about(() => answer(() => exported.core_characteristic_text())),
		/** Inputs whose 4-20 mA signal measures (NE 43). */
		reach: about((/** @type {boolean} */ inputMa, /** @type {boolean} */ outputMa) => answer(() => exported.core_reach(inputMa, outputMa), 'range')),

		/**
		 * Standard uncertainty of a reading's error; decimals as typed.
		 *
		 * @param {Setup} setup @param {{applied: number, input?: {expanded: number, coverage_factor: number}|null, output?: {expanded: number, coverage_factor: number}|null,
		 *   input_decimals: number, output_decimals: number}} reading
		 */
		uncertainty(setup, {applied, input, output, input_decimals, output_decimals}) {
			writeSetup(setup);
			write('input_reference', input ?? {expanded: 0, coverage_factor: 2});
			write('output_reference', output ?? {expanded: 0, coverage_factor: 2});
			return exported.core_uncertainty(applied, input_decimals, output_decimals);
		},

		/** As text, rounded once. @param {number} value @param {number} decimals @param {boolean} [plus] */
		format: (value, decimals, plus = false) => answer(() => exported.core_format(value, decimals, plus)),
		/** @param {number} value @param {number} decimals @returns {number} */
		round: (value, decimals) => exported.core_round(value, decimals),
		/** @param {number} step @returns {number} */
		decimalsFor: step => exported.core_decimals_for(step),
		/** -1 when it is no plain decimal number. @param {string} text @returns {number} */
		decimalsOfText(text) {
			write('text', text);
			return exported.core_decimals_of_text();
		},
		/** NaN when a unit is unknown or the two do not measure the same. @param {number} value @param {string} from @param {string} to @param {{difference?: boolean}} [how] @returns {number} */
		convert(value, from, to, {difference = false} = {}) {
			write('from', from);
			write('to', to);
			return exported.core_convert(value, difference);
		},
		/** The points of a run, in order. @param {{percent: number[], pattern: string, cycles?: number, input: Range}} spec */
		points({percent, pattern, cycles = 1, input}) {
			write('setup', {input});
			write('percent', percent);
			const n = exported.core_points(percent.length, placeOf(WORDS.pattern, pattern), cycles);
			return read('points', n).map((/** @type {any} */ point) => ({...point, direction: WORDS.direction[point.direction]}));
		},
		/** @param {number} n @returns {number[]} */
		evenPercent: n => read('percent', exported.core_points_even(n)),
		/** @param {string} choice @returns {number[]} */
		chosenPercent: choice => read('percent', exported.core_points_chosen(placeOf(WORDS.choice, choice))),
		/** What a 4-20 mA signal says (NE 43). @param {number} ma */
		signal: ma => WORDS.signal[exported.core_signal_state(ma)],

		/**
		 * @param {SwitchSpec} spec
		 * @param {{set: number, reset?: number|null}[]} actuations
		 */
		evaluateSwitch(spec, actuations) {
			const judged = judgedSwitch(spec, actuations);
			return judged && {actuations: judged, summary: withVerdicts(read('switch_sum'), ['verdict', ...SWITCH_VERDICTS])};
		},
		/**
		 * The last actuation in words, where it acted or went back, with the verdict on that; null when the switch cannot be judged.
		 *
		 * @param {SwitchSpec & {unit: string, decimals: number}} spec @param {{set: number, reset?: number|null}[]} actuations
		 */
		judgeActuation(spec, actuations) {
			const judged = judgedSwitch(spec, actuations), i = actuations.length - 1;
			if (!judged)
				return null;
			const back = actuations[i].reset != null, decimals = exported.core_switch_decimals(actuations.length, spec.decimals);
			write('input_unit', spec.unit);
			return {
				...judged[i], verdict: back ? WORDS.verdict[exported.core_switch_back_verdict(i)] : judged[i].set_verdict, error_decimals: decimals,
				sentence: answer(() => exported.core_switch_sentence(i, back, spec.decimals, decimals)),
			};
		},
	};
}
