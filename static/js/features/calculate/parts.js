/* The calculations of a round: a tag's own scale, a signal, a thermometer, a unit. The server computes; nothing is computed here but a junction's share. */
import {unitField} from '../../lib/amount.js';
import {ApiError, call} from '../../lib/api.js';
import {h} from '../../lib/dom.js';
import {field} from '../../lib/form.js';
import {readersDecimalSign} from '../../lib/format.js';
import {readNumber} from '../../lib/number.js';
import {rangeText, typedFigure} from '../../lib/quantity.js';
import {significant, toDecimals} from '../../lib/significant.js';
import {pairPart} from './pair.js';

const SIGNAL = {low: 4, high: 20, unit: 'mA'};
/* an element needs no range of its own; these are within every one's reach */
const TEMPERATURE = {low: 0, high: 100, unit: '\u00b0C'};
const ELEMENTS = /** @type {Array<[string, string]>} */ ([['rtd 100', 'Pt100'], ['rtd 500', 'Pt500'], ['rtd 1000', 'Pt1000'],
	...['K', 'J', 'T', 'N', 'E', 'S', 'R', 'B'].map(type => [`thermocouple ${type}`, `type ${type}`])]);

/** The reader's decimal sign in a computed text. @param {string} text */
function typed(text) {
	return text.replace('.', readersDecimalSign);
}

/** Six digits, zeros at the end of a fraction left out. @param {number} value */
function sixDigits(value) {
	return typed(significant(value, 6).replace(/(\.\d*?)0+(?=$|\u00b7)/, '$1').replace(/\.(?=$|\u00b7)/, ''));
}

/** Decimals that show some ten-thousandth of a span: three for 16 mA, two for 100 %. @param {{low: number, high: number}} range */
function decimalsOf({low, high}) {
	return Math.max(0, Math.min(6, 4 - Math.floor(Math.log10(Math.abs(high - low)) + 1e-9)));
}

/** @param {any} characteristic @param {any} input @param {any} output @param {'left'|'right'} side @param {number} value @returns {Promise<number>} */
async function along(characteristic, input, output, side, value) {
	const answer = await call('POST', '/compute/characteristic', {characteristic, input, output, direction: side === 'left' ? 'forward' : 'inverse', values: [value]});

	return answer.values[0];
}

/** What a tag gives at a value, and the other way round. @param {any} instrument */
export function tagPart({id, tag, service, input, output, characteristic}) {
	const bare = (/** @type {any} */ {low, high, unit}) => ({low, high, unit});

	return pairPart({
		title: tag, key: `tag.${id}`, more: [], start: typedFigure(input.low),
		left: {name: 'input', label: `Input, ${input.quantity}`, unit: input.unit}, right: {name: 'output', label: `Output, ${output.quantity}`, unit: output.unit},
		note: h('p', {class: 'muted'}, `${service}: ${rangeText(input)} gives ${rangeText(output)}.`),
		work: async (side, value) => typed(toDecimals(await along(characteristic, bare(input), bare(output), side, value), decimalsOf(side === 'left' ? output : input))),
	});
}

/** The current of a loop at a value of its range. */
export function signalPart() {
	const end = (/** @type {string} */ name, /** @type {string} */ label, /** @type {number} */ value) => field({name, label, number: true, width: 'figure', value});

	return pairPart({
		title: 'A loop, 4 to 20 mA', key: 'signal', start: '50',
		more: [end('low', 'Range from', 0), end('high', 'to', 100), field({name: 'follows', label: 'The current follows', value: 'linear', width: 'short', options: [['linear', 'a straight line'], ['square_root', 'a square root']]})],
		left: {name: 'value', label: 'Value'}, right: {name: 'current', label: 'Current', unit: 'mA'},
		work: async (side, value, {low, high, follows}) => {
			const from = readNumber(low), to = readNumber(high);
			if (!from.ok || !to.ok)
				throw new ApiError(422, {detail: 'The range needs a number at both ends'});
			/* any unit will do: the loop does not know what it carries */
			const range = {low: from.value, high: to.value, unit: '%'};
			return typed(toDecimals(await along({kind: follows}, range, SIGNAL, side, value), side === 'left' ? 3 : decimalsOf(range)));
		},
	});
}

/** What a thermometer gives at a temperature, with the junction where it is. */
export function thermometerPart() {
	const junction = field({name: 'junction', label: 'Junction at', unit: '\u00b0C', number: true, width: 'figure', value: 0});

	return pairPart({
		title: 'A thermometer', key: 'thermometer', start: '100',
		more: [field({name: 'element', label: 'Element', value: 'rtd 100', width: 'short', options: ELEMENTS}), junction],
		left: {name: 'temperature', label: 'Temperature', unit: '\u00b0C'}, right: {name: 'electric', label: 'It gives', unit: 'ohm'},
		settle: ({element}, part) => {
			const couple = element.startsWith('thermocouple'), unit = part.querySelector('[data-name="electric"] label .muted');
			junction.hidden = !couple;
			if (unit)
				unit.textContent = couple ? ', mV' : ', ohm';
		},
		work: async (side, value, {element, junction: at}) => {
			const [kind, which] = element.split(' '), couple = kind === 'thermocouple', cold = readNumber(at);
			const characteristic = couple ? {kind, type: which} : {kind, r0: Number(which)}, output = couple ? {low: 0, high: 10, unit: 'mV'} : {low: 100, high: 200, unit: 'ohm'};
			if (couple && !cold.ok)
				throw new ApiError(422, {detail: 'The junction needs a temperature'});
			/* an emf is measured against its junction: what the junction itself would give at 0 °C is missing from it */
			const share = couple && cold.ok && cold.value !== 0 ? await along(characteristic, TEMPERATURE, output, 'left', cold.value) : 0;
			const answer = await along(characteristic, TEMPERATURE, output, side, side === 'left' ? value : value + share);
			return typed(side === 'left' ? toDecimals(answer - share, 3) : toDecimals(answer, 2));
		},
	});
}

/** @param {{symbol: string, dimension: string}[]} units */
export function unitPart(units) {
	return pairPart({
		title: 'A unit', key: 'unit', start: '1',
		more: [unitField({name: 'from', label: 'From', value: 'bar'}, units), unitField({name: 'to', label: 'To', value: 'kPa'}, units)],
		left: {name: 'one', label: 'Value'}, right: {name: 'other', label: 'In the other unit'},
		work: async (side, value, {from, to}) => {
			if (!from || !to)
				throw new ApiError(422, {detail: 'Choose both units'});
			return sixDigits((await call('POST', '/compute/conversion', {value, from: side === 'left' ? from : to, to: side === 'left' ? to : from})).value);
		},
	});
}
