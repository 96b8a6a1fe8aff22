/* One tolerance rule, or one class. ?id= a rule, ?new=1 a new one (&class= begins with a class), ?class= a class as the standard has it. */
import {mayDo, startPage} from '../features/frame/frame.js';
import {classReading} from '../features/procedures/classes.js';
import {toleranceTyped} from '../features/procedures/document.js';
import {ruleDesk, rulePreview, ruleWords} from '../features/procedures/rule.js';
import {readClasses, readRules} from '../features/procedures/sources.js';
import {procedureWords} from '../features/procedures/words.js';
import {ApiError} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {shown} from '../lib/format.js';
import {keepPlace} from '../lib/place.js';
import {figure} from '../lib/quantity.js';

startPage(async session => {
	const asked = new URLSearchParams(location.search), code = asked.get('class'), mayManage = mayDo(session, 'manage');
	const one = code && found((await readClasses()).find(other => other.code === code), 'No standard has a class of this code here.');

	if (one && !asked.get('new'))
		return showClass(one, mayManage);
	if (asked.get('new') && mayManage)
		return write(null, one && one.rule ? {name: one.title, rule: one.rule} : null);
	const rule = found((await readRules()).find(other => other.id === asked.get('id')), 'There is no tolerance rule at this address.');
	if (mayManage)
		write(rule, null);
	else
		read(rule);
});

/** @param {any} thing @param {string} sentence */
function found(thing, sentence) {
	if (!thing)
		throw new ApiError(404, {detail: sentence});
	return thing;
}

/** @param {any|null} rule @param {any|null} start */
function write(rule, start) {
	const preview = rulePreview();

	if (!rule)
		name('A new rule');
	lay(preview.element,
		ruleDesk({rule, start, preview, saved: () => location.assign('/tolerances'), leave: () => location.assign('/tolerances')}),
		rule && h('p', {class: 'no-print'}, h('a', {href: `/ledger?thing=tolerance_rule&thing_id=${rule.id}`}, 'Every change to this rule, in the ledger')));
	if (start)
		history.replaceState(null, '', '/tolerance?new=1');
	if (!rule)
		/** @type {HTMLElement|null} */ (document.querySelector('main input'))?.focus();
}

/** @param {any} rule */
function read(rule) {
	const preview = rulePreview();

	preview.follow(toleranceTyped(rule.rule));
	lay(preview.element, h('p', {class: 'lead'}, rule.name), h('section', {class: 'part'}, h('h2', {}, 'Limits'), h('p', {}, 'The error may be at most ', h('b', {}, ruleWords(rule.rule)), '.')));
}

/** @param {any} one @param {boolean} mayManage */
function showClass(one, mayManage) {
	name('Tolerance class');
	fill(byId('main'), procedureWords('/tolerances'),
		h('div', {class: 'spread'}, h('p', {class: 'lead'}, h('b', {}, one.title), ': ', h('span', {class: 'unbroken'}, shown(one.words))), mayManage && one.rule && h('a', {class: 'button no-print', href: `/tolerance?new=1&class=${one.code}`}, 'Write a rule from it')),
		h('section', {class: 'part'}, h('h2', {}, 'Where it holds'), h('div', {}, h('p', {}, `From ${figure(one.low)} to ${figure(one.high)} \u00b0C, by ${one.source}.`),
			h('p', {class: 'muted prose'}, one.rule ? 'As limits of a procedure it needs an output in \u00b0C. On the element itself, in ohm or mV, the limit is the one in \u00b0C times the slope of the element there.'
				: 'It begins to rise only above a temperature, which terms of a rule cannot say. It is worked out here, and cannot be taken as limits of a procedure.'))),
		h('section', {class: 'part'}, h('h2', {}, 'Over temperature'), classReading(one)));
	keepPlace();
}

/** @param {Element} aside @param {...any} children */
function lay(aside, ...children) {
	fill(byId('main'), procedureWords('/tolerances'), h('div', {class: 'two-columns procedure-columns'}, h('article', {class: 'stacked-parts'}, children), aside));
	keepPlace();
}

/** @param {string} title */
function name(title) {
	byId('title').textContent = title;
	document.title = `${title} \u00b7 Loopledger`;
}
