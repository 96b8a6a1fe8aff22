/*
 * The budget, written: what is measured, its components line by line, which of them go together, and what is asked. It writes into
 * one object (budget.js says its shape), calls changed() at every keystroke, and draws only the part anew whose lines change.
 */
import {choiceBlank, deed, numberBlank, textBlank, tick} from '../../lib/blanks.js';
import {fill, h} from '../../lib/dom.js';
import {COMPONENTS_MOST, DISTRIBUTIONS, GIVEN, freshName, newComponent} from './budget.js';

/** @typedef {ReturnType<typeof import('./budget.js').newBudget>} Budget */
/** @typedef {{typed: Budget, changed: () => void, redraw: (focus?: string) => void, redrawAll: (focus?: string) => void}} Writing */

/** @param {Budget} typed @param {() => void} changed @returns {HTMLElement} */
export function budgetEditor(typed, changed) {
	const place = h('div', {class: 'budget stacked-parts no-print'});
	/** @type {Array<() => void>} */
	const draws = [];
	const focusOn = (/** @type {string|undefined} */ key) => key && /** @type {HTMLElement|null} */ (place.querySelector(`[data-key="${CSS.escape(key)}"]`))?.focus();
	const redrawAll = (/** @type {string|undefined} */ focus) => {
		draws.forEach(draw => draw());
		focusOn(focus);
	};
	const part = (/** @type {string} */ title, /** @type {(writing: Writing) => any} */ build) => {
		const holder = h('div', {}), draw = () => { fill(holder, build({typed, changed, redraw, redrawAll})); };
		const redraw = (/** @type {string|undefined} */ focus) => {
			draw();
			focusOn(focus);
		};
		draws.push(draw);
		draw();
		return h('section', {class: 'part'}, h('h2', {}, title), holder);
	};

	fill(place, part('What is measured', measuredEditor), part('Components', componentsEditor), part('Going together', correlationsEditor), part('What is asked', askedEditor), part('Conformity', conformityEditor));
	return place;
}

/** @param {any} object @param {string} name @param {() => void} changed */
function set(object, name, changed) {
	return (/** @type {any} */ value) => {
		object[name] = value;
		changed();
	};
}

/** @param {Writing} writing */
function measuredEditor({typed, changed, redrawAll}) {
	let summed = typed.model.trim() === '';

	return [
		textBlank({label: 'Title', named: true, pointer: '/title', value: typed.title, most: 120, write: set(typed, 'title', changed)}),
		textBlank({label: 'Result, with its unit', named: true, pointer: '/result', value: typed.result, most: 80, write: set(typed, 'result', changed)}),
		h('div', {class: 'expression'}, textBlank({label: 'Expression in the names of the components; empty for their sum', named: true, pointer: '/model', key: '/model', value: typed.model, most: 500, write: text => {
			typed.model = text;
			changed();
			/* sensitivities are asked only where no expression says them */
			if (summed !== (text.trim() === '')) {
				summed = !summed;
				redrawAll('/model');
			}
		}})),
		h('p', {class: 'muted small prose'}, 'With + \u2212 * / ^ ( ), sqrt, exp, ln, log10, abs, sin, cos, tan, asin, acos, atan, min, max and pi; a point as the decimal sign.'),
	];
}

/** @param {Writing} writing */
function componentsEditor(writing) {
	const {typed, changed, redrawAll} = writing, add = () => {
		typed.components.push(newComponent(Math.max(0, ...typed.components.map(part => part.id)) + 1, {name: freshName(typed.components)}));
		changed();
		redrawAll(`/components/${typed.components.length - 1}/name`);
	};

	return [
		h('ol', {class: typed.model.trim() ? 'components' : 'components summed'}, typed.components.map((part, i) => componentLine(part, i, writing))),
		typed.components.length < COMPONENTS_MOST && deed('Add a component', 'to the budget', add, 'add-component'),
	];
}

/** @param {import('./budget.js').Component} part @param {number} i @param {Writing} writing */
function componentLine(part, i, {typed, changed, redraw, redrawAll}) {
	const at = `/components/${i}`, who = part.name || `component ${i + 1}`;
	const cell = (/** @type {string} */ css, /** @type {string} */ word, /** @type {HTMLElement|null} */ blank) => h('div', {class: `cell ${css}`}, h('span', {class: 'cell-word muted small', 'aria-hidden': 'true'}, word), blank);
	const figure = (/** @type {string} */ name, /** @type {string} */ member, /** @type {string} */ label) => numberBlank({label: `${label} of ${who}`, pointer: `${at}/${member}`, key: `${at}/${name}`, value: /** @type {any} */ (part)[name], write: set(part, name, changed)});
	const exact = part.given === 'constant';

	return h('li', {class: 'component', 'data-pointer': at},
		cell('name-cell', 'name', textBlank({label: `Name of component ${i + 1}`, pointer: `${at}/name`, value: part.name, most: 60, write: set(part, 'name', changed)})),
		cell('', 'estimate', figure('estimate', 'estimate', 'Estimate')),
		cell('given-cell', 'uncertain by', choiceBlank({label: `How the uncertainty of ${who} is given`, pointer: `${at}/given`, value: part.given, options: GIVEN, write: value => {
			part.given = value;
			if (value === 'half_width' && part.distribution === 'normal')
				part.distribution = 'rectangular';
			if (value === 'standard' || value === 'expanded')
				part.distribution = 'normal';
			changed();
			redraw(`${at}/given`);
		}})),
		cell('', 'figure', exact ? null : figure('figure', part.given, GIVEN.find(([value]) => value === part.given)?.[1] ?? '')),
		cell('short-cell', 'k', part.given === 'expanded' ? figure('factor', 'coverage_factor', 'Coverage factor') : null),
		cell('shape-cell', 'distribution', exact ? null : choiceBlank({label: `Distribution of ${who}`, pointer: `${at}/distribution`, value: part.distribution, options: DISTRIBUTIONS, write: set(part, 'distribution', changed)})),
		cell('short-cell', 'dof', exact ? null : figure('dof', 'dof', 'Degrees of freedom, empty for well known,')),
		!typed.model.trim() && cell('short-cell', 'c', figure('sensitivity', 'sensitivity', 'Sensitivity')),
		h('div', {class: 'note-cell'}, textBlank({label: `What ${who} stands for`, pointer: `${at}/note`, value: part.note, most: 160, write: set(part, 'note', changed)}),
			typed.components.length > 1 && deed('Remove', who, () => {
				typed.components.splice(i, 1);
				typed.correlations = typed.correlations.filter(({a, b}) => a !== part.id && b !== part.id);
				changed();
				redrawAll(`/components/${Math.max(0, i - 1)}/name`);
			})));
}

/** @param {Writing} writing */
function correlationsEditor({typed, changed, redraw}) {
	const names = () => typed.components.filter(part => part.given !== 'constant').map(part => /** @type {[string, string]} */ ([String(part.id), part.name || `component ${typed.components.indexOf(part) + 1}`]));
	const options = names();

	return [
		typed.correlations.length === 0 && h('p', {class: 'muted'}, 'All components are taken as independent.'),
		typed.correlations.map((pair, i) => {
			const at = `/correlations/${i}`;
			return h('p', {class: 'sentence'},
				choiceBlank({label: `Correlation ${i + 1}: one component`, pointer: `${at}/a`, value: String(pair.a), options, write: value => set(pair, 'a', changed)(Number(value))}), 'and',
				choiceBlank({label: `Correlation ${i + 1}: the other`, pointer: `${at}/b`, value: String(pair.b), options, write: value => set(pair, 'b', changed)(Number(value))}), 'by r =',
				numberBlank({label: `Correlation ${i + 1}: coefficient, \u22121 to 1`, pointer: `${at}/r`, value: pair.r, write: set(pair, 'r', changed)}),
				deed('Remove', `correlation ${i + 1}`, () => {
					typed.correlations.splice(i, 1);
					changed();
					redraw('add-correlation');
				}));
		}),
		options.length > 1 && deed('Add a correlation', 'between two components', () => {
			typed.correlations.push({a: Number(options[0][0]), b: Number(options[1][0]), r: ''});
			changed();
			redraw(`/correlations/${typed.correlations.length - 1}/r`);
		}, 'add-correlation'),
		h('span', {class: 'correlations-fault', 'data-pointer': '/correlations'}, h('span', {class: 'field-error', hidden: true})),
	];
}

/** @param {Writing} writing */
function askedEditor({typed, changed, redraw}) {
	return [
		h('p', {class: 'sentence'}, 'Coverage probability', numberBlank({label: 'Coverage probability, in %', pointer: '/coverage', value: typed.coverage, write: set(typed, 'coverage', changed)}), '%, U given to',
			choiceBlank({label: 'Digits of the expanded uncertainty', pointer: '/digits', value: typed.digits, options: [['1', 'one digit'], ['2', 'two digits']], write: set(typed, 'digits', changed)})),
		tick({label: 'also by simulation, drawing every component', key: 'simulate', value: typed.simulate, write: on => {
			typed.simulate = on;
			changed();
			redraw('simulate');
		}}),
		typed.simulate && h('p', {class: 'sentence'}, numberBlank({label: 'Trials of the simulation', pointer: '/simulation/trials', value: typed.trials, write: set(typed, 'trials', changed)}), 'trials, begun with seed',
			numberBlank({label: 'Seed of the simulation', pointer: '/simulation/seed', value: typed.seed, write: set(typed, 'seed', changed)}), h('span', {class: 'muted'}, '(the same seed gives the same answer)')),
	];
}

/** @param {Writing} writing */
function conformityEditor({typed, changed, redraw}) {
	const again = (/** @type {string} */ name, /** @type {string} */ focus) => (/** @type {any} */ value) => {
		set(typed, name, changed)(value);
		redraw(focus);
	};

	return [
		tick({label: 'judge a measured value by this uncertainty', key: 'judge', value: typed.judge, write: again('judge', 'judge')}),
		typed.judge && [
			h('p', {class: 'sentence'}, 'Measured', numberBlank({label: 'Measured value; empty for the estimate of the budget', pointer: '/measured', value: typed.measured, write: set(typed, 'measured', changed)}),
				h('span', {class: 'muted'}, '(empty: the estimate)'), 'allowed from', numberBlank({label: 'Low limit; empty for none', pointer: '/low', value: typed.low, write: set(typed, 'low', changed)}),
				'to', numberBlank({label: 'High limit; empty for none', pointer: '/high', value: typed.high, write: set(typed, 'high', changed)})),
			h('p', {class: 'sentence'}, 'Judged by', choiceBlank({label: 'Decision rule', pointer: '/rule', key: '/rule', value: typed.rule, options: [['simple', 'the limits as they stand'], ['guarded', 'limits narrowed by a guard band']], write: again('rule', '/rule')}),
				typed.rule === 'guarded' && ['of', numberBlank({label: 'Guard factor', pointer: '/guard_factor', value: typed.guard_factor, write: set(typed, 'guard_factor', changed)}), 'times U at k = 2']),
			h('p', {class: 'sentence'}, 'A risk of a wrong acceptance of at most', numberBlank({label: 'Wanted risk, in %; empty when none is asked for', pointer: '/wanted_risk', value: typed.wanted_risk, write: set(typed, 'wanted_risk', changed)}), '% is wanted', h('span', {class: 'muted'}, '(empty: not asked)')),
			tick({label: 'it is known beforehand how such values spread', key: 'prior', value: typed.prior, write: again('prior', 'prior')}),
			typed.prior && h('p', {class: 'sentence'}, 'about', numberBlank({label: 'Mean of such values', pointer: '/prior/mean', value: typed.prior_mean, write: set(typed, 'prior_mean', changed)}), 'with a standard deviation of',
				numberBlank({label: 'Standard deviation of such values', pointer: '/prior/standard_deviation', value: typed.prior_deviation, write: set(typed, 'prior_deviation', changed)})),
		],
	];
}
