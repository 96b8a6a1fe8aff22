/* Walks the whole chain on the server and says in words whether every entry follows on the one before it. */
import {call} from '../../lib/api.js';
import {fill, h} from '../../lib/dom.js';
import {showErrors} from '../../lib/form.js';
import {mark} from '../../lib/mark.js';
import {shortHash} from '../../lib/quantity.js';

export function chainCheck() {
	const result = h('p', {role: 'status', class: 'chain-result'}), problem = h('p', {class: 'form-error', role: 'alert', hidden: true});
	const button = h('button', {type: 'button', onclick: check}, 'Check the chain');
	const element = h('div', {class: 'chain no-print'}, button, result, problem);

	async function check() {
		if (button.getAttribute('aria-disabled') === 'true')
			return;
		button.setAttribute('aria-disabled', 'true');
		fill(result, 'Walking the chain');
		problem.hidden = true;
		try {
			const {entries, sound, why, head, sealed} = await call('GET', '/ledger/check');
			fill(result, h('span', {class: `verdict ${sound ? 'ok' : 'bad'}`}, mark(sound ? 'pass' : 'fail'), h('span', {}, sound ? `Sound: ${entries === 1 ? 'one entry' : `${entries} entries`}, none changed` : why)),
				sound && h('span', {class: 'muted'}, ` head ${shortHash(head)}`, sealed && `, under the plant\u2019s seal up to entry ${sealed.number}`));
		} catch (error) {
			fill(result);
			showErrors(element, error);
		} finally {
			button.removeAttribute('aria-disabled');
		}
	}
	return element;
}
