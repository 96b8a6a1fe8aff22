/*
 * A procedure's document in two shapes: as the API has it, and as it is being written, where every number is the text that was
 * typed and both needs have their place. Pure.
 */
import {readNumber} from '../../lib/number.js';
import {typedFigure} from '../../lib/quantity.js';
import {t} from '../../lib/words.js';

export const ROLES = ['input', 'output'];
export const LIMITS = ['as_found', 'adjust', 'as_left'];
export const TERM_KINDS = /** @type {Array<[string, string]>} */ ([['percent_of_span', '% of span'], ['percent_of_reading', '% of reading'],
	['percent_of_high', '% of the high end'], ['absolute', 'in the output\u2019s unit']]);

export const PATTERNS = /** @type {Array<[string, string]>} */ ([['up_down', 'up and down again'], ['up_all', 'up and down again, the top read both ways'], ['up', 'upwards only'],
	['down', 'downwards only'], ['down_up', 'down and up again']]);
export const ERROR_AT = /** @type {Array<[string, string]>} */ ([['applied', 'the input as it was applied'], ['set', 'the set point, however near the input came']]);
/** Choices of points that have a name; 10 and 90 in place of 0 and 100 keep off the stops of a valve (common practice, no source). */
export const POINT_CHOICES = [
	{name: '3', words: '3 points', percent: '0  50  100'},
	{name: '5', words: '5 points', percent: '0  25  50  75  100'},
	{name: '11', words: '11 points', percent: '0  10  20  30  40  50  60  70  80  90  100'},
	{name: 'ends', words: 'the ends and near them', percent: '0  10  50  90  100'},
	{name: 'inside', words: 'off the stops', percent: '10  50  90'},
];

/** Which choice has these points; 'own' for none. @param {string} percent as typed */
export function choiceOf(percent) {
	const points = splitPoints(percent).map(text => readNumber(text)).map(read => read.ok ? read.value : NaN).join(' ');

	return POINT_CHOICES.find(choice => splitPoints(choice.percent).join(' ') === points)?.name ?? 'own';
}

/** The one step of a procedure that is judged. @param {any} step */
export function isJudged(step) {
	return step.kind !== 'checklist';
}

/** The same step, judged otherwise; what both have stays. @param {any} step as typed @param {string} kind */
export function judgedAs(step, kind) {
	if (kind === 'switch')
		return {kind, title: step.title, actuations: '3', reads_reset: true, settle_s: step.settle_s};
	return {kind, title: step.title, percent: POINT_CHOICES[1].percent, pattern: 'up_down', cycles: '1', settle_s: step.settle_s, within_signal: false, error_at: 'applied', dead_band: {percent: '', limit: ''}};
}

/** The kinds of terms in the words of this document: of a switch everything is in the unit of what goes in. @param {any} typed */
export function termKinds(typed) {
	const isSwitch = typed.steps?.some((/** @type {any} */ step) => step.kind === 'switch');

	return TERM_KINDS.map(([kind, words]) => /** @type {[string, string]} */ ([kind, isSwitch ? words.replace('output', 'input') : words]));
}

/** What a new procedure starts from. */
export const NEW_DOCUMENT = {
	title: '', purpose: '', kinds: ['transmitter'], preparation: [], cautions: [], needs: [{role: 'input', text: '', optional: false}],
	steps: [{kind: 'checklist', title: 'Prove the wiring', items: []}, {kind: 'points', title: 'Points', percent: [0, 25, 50, 75, 100], pattern: 'up_down', cycles: 1, settle_s: 10}],
	tolerance: {as_found: {terms: [{kind: 'percent_of_span', plus: 0.5}], join: 'sum'}, adjust: null, as_left: null},
	decision: {rule: 'simple'}, environment: true, adjustment: '',
};

/** Limits as they are written. @param {any} tolerance as the API has it @param {string} [sign] the decimal sign */
export function toleranceTyped(tolerance, sign) {
	const typed = (/** @type {any} */ value) => typedFigure(value, sign);

	return {join: tolerance.join, terms: tolerance.terms.map((/** @type {any} */ term) =>
		({kind: term.kind, plus: typed(term.plus), minus: term.minus == null || term.minus === term.plus ? null : typed(term.minus)}))};
}

/** The way back. @param {any} tolerance as typed @param {(text: string, pointer: string) => number|null} number reads a text and notes a fault @param {string} pointer */
export function toleranceFromTyped(tolerance, number, pointer) {
	return {join: tolerance.join, terms: tolerance.terms.map((/** @type {any} */ term, /** @type {number} */ i) => ({
		kind: term.kind, plus: number(term.plus, `${pointer}/terms/${i}/plus`),
		...(term.minus !== null && {minus: number(term.minus, `${pointer}/terms/${i}/minus`)})}))};
}

/** @param {any} document @param {string} [sign] the decimal sign @returns {any} */
export function toTyped(document, sign) {
	const typed = (/** @type {any} */ value) => typedFigure(value, sign);

	return {
		title: document.title, purpose: document.purpose, adjustment: document.adjustment, environment: document.environment, kinds: [...document.kinds],
		preparation: [...document.preparation], cautions: document.cautions.map((/** @type {any} */ caution) => ({...caution})),
		needs: Object.fromEntries(ROLES.map(role => {
			const need = document.needs.find((/** @type {any} */ other) => other.role === role);
			return [role, {asked: Boolean(need), text: need?.text ?? '', optional: need?.optional ?? false}];
		})),
		steps: document.steps.map((/** @type {any} */ step) => step.kind === 'points'
			? {...step, percent: step.percent.map(typed).join('  '), cycles: typed(step.cycles), settle_s: typed(step.settle_s), within_signal: step.within_signal ?? false, error_at: step.error_at ?? 'applied',
				dead_band: {percent: (step.dead_band?.percent ?? []).map(typed).join('  '), limit: step.dead_band?.limit == null ? '' : typed(step.dead_band.limit)}}
			: step.kind === 'switch' ? {...step, actuations: typed(step.actuations), settle_s: typed(step.settle_s)}
			: {...step, items: step.items.map((/** @type {any} */ item) => ({...item, apply: typed(item.apply)}))}),
		tolerance: Object.fromEntries(LIMITS.map(name => [name, document.tolerance[name] && toleranceTyped(document.tolerance[name], sign)])),
		decision: {rule: document.decision.rule, guard_factor: typed(document.decision.guard_factor ?? 1)},
	};
}

/** Lines that were emptied are gone. @param {any} typed changed in place */
export function dropEmptyLines(typed) {
	typed.preparation = typed.preparation.filter((/** @type {string} */ text) => text.trim());
	typed.cautions = typed.cautions.filter((/** @type {any} */ caution) => caution.text.trim());
	for (const step of typed.steps)
		if (step.kind === 'checklist')
			step.items = step.items.filter((/** @type {any} */ item) => item.text.trim() || item.apply.trim());
	typed.steps = typed.steps.filter((/** @type {any} */ step) => isJudged(step) || step.items.length);
	return typed;
}

/** Reads typed numbers; what is none is noted as a fault at its place. @param {{pointer: string, sentence: string}[]} faults @param {string} root put before the pointers */
export function numberReader(faults, root) {
	return (/** @type {string} */ text, /** @type {string} */ pointer) => {
		const read = readNumber(text);
		if (read.ok)
			return read.value;
		faults.push({pointer: root + pointer, sentence: t(`number.${read.why}`)});
		return null;
	};
}

/**
 * The document to send. Faults name the member that is no number; its place in the document then holds null.
 *
 * @param {any} typed @returns {{document: any, faults: {pointer: string, sentence: string}[]}}
 */
export function fromTyped(typed) {
	/** @type {{pointer: string, sentence: string}[]} */
	const faults = [];
	const number = numberReader(faults, '/document');

	const document = {
		title: typed.title.trim(), purpose: typed.purpose.trim(), kinds: typed.kinds, preparation: typed.preparation.map((/** @type {string} */ text) => text.trim()),
		cautions: typed.cautions.map((/** @type {any} */ caution) => ({id: caution.id, text: caution.text.trim()})),
		needs: ROLES.filter(role => typed.needs[role].asked).map(role => ({role, text: typed.needs[role].text.trim(), optional: typed.needs[role].optional})),
		steps: typed.steps.map((/** @type {any} */ step, /** @type {number} */ i) => isJudged(step) ? judgedStep(step, i, number, faults) : {
			kind: step.kind, title: step.title.trim(), items: step.items.map((/** @type {any} */ item, /** @type {number} */ k) => ({id: item.id, text: item.text.trim(),
				apply: item.apply.trim() === '' ? null : number(item.apply, `/steps/${i}/items/${k}/apply`)}))}),
		tolerance: Object.fromEntries(LIMITS.map(name => [name, typed.tolerance[name] && toleranceFromTyped(typed.tolerance[name], number, `/tolerance/${name}`)])),
		decision: typed.decision.rule === 'guarded' ? {rule: 'guarded', guard_factor: number(typed.decision.guard_factor, '/decision/guard_factor')} : {rule: 'simple'},
		environment: typed.environment, adjustment: typed.adjustment.trim(),
	};
	return {document, faults};
}

/** @param {any} step @param {number} i @param {(text: string, pointer: string) => number|null} number @param {{pointer: string, sentence: string}[]} faults */
function judgedStep(step, i, number, faults) {
	if (step.kind === 'switch')
		return {kind: 'switch', title: step.title.trim(), actuations: number(step.actuations, `/steps/${i}/actuations`), reads_reset: step.reads_reset, settle_s: number(step.settle_s, `/steps/${i}/settle_s`)};
	const percent = splitPoints(step.percent).map(text => readNumber(text));

	if (percent.some(read => !read.ok) || percent.length === 0)
		faults.push({pointer: `/document/steps/${i}/percent`, sentence: 'Numbers with spaces between them, like 0 25 50 75 100.'});
	return {kind: 'points', title: step.title.trim(), percent: percent.map(read => read.ok ? read.value : null), pattern: step.pattern,
		cycles: number(step.cycles, `/steps/${i}/cycles`), settle_s: number(step.settle_s, `/steps/${i}/settle_s`),
		...(step.within_signal && {within_signal: true}), ...(step.error_at === 'set' && {error_at: 'set'}), ...deadBand(step, i, number, faults)};
}

/** Without places there is none. @param {any} step @param {number} i @param {(text: string, pointer: string) => number|null} number @param {{pointer: string, sentence: string}[]} faults */
function deadBand(step, i, number, faults) {
	const percent = splitPoints(step.dead_band?.percent ?? '').map(text => readNumber(text)), pointer = `/steps/${i}/dead_band`;

	if (percent.length === 0)
		return {};
	if (percent.some(read => !read.ok))
		faults.push({pointer: `/document${pointer}/percent`, sentence: 'Numbers with spaces between them, like 10 50 90.'});
	return {dead_band: {percent: percent.map(read => read.ok ? read.value : null), ...(step.dead_band.limit.trim() && {limit: number(step.dead_band.limit, `${pointer}/limit`)})}};
}

/** '0 12,5 25', '0; 12,5; 25' and '0, 12.5, 25' are three points each: a comma parts them only before a space. @param {string} text */
export function splitPoints(text) {
	return text.split(/[\s;]+|,\s+/).map(part => part.replace(/,$/, '')).filter(Boolean);
}

/** An id that no caution and no check of the document has yet. @param {any} typed @param {'caution'|'check'} stem */
export function freshId(typed, stem) {
	const taken = new Set([...typed.cautions, ...typed.steps.flatMap((/** @type {any} */ step) => step.items ?? [])].map(item => item.id));
	let n = 1;

	while (taken.has(`${stem}-${n}`))
		n += 1;
	return `${stem}-${n}`;
}

/** A tolerance in words: '± 0.5 % of span plus ± 0.1 % of reading'. @param {any} tolerance as typed @param {any} [typed] the document it stands in @returns {string} */
export function toleranceWords(tolerance, typed = {}) {
	const terms = tolerance.terms.map((/** @type {any} */ term) => {
		const kind = termKinds(typed).find(([value]) => value === term.kind)?.[1];
		return `${term.minus === null ? `\u00b1${term.plus}` : `+${term.plus} / \u2212${term.minus}`} ${kind}`;
	});
	const joined = terms.join(tolerance.join === 'sum' ? ' plus ' : ' or ');

	return terms.length > 1 && tolerance.join === 'greatest' ? `${joined}, whichever allows more` : joined;
}
