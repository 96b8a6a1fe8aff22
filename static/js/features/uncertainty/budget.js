/*
 * A budget as it is being written, where every number is the text that was typed, and the documents for the server's uncertainty
 * and conformity. Pure.
 */
import {readNumber} from '../../lib/number.js';
import {typedFigure} from '../../lib/quantity.js';
import {t} from '../../lib/words.js';

/** How a component's figure is known. 'constant' is exact. */
export const GIVEN = /** @type {Array<[string, string]>} */ ([['standard', 'standard u'], ['half_width', 'half-width a'], ['expanded', 'expanded U'], ['constant', 'exact']]);
export const DISTRIBUTIONS = /** @type {Array<[string, string]>} */ ([['normal', 'normal'], ['rectangular', 'rectangular'], ['triangular', 'triangular'], ['u_shaped', 'U-shaped']]);
export const COMPONENTS_MOST = 40;

/** @typedef {{id: number, name: string, note: string, estimate: string, given: string, figure: string, factor: string, distribution: string, dof: string, sensitivity: string}} Component */

/** An empty line. @param {number} id @param {Partial<Component>} [known] @returns {Component} */
export function newComponent(id, known = {}) {
	return {id, name: '', note: '', estimate: '0', given: 'standard', figure: '', factor: '2', distribution: 'normal', dof: '', sensitivity: '1', ...known};
}

/** What a new budget starts from: a reading and its standard, added up. */
export function newBudget() {
	return {
		title: '', result: '', model: '', components: [newComponent(1, {name: 'x', note: 'mean of the repeated readings'}), newComponent(2, {name: 'd_s', note: 'standard, from its certificate', given: 'expanded'})],
		correlations: /** @type {{a: number, b: number, r: string}[]} */ ([]), coverage: '95.45', digits: '2',
		simulate: false, trials: '200000', seed: '1',
		judge: false, measured: '', low: '', high: '', rule: 'simple', guard_factor: '1', prior: false, prior_mean: '', prior_deviation: '', wanted_risk: '',
	};
}

/** A budget from a ready model of the server. @param {any} model @param {string} [sign] the decimal sign */
export function budgetFrom({title, result, model, components, example}, sign) {
	const typed = (/** @type {any} */ value) => typedFigure(value, sign);

	return {...newBudget(), title, result, model, coverage: typed(example.coverage * 100), components: example.components.map((/** @type {any} */ part, /** @type {number} */ i) => {
		const {stands_for: note, given} = components[i];
		return newComponent(i + 1, {name: part.name, note, given, estimate: typed(part.estimate), figure: given === 'constant' ? '' : typed(part[given]), factor: typed(part.coverage_factor ?? 2),
			distribution: part.distribution ?? 'normal', dof: typed(part.dof)});
	})};
}

/** A name that no component has yet: x1, x2, … @param {Component[]} components */
export function freshName(components) {
	let n = components.length + 1;

	while (components.some(other => other.name === `x${n}`))
		n += 1;
	return `x${n}`;
}

/** @param {{pointer: string, sentence: string}[]} faults */
function reader(faults) {
	const number = (/** @type {string} */ text, /** @type {string} */ pointer) => {
		const read = readNumber(text);
		if (read.ok)
			return read.value;
		faults.push({pointer, sentence: t(`number.${read.why}`)});
		return null;
	};

	return {number, optional: (/** @type {string} */ text, /** @type {string} */ pointer) => text.trim() === '' ? undefined : number(text, pointer)};
}

/**
 * The document for compute/uncertainty; faults name what is no number.
 *
 * @param {ReturnType<typeof newBudget>} typed
 * @returns {{document: any, faults: {pointer: string, sentence: string}[]}}
 */
export function uncertaintyDocument(typed) {
	/** @type {{pointer: string, sentence: string}[]} */
	const faults = [], {number, optional} = reader(faults), model = typed.model.trim();
	const percent = number(typed.coverage, '/coverage');
	const nameOf = (/** @type {number} */ id) => typed.components.find(other => other.id === id)?.name.trim() ?? '';

	const document = {
		...(model && {model}),
		components: typed.components.map((part, i) => {
			const at = `/components/${i}`, dof = optional(part.dof, `${at}/dof`);
			return {
				name: part.name.trim(), estimate: number(part.estimate, `${at}/estimate`),
				...(part.given === 'constant' ? {standard: 0} : {[part.given]: number(part.figure, `${at}/${part.given}`), distribution: part.distribution}),
				...(part.given === 'expanded' && {coverage_factor: number(part.factor, `${at}/coverage_factor`)}),
				...(dof !== undefined && part.given !== 'constant' && {dof}),
				...(!model && {sensitivity: number(part.sensitivity, `${at}/sensitivity`)}),
			};
		}),
		...(typed.correlations.length > 0 && {correlations: typed.correlations.map(({a, b, r}, i) => ({a: nameOf(a), b: nameOf(b), r: number(r, `/correlations/${i}/r`)}))}),
		/* the hundredth of a decimal is taken where it still is one */
		coverage: percent === null ? null : Math.round(percent * 1e6) / 1e8,
		digits: Number(typed.digits),
		...(typed.simulate && {simulation: {trials: number(typed.trials, '/simulation/trials'), seed: number(typed.seed, '/simulation/seed')}}),
	};
	return {document, faults};
}

/**
 * The document for compute/conformity: the value measured is the budget's estimate unless another is given.
 *
 * @param {ReturnType<typeof newBudget>} typed @param {{estimate: number, combined: number}} result of the budget
 * @returns {{document: any, faults: {pointer: string, sentence: string}[]}}
 */
export function conformityDocument(typed, {estimate, combined}) {
	/** @type {{pointer: string, sentence: string}[]} */
	const faults = [], {number, optional} = reader(faults);
	const some = (/** @type {string} */ name, /** @type {string} */ text) => {
		const value = optional(text, `/${name}`);
		return value === undefined ? {} : {[name]: value};
	};
	const risk = optional(typed.wanted_risk, '/wanted_risk');

	return {faults, document: {
		measured: optional(typed.measured, '/measured') ?? estimate, standard_uncertainty: combined, ...some('low', typed.low), ...some('high', typed.high), rule: typed.rule,
		...(typed.rule === 'guarded' && {guard_factor: number(typed.guard_factor, '/guard_factor')}),
		...(typed.prior && {prior: {mean: number(typed.prior_mean, '/prior/mean'), standard_deviation: number(typed.prior_deviation, '/prior/standard_deviation')}}),
		...(risk != null && {wanted_risk: Math.round(risk * 1e6) / 1e8}),
	}};
}
