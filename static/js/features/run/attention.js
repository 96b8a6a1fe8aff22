/* Readings that the server refused: its sentence, and the choice to send again or to discard. */
import {h} from '../../lib/dom.js';
import {shown} from '../../lib/format.js';
import {t} from '../../lib/words.js';

/** @param {any[]} items this record's unsent readings @param {{retry: (item: any) => void, discard: (item: any) => void}} choices */
export function attention(items, choices) {
	const refused = items.filter(item => item.refused);

	return refused.length > 0 && h('section', {class: 'trouble'}, h('h2', {}, t('refused', {n: refused.length})),
		h('ul', {class: 'rows'}, refused.map(item => h('li', {},
			h('p', {}, h('b', {class: 'number'}, `${shown(item.shown.applied)} \u2192 ${shown(item.shown.observed)}`), `, ${t(`run.${item.run}`)}, point ${item.point + 1}`),
			h('p', {class: 'bad'}, item.refused),
			h('div', {class: 'entry-actions'},
				h('button', {type: 'button', class: 'big', onclick: () => choices.retry(item)}, 'Send again'),
				h('button', {type: 'button', class: 'big', onclick: () => choices.discard(item)}, 'Discard, read it anew'))))),
		h('p', {class: 'muted'}, 'What was read after these waits on this tablet until they are settled.'));
}
