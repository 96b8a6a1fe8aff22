/* The document as it is read: an approved version says what it says, without a blank in it. */
import {h} from '../../lib/dom.js';
import {t} from '../../lib/words.js';
import {LIMITS, PATTERNS, toTyped, toleranceWords} from './document.js';

/** @param {any} document as the API has it */
export function documentReading(document) {
	const typed = toTyped(document);

	return h('div', {class: 'document stacked-parts'},
		part('What for', document.purpose && h('p', {class: 'prose'}, document.purpose),
			h('p', {class: 'muted'}, `Written for: ${document.kinds.map((/** @type {string} */ kind) => t(`kind.${kind}`)).join(', ')}.`)),
		document.preparation.length > 0 && part('Prepare and bring', bullets(document.preparation)),
		document.cautions.length > 0 && part('What can hurt', bullets(document.cautions.map((/** @type {any} */ caution) => caution.text))),
		document.needs.length > 0 && part('What is needed', bullets(document.needs.map((/** @type {any} */ need) => `${need.text} (${need.role}${need.optional ? ', the test can be done without it' : ''})`))),
		part('Steps', h('ol', {class: 'document-steps reading'}, typed.steps.map((/** @type {any} */ step) => h('li', {}, h('h3', {}, step.title), step.kind === 'points' ? points(step) : step.kind === 'switch' ? actuations(step) : checks(step))))),
		part('Limits', h('dl', {class: 'facts'}, LIMITS.map(name => [h('dt', {}, t(`run.${name}`)), h('dd', {}, limit(typed.tolerance[name], name, typed))]))),
		part('Judged by', h('p', {}, typed.decision.rule === 'simple' ? 'The limits as they stand.'
			: ['The limits narrowed by a guard band of ', h('b', {}, typed.decision.guard_factor), ' times the expanded uncertainty of the reading.']),
		h('p', {}, document.environment ? 'The surroundings are noted with the test.' : 'The surroundings need not be noted.')),
		document.adjustment && part('Adjustment', h('p', {class: 'prose'}, document.adjustment)));
}

/** @param {any} tolerance @param {string} name @param {any} typed */
function limit(tolerance, name, typed) {
	if (tolerance)
		return h('b', {}, toleranceWords(tolerance, typed));
	return name === 'adjust' ? 'only what is outside the as-found limits' : 'as the as-found limits';
}

/** @param {any} step */
function points(step) {
	const way = PATTERNS.find(([name]) => name === step.pattern)?.[1] ?? step.pattern;

	return [h('p', {}, 'Readings at ', h('b', {}, step.percent), ` % of the input\u2019s span, ${way}, `,
		h('b', {}, step.cycles), step.cycles === '1' ? ' time, settling for ' : ' times over, settling for ', h('b', {}, step.settle_s), ' s at each.'),
	step.error_at === 'set' && h('p', {}, 'The error is taken at the set point, however near the input came.'),
	step.within_signal && h('p', {}, 'Points beyond what a 4\u201320 mA signal can say are drawn in to 3.8 and 20.5 mA (NAMUR NE 43).'),
	step.dead_band?.percent && h('p', {}, 'Then the dead band at ', h('b', {}, step.dead_band.percent), ' % of the input\u2019s span', step.dead_band.limit ? [', at most ', h('b', {}, step.dead_band.limit), ' % of the span.'] : '.')];
}

/** @param {any} step */
function actuations(step) {
	return h('p', {}, 'The input is moved slowly until the switch acts, ', h('b', {}, step.actuations), step.actuations === '1' ? ' time' : ' times', step.settle_s !== '0' && [', with ', h('b', {}, step.settle_s), ' s between'],
		step.reads_reset ? '; where it goes back is read too, and with it the dead band.' : '; where it goes back is not read.', ' Set point, reset point and dead band are the instrument\u2019s.');
}

/** @param {any} step */
function checks(step) {
	return bullets(step.items.map((/** @type {any} */ item) => [item.text, item.apply && h('span', {class: 'muted'}, ` with ${item.apply} % of the input\u2019s span applied`)]));
}

/** @param {any[]} items */
function bullets(items) {
	return h('ul', {class: 'bullets'}, items.map(item => h('li', {}, item)));
}

/** @param {string} title @param {...any} children */
function part(title, ...children) {
	return h('section', {class: 'part'}, h('h2', {}, title), h('div', {}, children));
}
