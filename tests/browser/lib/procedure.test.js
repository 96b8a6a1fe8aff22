import assert from 'node:assert/strict';
import test from 'node:test';
import {NEW_DOCUMENT, POINT_CHOICES, choiceOf, dropEmptyLines, freshId, fromTyped, judgedAs, splitPoints, toTyped, toleranceWords} from '../../../static/js/features/procedures/document.js';

const DOCUMENT = {
	title: 'Five points', purpose: '', kinds: ['transmitter'], preparation: ['Bring the pump'], cautions: [{id: 'vent', text: 'Vent slowly'}],
	needs: [{role: 'output', text: 'Current meter', optional: true}],
	steps: [{kind: 'checklist', title: 'Prove', items: [{id: 'tight', text: 'Tight?', apply: 6.25}, {id: 'clear', text: 'Clear?', apply: null}]},
		{kind: 'points', title: 'Points', percent: [-2.5, 0, 50, 100], pattern: 'up_down', cycles: 2, settle_s: 0}],
	tolerance: {as_found: {terms: [{kind: 'percent_of_span', plus: 0.25}, {kind: 'absolute', plus: 0.1, minus: 0.05}], join: 'greatest'}, adjust: null, as_left: {terms: [{kind: 'absolute', plus: 0, minus: 0}], join: 'sum'}},
	decision: {rule: 'guarded', guard_factor: 0.85}, environment: true, adjustment: 'Zero first.',
};

test('a document that is read and not touched is saved as it was, whatever the reader\u2019s decimal sign', () => {
	for (const sign of ['.', ',']) {
		const {document, faults} = fromTyped(toTyped(DOCUMENT, sign));
		assert.deepEqual(faults, []);
		/* minus may be left out where it is as plus: docs/api.md, Tolerance rules */
		assert.deepEqual(document, {...DOCUMENT, tolerance: {...DOCUMENT.tolerance, as_left: {terms: [{kind: 'absolute', plus: 0}], join: 'sum'}}});
	}
});

test('a comma parts points only before a space', () => {
	assert.deepEqual(splitPoints('0 12,5 25'), ['0', '12,5', '25']);
	assert.deepEqual(splitPoints(' 0, 12.5, 25 '), ['0', '12.5', '25']);
	assert.deepEqual(splitPoints('0;12,5;25'), ['0', '12,5', '25']);
	assert.deepEqual(splitPoints(''), []);
});

test('what is no number is named by its place in the document', () => {
	const typed = toTyped(DOCUMENT, '.');
	typed.tolerance.as_found.terms[1].minus = 'wide';
	typed.steps[0].items[0].apply = '1,234.5';
	typed.steps[1].percent = '0 x';
	assert.deepEqual(fromTyped(typed).faults.map(fault => fault.pointer).sort(),
		['/document/steps/0/items/0/apply', '/document/steps/1/percent', '/document/tolerance/as_found/terms/1/minus']);
});

test('lines that were emptied are dropped, the points never', () => {
	const typed = toTyped(DOCUMENT, '.');
	typed.preparation.push('  ');
	typed.cautions[0].text = '';
	typed.steps[0].items.forEach((/** @type {any} */ item) => { item.text = item.apply = ''; });
	dropEmptyLines(typed);
	assert.deepEqual([typed.preparation, typed.cautions, typed.steps.map((/** @type {any} */ step) => step.kind)], [['Bring the pump'], [], ['points']]);
});

test('a new line gets an id that no other line of the document has', () => {
	const typed = toTyped({...DOCUMENT, cautions: [{id: 'caution-1', text: 'a'}, {id: 'caution-3', text: 'b'}]}, '.');

	assert.equal(freshId(typed, 'caution'), 'caution-2');
	assert.equal(freshId(typed, 'check'), 'check-1');
});

test('limits are said in words, with their sides and how they are joined', () => {
	assert.equal(toleranceWords(toTyped(DOCUMENT, '.').tolerance.as_found), '\u00b10.25 % of span or +0.1 / \u22120.05 in the output\u2019s unit, whichever allows more');
	assert.equal(toleranceWords(toTyped(NEW_DOCUMENT, ',').tolerance.as_found), '\u00b10,5 % of span');
});

test('every kind of judged step is saved as it was', () => {
	const steps = [
		{kind: 'switch', title: 'Switch point', actuations: 3, reads_reset: true, settle_s: 5},
		{kind: 'points', title: 'Points', percent: [10, 50, 90], pattern: 'down_up', cycles: 3, settle_s: 2.5, within_signal: true, error_at: 'set'},
		{kind: 'points', title: 'Points', percent: [0, 100], pattern: 'up_all', cycles: 1, settle_s: 0},
	];

	for (const step of steps)
		assert.deepEqual(fromTyped(toTyped({...DOCUMENT, steps: [step]}, ',')).document.steps, [step]);
});

test('a choice of points is told from its figures, however they are written', () => {
	/* the choices of include/metrology/points.h */
	assert.equal(choiceOf('0 50 100'), '3');
	assert.equal(choiceOf('0; 25; 50; 75; 100'), '5');
	assert.equal(choiceOf('0,0  10  50  90  100'), 'ends');
	assert.equal(choiceOf('10 50 90'), 'inside');
	assert.equal(choiceOf('0 30 100'), 'own');
	assert.equal(choiceOf('0 x 100'), 'own');
	assert.equal(POINT_CHOICES.find(choice => choice.name === '11')?.percent.split(/\s+/).length, 11);
});

test('a step judged otherwise keeps its title and its pause', () => {
	const points = judgedAs({kind: 'switch', title: 'Here', actuations: '2', reads_reset: false, settle_s: '7'}, 'points');

	assert.deepEqual([points.kind, points.title, points.settle_s, points.pattern], ['points', 'Here', '7', 'up_down']);
	assert.deepEqual(judgedAs(points, 'switch'), {kind: 'switch', title: 'Here', actuations: '3', reads_reset: true, settle_s: '7'});
	assert.deepEqual(fromTyped({...toTyped(DOCUMENT, '.'), steps: [{...judgedAs(points, 'switch'), actuations: 'often'}]}).faults.map(fault => fault.pointer), ['/document/steps/0/actuations']);
});

test('limits of a switch in its unit are in that of the input', () => {
	const switches = {steps: [{kind: 'switch'}]}, tolerance = {join: 'sum', terms: [{kind: 'absolute', plus: '0.2', minus: null}]};

	assert.equal(toleranceWords(tolerance, switches), '\u00b10.2 in the input\u2019s unit');
	assert.equal(toleranceWords(tolerance), '\u00b10.2 in the output\u2019s unit');
});
