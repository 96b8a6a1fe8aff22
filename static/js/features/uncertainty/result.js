/* What the server made of a budget: the statement, where it comes from, the simulation beside it, and conformity. */
import {h, s} from '../../lib/dom.js';
import {facts} from '../../lib/facts.js';
import {shown} from '../../lib/format.js';
import {verdict} from '../../lib/mark.js';
import {significant, toDecimals} from '../../lib/significant.js';
import {DISTRIBUTIONS} from './budget.js';

const BAR = {width: 120, height: 14}, SECOND_ORDER = 0.05;

/** @typedef {ReturnType<typeof import('./budget.js').newBudget>} Budget */

const three = (/** @type {number|null} */ value) => shown(significant(value, 3));
const percent = (/** @type {number} */ share, decimals = 2) => shown(`${toDecimals(share * 100, decimals)} %`);

/** A probability near one or nought is not rounded to it. @param {number} p */
function probability(p) {
	const off = Math.min(p, 1 - p);

	if (p > 0 && off < 0.0001)
		return p < 0.5 ? 'less than 0.01 %' : 'more than 99.99 %';
	return percent(p);
}

/** @param {Budget} typed what was asked @param {any} answer @param {any|null} conformity */
export function budgetResult(typed, answer, conformity) {
	return [
		part('Result', statement(typed, answer)),
		part('Where it comes from', contributions(typed, answer)),
		answer.simulation && part('By simulation', simulation(answer)),
		conformity && part('Conformity', conformityPart(typed, conformity, answer)),
	];
}

/** @param {string} title @param {...any} children */
function part(title, ...children) {
	return h('section', {class: 'part'}, h('h2', {}, title), h('div', {}, children));
}

/** Decimals of the reported place; a result without uncertainty has none, and is shown with six. @param {any|null} reported */
function decimalsOf(reported) {
	return reported === null ? 6 : Math.max(0, reported.decimals);
}

/** The value with its U, in powers of ten where decimals would not do. @param {{estimate: number, expanded: number, reported: any|null}} answer */
export function statementText({estimate, expanded, reported}) {
	return shown(reported?.shown ?? `${significant(reported?.estimate ?? estimate, 6)} \u00b1 ${significant(reported?.expanded ?? expanded, 2)}`);
}

/** @param {Budget} typed @param {any} answer */
function statement(typed, {estimate, combined, effective_dof: dof, dof_used: used, coverage, coverage_factor: k, expanded, reported, dominance, combined_second_order: second}) {
	const decimals = decimalsOf(reported) + 1;

	return [
		h('p', {class: 'budget-figure'}, statementText({estimate, expanded, reported}), typed.result && h('span', {class: 'muted'}, typed.result)),
		facts([
			['estimate', shown(toDecimals(estimate, decimals))], ['combined standard uncertainty', three(combined)],
			['effective degrees of freedom', used === null ? 'without end' : [three(dof), h('span', {class: 'muted'}, `, ${used} used`)]],
			['coverage factor k', three(k)], ['expanded uncertainty U', [three(expanded), reported?.shown && h('span', {class: 'muted'}, `, ${shown(toDecimals(reported.expanded, decimalsOf(reported)))} as reported (EA-4/02, 6.3)`)]],
		]),
		h('p', {class: 'prose'}, `The expanded uncertainty is the combined standard uncertainty times k = ${three(k)}, which for ${used === null ? 'a normal distribution' : `a t-distribution with ${used} degrees of freedom`} covers ${percent(coverage)}.`),
		dominance && h('p', {class: 'prose notice'}, `${dominance.components.length === 1 ? `The component ${dominance.components[0]} outweighs` : `The components ${dominance.components.join(' and ')} outweigh`} the rest, so the result is ${dominance.shape}: `,
			h('b', {}, `k = ${three(dominance.coverage_factor)}, ${statementText({...dominance, estimate})}`), ' (EA-4/02, S9 and S10).'),
		second != null && Math.abs(second - combined) > SECOND_ORDER * combined && h('p', {class: 'prose notice'}, `To second order the combined standard uncertainty is ${three(second)}: the expression is not straight over these uncertainties, so a simulation says more.`),
	];
}

/** @param {Budget} typed @param {any} answer */
function contributions(typed, answer) {
	const list = answer.contributions.map((/** @type {any} */ one, /** @type {number} */ i) => ({...one, note: typed.components[i].note})).sort((/** @type {any} */ a, /** @type {any} */ b) => Math.abs(b.share) - Math.abs(a.share));
	/* the whole width is the whole variance; with correlations a share can be more */
	const most = Math.max(...list.map((/** @type {any} */ one) => Math.abs(one.share)), 1);
	const shape = (/** @type {any} */ one) => one.standard === 0 ? 'exact' : DISTRIBUTIONS.find(([value]) => value === one.distribution)?.[1];

	return [
		typed.model.trim() && h('p', {class: 'code expression-text'}, typed.model.trim()),
		h('div', {class: 'table-frame'}, h('table', {class: 'stack budget-table'},
			h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, 'Component'), ['estimate', 'u', 'distribution', 'dof', 'c', 'c\u00b7u'].map(head => h('th', {scope: 'col', class: head === 'distribution' ? '' : 'number'}, head)), h('th', {scope: 'col', class: 'number'}, 'share'), h('th', {}, h('span', {class: 'visually-hidden'}, 'share as a bar')))),
			h('tbody', {}, list.map((/** @type {any} */ one) => h('tr', {},
				h('th', {scope: 'row'}, one.name, one.note && h('span', {class: 'component-note'}, one.note)),
				h('td', {class: 'number', 'data-label': 'estimate'}, shown(String(one.estimate).replace('-', '\u2212'))), h('td', {class: 'number', 'data-label': 'u'}, three(one.standard)),
				h('td', {'data-label': 'distribution'}, shape(one)), h('td', {class: 'number', 'data-label': 'dof'}, one.dof === null ? '\u221e' : shown(one.dof)),
				h('td', {class: 'number', 'data-label': 'c'}, three(one.sensitivity)), h('td', {class: 'number', 'data-label': 'c\u00b7u'}, three(Math.abs(one.contribution))),
				h('td', {class: 'number', 'data-label': 'share'}, percent(one.share, 1)), h('td', {class: 'bar'}, bar(one.share, most))))))),
		typed.correlations.length > 0 && h('p', {class: 'muted'}, 'Correlated: ', typed.correlations.map(({a, b, r}, i) => [i > 0 && ', ', `${nameOf(typed, a)} with ${nameOf(typed, b)}, r = ${r}`]), '. A share takes half of each covariance and can be negative.'),
	];
}

/** @param {Budget} typed @param {number} id */
function nameOf(typed, id) {
	return typed.components.find(part => part.id === id)?.name ?? '';
}

/** Filled for what adds, outlined for what a correlation takes away. @param {number} share @param {number} most */
function bar(share, most) {
	const width = Math.abs(share) / most * (BAR.width - 2);

	return s('svg', {viewBox: `0 0 ${BAR.width} ${BAR.height}`, class: 'share-bar', 'aria-hidden': 'true', preserveAspectRatio: 'none'},
		width > 0.2 && s('rect', {class: share < 0 ? 'share-less' : 'share-more', x: 1, y: 1, width, height: BAR.height - 2}));
}

/** @param {any} answer */
function simulation({estimate, combined, expanded, coverage, reported, simulation: {trials, seed, estimate: mean, standard, symmetric, shortest, validation}}) {
	const at = (/** @type {number} */ value) => shown(toDecimals(value, decimalsOf(reported) + 1)), span = (/** @type {{low: number, high: number}} */ one) => `${at(one.low)} to ${at(one.high)}`;
	const off = Math.max(validation.low_difference, validation.high_difference), heads = ['estimate', 'u', `${shown(toDecimals(coverage * 100, 2))} % lie in`];

	return [
		h('p', {class: 'lead'}, verdict(validation.valid ? 'pass' : 'fail', validation.valid ? 'the budget is borne out' : 'the budget is not borne out')),
		h('p', {class: 'prose'}, `The ends of both intervals differ by ${three(off)}; up to ${three(validation.tolerance)} is taken as equal (JCGM 101, clause 8, ${validation.digits === 1 ? 'one digit' : `${validation.digits} digits`} of u).`,
			!validation.valid && ' Report the interval of the simulation.'),
		h('div', {class: 'table-frame'}, h('table', {class: 'figures stack'}, h('caption', {class: 'visually-hidden'}, 'Budget and simulation'),
			h('thead', {}, h('tr', {}, h('td', {}), heads.map(head => h('th', {scope: 'col', class: 'number'}, head)))),
			h('tbody', {},
				row('budget', heads, [at(estimate), three(combined), span({low: estimate - expanded, high: estimate + expanded})]),
				row('simulation', heads, [at(mean), three(standard), span(symmetric)]),
				row('its shortest', heads, ['', '', span(shortest)])))),
		h('p', {class: 'muted small'}, `${trials.toLocaleString('en').replaceAll(',', '\u00a0')} trials, seed ${seed}.`),
	];
}

/** @param {string} name @param {string[]} heads @param {string[]} cells */
function row(name, heads, cells) {
	return h('tr', {}, h('th', {scope: 'row'}, name), cells.map((text, i) => h('td', {class: 'number', 'data-label': heads[i]}, text)));
}

/** @param {Budget} typed @param {any} answer @param {any} budget */
function conformityPart(typed, answer, {reported, estimate}) {
	const at = (/** @type {number|null} */ value) => shown(toDecimals(value, decimalsOf(reported) + 1));
	const accepted = answer.accepted;
	const as = (/** @type {string} */ text) => text.trim().replace(/^-/, '\u2212');
	const limits = [typed.low.trim() && `from ${as(typed.low)}`, typed.high.trim() && `to ${as(typed.high)}`].filter(Boolean).join(' '), measured = as(typed.measured) || at(reported?.estimate ?? estimate);
	const acceptance = [answer.acceptance_low !== null && `from ${at(answer.acceptance_low)}`, answer.acceptance_high !== null && `to ${at(answer.acceptance_high)}`].filter(Boolean).join(' ');

	return [
		h('p', {class: 'lead'}, verdict(answer.verdict), ` ${measured}, allowed ${limits}`),
		facts([
			['probability of conformity', probability(answer.probability_of_conformity)],
			[accepted ? 'risk that it was accepted wrongly' : 'risk that it was refused wrongly', probability(accepted ? answer.specific_consumer_risk : answer.specific_producer_risk)],
			['accepted', acceptance], ['guard band', answer.guard_band > 0 && at(answer.guard_band)],
			['risk on the acceptance limit', answer.risk_at_acceptance_limit != null && probability(answer.risk_at_acceptance_limit)],
			['of all such values, accepted wrongly', answer.consumer_risk != null && probability(answer.consumer_risk)],
			['of all such values, refused wrongly', answer.producer_risk != null && probability(answer.producer_risk)],
			['tolerance over uncertainty (2U)', answer.tur != null && three(answer.tur)],
			['guard factor for the wanted risk', answer.wanted && (answer.wanted.specific_guard_factor === null ? 'none is enough' : `${three(answer.wanted.specific_guard_factor)} on the acceptance limit`)],
			['over all such values', answer.wanted && typed.prior && (answer.wanted.global_guard_factor === null ? 'none is enough' : three(answer.wanted.global_guard_factor))],
		]),
		h('p', {class: 'muted small'}, 'JCGM 106; the decision rule as in ILAC-G8.'),
	];
}
