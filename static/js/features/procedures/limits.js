/* Limits of the error: one or several terms joined by their sum or the greatest, alike upwards and downwards or not. */
import {choiceBlank, deed, numberBlank} from '../../lib/blanks.js';
import {h} from '../../lib/dom.js';
import {LIMITS, termKinds} from './document.js';
import {sourceChoice} from './sources.js';

const TERMS_MOST = 8;

const WORDS = {
	as_found: {name: 'As found', own: '', none: ''},
	adjust: {name: 'Adjust', own: 'when the error is beyond limits of its own', none: 'only what is outside the as-found limits'},
	as_left: {name: 'As left', own: 'within limits of its own', none: 'within the as-found limits'},
};

/** @typedef {{typed: any, changed: () => void, redraw: (focus?: string) => void, redrawAll: () => void}} Writing redraw: this part; redrawAll: every part */

/** @param {Writing} writing */
export function limitsEditor({typed, changed, redraw}) {
	return h('div', {class: 'limits'}, LIMITS.map(name => {
		const {own, none, name: title} = WORDS[/** @type {keyof typeof WORDS} */ (name)];
		const pointer = `/document/tolerance/${name}`;

		return h('div', {class: 'limit'}, h('h3', {}, title),
			name !== 'as_found' && h('p', {class: 'sentence'}, choiceBlank({label: title, pointer, key: `${pointer}/own`, value: typed.tolerance[name] ? 'own' : 'none', options: [['none', none], ['own', own]], write: value => {
				typed.tolerance[name] = value === 'own' ? structuredClone(typed.tolerance.as_found) : null;
				changed();
				redraw(`${pointer}/own`);
			}})),
			typed.tolerance[name] && [
				sourceChoice({label: title, key: `${pointer}/source`, take: (limits, from) => {
					typed.tolerance[name] = {...limits, from};
					changed();
					redraw(`${pointer}/source`);
				}}),
				typed.tolerance[name].from && h('p', {class: 'muted', role: 'status'}, typed.tolerance[name].from),
				termsEditor(typed.tolerance[name], title, pointer, {typed, changed, redraw})]);
	}));
}

/** Terms to fill in, add and take away. @param {any} tolerance as typed @param {string} title @param {string} pointer @param {Writing} writing */
export function termsEditor(tolerance, title, pointer, {typed, changed, redraw}) {
	const list = tolerance.terms, several = list.length > 1;

	return h('div', {class: 'terms'},
		several && h('p', {class: 'sentence'}, 'the error may be at most', choiceBlank({label: `${title}: how the terms are joined`, pointer: `${pointer}/join`, value: tolerance.join,
			options: [['sum', 'the sum of'], ['greatest', 'the greatest of']], write: value => {
				tolerance.join = value;
				changed();
			}})),
		list.map((/** @type {any} */ term, /** @type {number} */ i) => {
			const at = `${pointer}/terms/${i}`, what = several ? `${title}, term ${i + 1}` : title;
			return h('div', {class: 'sentence term', 'data-pointer': at},
				!several && h('span', {}, 'at most'),
				h('span', {class: 'term-sign'}, term.minus === null ? '\u00b1' : '+'),
				numberBlank({label: `${what}: ${term.minus === null ? 'error either way' : 'error upwards'}`, pointer: `${at}/plus`, value: term.plus, write: text => {
					term.plus = text;
					changed();
				}}),
				term.minus !== null && [h('span', {class: 'term-sign'}, '\u2212'), numberBlank({label: `${what}: error downwards`, pointer: `${at}/minus`, value: term.minus, write: text => {
					term.minus = text;
					changed();
				}})],
				choiceBlank({label: `${what}: of what`, pointer: `${at}/kind`, value: term.kind, options: termKinds(typed), write: value => {
					term.kind = value;
					changed();
				}}),
				deed(term.minus === null ? 'Up and down differ' : 'Alike both ways', `for ${what}`, () => {
					term.minus = term.minus === null ? term.plus : null;
					changed();
					redraw(`${at}/${term.minus === null ? 'plus' : 'minus'}`);
				}),
				several && deed('Remove', what, () => {
					list.splice(i, 1);
					changed();
					redraw(`${pointer}/terms/${Math.max(0, i - 1)}/plus`);
				}),
				h('span', {class: 'field-error', hidden: true}));
		}),
		list.length < TERMS_MOST && deed('Add a term', `to ${title}`, () => {
			list.push({kind: list.some((/** @type {any} */ term) => term.kind === 'percent_of_reading') ? 'absolute' : 'percent_of_reading', plus: '', minus: null});
			changed();
			redraw(`${pointer}/terms/${list.length - 1}/plus`);
		}));
}
