/* What a run says: the one sentence, what the error is made of, what to do, and the figures. */
import {h, s} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';
import {verdict} from '../../lib/mark.js';
import {t} from '../../lib/words.js';

const FIGURES = [
	['max_error', 'largest error'],
	['max_error_plus', 'largest error above'],
	['max_error_minus', 'largest error below'],
	['zero_error', 'zero error'],
	['span_error', 'span error'],
	['hysteresis', 'hysteresis'],
	['hysteresis_cycle', 'hysteresis within one cycle'],
	['repeatability', 'repeatability'],
	['linearity.independent', 'linearity, independent'],
	['linearity.terminal', 'linearity, terminal based'],
	['linearity.zero', 'linearity, zero based'],
	['linearity.least_squares', 'linearity, least squares'],
];

/** @param {any} run a run with a summary @param {{told?: boolean}} [how] told: the sentences stand above it already */
export function outcome(run, {told = false} = {}) {
	const parts = shares(run.summary.diagnosis, run.summary.adjustment.needed), name = run.kind === 'as_found' ? 'as-found' : 'as-left';

	return h('section', {class: 'part outcome'}, h('h2', {}, told ? `The ${name} run in figures` : `What the ${name} run says`), h('div', {},
		(!told || parts) && h('div', {class: 'outcome-said'}, !told && [verdictOf(run), said(run.summary)], parts),
		h('div', {class: 'stacked'}, figures(run), averages(run))));
}

/** Point by point over the cycles, where there were several. @param {any} run */
function averages(run) {
	const heads = [`at, ${run.input_unit}`, 'rising', 'falling', 'mean', 'hysteresis', 'repeatability'];
	const members = ['shown_rising', 'shown_falling', 'shown_mean', 'shown_hysteresis', 'shown_repeatability'];
	const bare = (/** @type {string|null} */ text) => shown(text?.replace(/ %$/, '') ?? '\u2013');

	return run.averages?.length > 0 && h('div', {class: 'table-frame', tabindex: 0, role: 'region', 'aria-label': `Averages of the ${t(`run.${run.kind}`)} run`}, h('table', {class: 'averages'},
		h('caption', {class: 'muted small'}, 'Averages over the cycles, % of span'),
		h('thead', {}, h('tr', {}, heads.map(head => h('th', {scope: 'col', class: 'number'}, head)))),
		h('tbody', {}, run.averages.map((/** @type {any} */ one) => h('tr', {}, h('th', {scope: 'row', class: 'number'}, shown(one.shown_set.replace(` ${run.input_unit}`, ''))),
			members.map(member => h('td', {class: 'number'}, bare(one[member]))))))));
}

/** What is wrong and what to do; where nothing is to be done that comes first, and what remains stands quietly below. @param {any} summary */
export function said({verdict: word, sentence, adjustment}) {
	const quiet = !adjustment.needed && (word === 'pass' || word === 'conditional_pass');

	return [h('p', {class: 'lead'}, shown(quiet ? adjustment.sentence : sentence)), h('p', {class: quiet ? 'prose muted' : 'prose'}, shown(quiet ? sentence : adjustment.sentence))];
}

/** @param {any} run */
export function verdictOf(run) {
	const {summary} = run;

	return h('p', {class: 'verdict-line'}, verdict(summary.verdict, `${capital(t(`run.${run.kind}`))}: ${t(`verdict.${summary.verdict}`)}`),
		h('span', {class: 'muted'}, [summary.failed ? `${summary.failed} of ${summary.judged} readings outside` : `all ${summary.judged} readings${run.dead_band?.verdict === 'fail' ? ' inside' : ''}`,
			run.dead_band?.verdict === 'fail' && 'dead band outside'].filter(Boolean).join(', ')));
}

/** The shares of the error as bars with words. @param {any[]} diagnosis @param {boolean} [advise] say what to do about the large ones */
export function shares(diagnosis, advise = true) {
	const named = diagnosis.filter(part => part.share > 0.005);

	return named.length > 0 && h('ul', {class: 'shares', 'aria-label': 'What the error is made of'}, named.map(part => h('li', {},
		h('span', {class: 'share-cause'}, t(`cause.${part.cause}`)),
		s('svg', {class: 'share-bar', viewBox: '0 0 100 14', preserveAspectRatio: 'none', 'aria-hidden': 'true'},
			s('rect', {class: 'share-all', x: 0, y: 6, width: 100, height: 2}), s('rect', {class: 'share-part', x: 0, y: 0, width: Math.max(1, part.share * 100), height: 14})),
		h('b', {class: 'number share-percent'}, shown(part.shown_share)),
		h('span', {class: 'number share-size muted'}, shown(part.shown_size)),
		advise && part.share >= 0.15 && part.advice && h('span', {class: 'share-advice muted'}, shown(part.advice)))));
}

const SWITCH_FIGURES = [['set', 'acts at, mean'], ['set_error', 'error of the set point, mean'], ['max_set_error', 'largest error of the set point'], ['set_repeatability', 'repeatability, acting'],
	['reset', 'goes back at, mean'], ['dead_band', 'dead band, mean'], ['reset_repeatability', 'repeatability, going back']];

/** @param {any} run */
function switchFigures(run) {
	const {summary, shown_limits: limits, shown_dead_band_limits: band} = run.switch;
	const row = (/** @type {string} */ words, /** @type {string} */ text) => h('tr', {}, h('th', {scope: 'row'}, words), h('td', {class: 'number'}, shown(text)));

	return h('div', {class: 'table-frame'}, h('table', {class: 'figures'},
		h('caption', {class: 'visually-hidden'}, `Figures of the ${t(`run.${run.kind}`)} run`),
		h('tbody', {}, SWITCH_FIGURES.filter(([name]) => summary[name]).map(([name, words]) => row(words, summary[name].shown)),
			limits && row('limits of the set point', limits), band && row('dead band allowed', band))));
}

/** @param {any} run */
export function figures(run) {
	if (run.switch)
		return switchFigures(run);
	const rows = FIGURES.map(([path, words]) => ({words, value: path.split('.').reduce((at, member) => at?.[member], run.summary)})).filter(row => row.value);
	const both = rows.some(row => row.value.shown !== row.value.shown_percent);

	if (run.dead_band?.shown)
		rows.push({words: 'dead band, of the input', value: {shown: '\u2013', shown_percent: run.dead_band.shown}});
	if (run.dead_band?.shown_hysteresis_alone)
		rows.push({words: 'hysteresis within one cycle, less dead band', value: {shown: '\u2013', shown_percent: run.dead_band.shown_hysteresis_alone}});
	return h('div', {class: 'table-frame'}, h('table', {class: 'figures'},
		h('caption', {class: 'visually-hidden'}, `Figures of the ${t(`run.${run.kind}`)} run`),
		h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, 'figure'), both && h('th', {scope: 'col', class: 'number'}, `in ${run.output_unit}`), h('th', {scope: 'col', class: 'number'}, 'in % of span'))),
		h('tbody', {}, rows.map(({words, value}) => h('tr', {}, h('th', {scope: 'row'}, words),
			both && h('td', {class: 'number'}, shown(value.shown)), h('td', {class: 'number'}, shown(value.shown_percent)))))));
}

/** @param {string} text */
function capital(text) {
	return text.charAt(0).toUpperCase() + text.slice(1);
}
