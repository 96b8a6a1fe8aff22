/*
 * The catalogue of words that several pages share, in English. t('due.in', {n: 3}) is 'in 3 days'; a key with two forms
 * separated by | takes the first for n = 1. Sentences that only one page says stand in that page.
 */

/** @type {Object<string, string>} */
const english = {
	'verdict.pass': 'inside',
	'verdict.conditional_pass': 'inside, within the guard band',
	'verdict.conditional_fail': 'outside, within the guard band',
	'verdict.fail': 'outside',
	'verdict.not_judged': 'not judged',
	'state.open': 'in progress',
	'state.performed': 'waits for review',
	'state.reviewed': 'reviewed',
	'state.certified': 'certified',
	'state.returned': 'returned',
	'state.void': 'void',
	'phase.prepare': 'prepare',
	'phase.prove': 'prove',
	'phase.as_found': 'as found',
	'phase.adjust': 'adjust',
	'phase.as_left': 'as left',
	'phase.sign': 'sign',
	'phase.review': 'review',
	'phase.certificate': 'certificate',
	'phase.done': 'done',
	'run.as_found': 'as found',
	'run.as_left': 'as left',
	'direction.rising': 'rising',
	'direction.falling': 'falling',
	'role.technician': 'technician',
	'role.lead': 'metrology lead',
	'role.auditor': 'auditor',
	'role.administrator': 'administrator',
	'kind.transmitter': 'transmitter',
	'kind.sensing_element': 'sensing element',
	'kind.indicator': 'indicator',
	'kind.switch': 'switch',
	'kind.analyser': 'analyser',
	'kind.control_valve': 'control valve',
	'status.in_service': 'in service',
	'status.out_of_service': 'out of service',
	'status.retired': 'retired',
	'meaning.performed': 'performed',
	'meaning.corrected': 'corrected the record',
	'meaning.reviewed': 'reviewed',
	'meaning.approved': 'approved',
	'meaning.returned': 'returned',
	'meaning.voided': 'made void',
	'answer.yes': 'yes',
	'answer.no': 'no',
	'answer.not_applicable': 'not applicable',
	'cause.zero': 'zero shift',
	'cause.span': 'span error',
	'cause.curvature': 'curvature',
	'cause.hysteresis': 'hysteresis',
	'cause.scatter': 'scatter',
	'due.overdue': 'overdue {n} day|overdue {n} days',
	'due.today': 'due today',
	'due.tomorrow': 'due tomorrow',
	'due.in': 'in {n} day|in {n} days',
	'number.empty': 'A number is needed here.',
	'number.grouping': 'Write it without separators between the thousands.',
	'number.not_a_number': 'This is not a number. Digits, one decimal sign, a minus in front if need be.',
	'unsent': '{n} reading is on this tablet, not yet on the server|{n} readings are on this tablet, not yet on the server',
	'refused': '{n} reading needs attention|{n} readings need attention',
	'unreachable': 'The server cannot be reached. Nothing that you typed is lost; try again in a moment.',
};

/**
 * @param {string} key
 * @param {Object<string, string|number>} [values]
 * @returns {string} the key itself when the catalogue does not have it, with its first part and underscores taken off
 */
export function t(key, values = {}) {
	let text = english[key] ?? key.slice(key.lastIndexOf('.') + 1).replaceAll('_', ' ');
	const forms = text.split('|');

	if (forms.length === 2)
		text = values.n === 1 ? forms[0] : forms[1];
	return text.replace(/\{(\w+)\}/g, (whole, name) => name in values ? String(values[name]) : whole);
}
