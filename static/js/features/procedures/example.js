/*
 * The worked example beside a document or a rule: what its points and limits come to, on a tag of the plant or on 4 to 20 mA.
 * It follows what is written a moment later; while it cannot be worked out it says what stands in the way.
 */
import {ApiError, Unreachable, call} from '../../lib/api.js';
import {fill, h} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';
import {isJudged} from './document.js';
import {order} from './order.js';

const PAUSE = 250;

/**
 * @param {{title?: string, show?: (example: any) => any}} [spec] show makes what is seen of the server's answer
 * @returns {{element: HTMLElement, follow: (worked: {document: any, faults: any[]}) => void}}
 */
export function workedExample({title = 'Worked example', show = figures} = {}) {
	const state = {/** @type {any} */ worked: null, /** @type {any} */ instrument: null, asked: 0, timer: 0};
	const result = h('div', {class: 'example-result'}, h('p', {class: 'muted'}, 'Working it out'));
	const say = h('p', {class: 'muted small', role: 'status'});
	const choices = h('datalist', {id: 'example-tags'});
	const input = /** @type {HTMLInputElement} */ (h('input', {id: 'example-tag', type: 'text', list: 'example-tags', autocomplete: 'off', spellcheck: 'false', placeholder: '4 to 20 mA'}));
	/** @type {Map<string, any>} */
	const known = new Map();

	async function look() {
		const q = input.value.trim();
		if (q && !known.has(q)) {
			const answer = await call('GET', `/instruments?${new URLSearchParams({q, limit: '20'})}`);
			for (const instrument of answer.items)
				known.set(instrument.tag, instrument);
			fill(choices, answer.items.map((/** @type {any} */ instrument) => h('option', {value: instrument.tag}, instrument.service)));
		}
		if (q !== input.value.trim())
			return;
		state.instrument = known.get(q) ?? null;
		say.textContent = q && !state.instrument ? 'No such tag; type on, or choose one.' : '';
		await work();
	}

	async function work() {
		const {worked, instrument} = state, turn = state.asked += 1;
		if (!worked)
			return;
		const fault = worked.faults.find((/** @type {any} */ other) => !other.pointer.endsWith('/apply'));
		if (fault) {
			wait(fault.sentence);
			return;
		}
		try {
			const example = await call('POST', '/procedures/example', {document: numbersOnly(worked.document), ...(instrument && {instrument_id: instrument.id})});
			if (turn !== state.asked)
				return;
			fill(result, show(example));
			input.placeholder = example.switch ? 'a switch, 0 to 10 bar' : '4 to 20 mA';
			result.classList.remove('stale');
			if (!input.value.trim() || instrument)
				say.textContent = '';
		} catch (error) {
			if (!(error instanceof ApiError || error instanceof Unreachable))
				throw error;
			if (turn === state.asked)
				wait(error instanceof ApiError ? [...error.fields.values()].flat()[0] ?? error.message : error.message);
		}
	}

	/** @param {string} why */
	function wait(why) {
		result.classList.add('stale');
		say.textContent = `Not yet: ${why.replace(/[.]$/, '')}.`;
	}

	const later = (/** @type {() => any} */ act, pause = PAUSE) => {
		clearTimeout(state.timer);
		state.timer = window.setTimeout(act, pause);
	};
	input.addEventListener('input', () => later(look, PAUSE));
	return {
		element: h('aside', {class: 'aside example', 'aria-label': title}, h('h2', {}, title),
			h('p', {class: 'example-try no-print'}, h('label', {for: 'example-tag'}, 'Try it on tag'), input, choices), say, result),
		follow: worked => {
			const first = !state.worked;
			state.worked = worked;
			later(work, first ? 0 : PAUSE);
		},
	};
}

/** The part that makes figures; words that are still missing do not hold the example up. @param {any} document */
function numbersOnly(document) {
	const steps = document.steps.filter(isJudged).map((/** @type {any} */ step) => ({...step, title: 'judged'}));

	return {...document, title: 'example', purpose: '', adjustment: '', kinds: [steps[0]?.kind === 'switch' ? 'switch' : 'transmitter'], preparation: [], cautions: [], needs: [], steps};
}

/** One actuation of a switch. @param {any} example */
function switchFigures({points, tag, input_unit: unit, switch: data}) {
	const [set, reset] = points;
	const row = (/** @type {string} */ word, /** @type {any} */ point) => h('tr', {}, h('th', {scope: 'row'}, word), h('td', {class: 'number muted'}, shown(point.shown_expected ?? '\u2013')),
		h('td', {class: 'number'}, shown(point.shown_low ?? '\u2013')), h('td', {class: 'number'}, shown(point.shown_high ?? '\u2013')));

	return [
		h('p', {class: 'example-sentence'}, `${data.acts_on === 'rising' ? 'Rising' : 'Falling'}, it may act from `, h('b', {}, `${shown(set.shown_low)} to ${shown(set.shown_high)} ${unit}`)),
		h('div', {class: 'table-frame'}, h('table', {class: 'figures'}, h('caption', {class: 'muted'}, `As-found limits on ${tag ?? 'a switch that acts at 6 bar, of 0 to 10 bar'}, ${unit}`),
			h('thead', {}, h('tr', {}, ['it', 'exact', 'low', 'high'].map((head, i) => h('th', {scope: 'col', class: i > 0 && 'number'}, head)))),
			h('tbody', {}, row('acts', set), reset && (reset.shown_expected || reset.shown_low || reset.shown_high) && row('goes back', reset)))),
	];
}

/** @param {any} example */
function figures(example) {
	return example.switch ? switchFigures(example) : [order(example.points), pointFigures(example)];
}

/** @param {any} example */
function pointFigures({points, tag, input_unit: inputUnit, output_unit: outputUnit}) {
	const second = points.find((/** @type {any} */ point) => point.percent > 0) ?? points[0];

	return [
		h('p', {class: 'example-sentence'}, `At ${shown(second.percent)} %: `, h('b', {}, `${shown(second.shown_low)} to ${shown(second.shown_high)} ${outputUnit}`)),
		h('div', {class: 'table-frame'}, h('table', {class: 'figures'}, h('caption', {class: 'muted'}, `As-found limits on ${tag ?? '4 to 20 mA, read in %'}`),
			h('thead', {}, h('tr', {}, [`at, ${inputUnit}`, 'exact', 'low', 'high'].map(head => h('th', {scope: 'col', class: 'number'}, head)))),
			h('tbody', {}, points.map((/** @type {any} */ point) => h('tr', {},
				h('th', {scope: 'row', class: 'number'}, h('span', {class: 'muted', 'aria-label': point.direction}, point.direction === 'falling' ? '\u25bd ' : '\u25b3 '), shown(point.shown_set)),
				h('td', {class: 'number muted'}, shown(point.shown_expected)), h('td', {class: 'number'}, shown(point.shown_low)), h('td', {class: 'number'}, shown(point.shown_high))))))),
	];
}
