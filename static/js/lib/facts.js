/* A ruled list of words and what they say; what says nothing is left out. facts([['kind', 'transmitter'], …]) */
import {h} from './dom.js';

/** @param {Array<[string, any]>} pairs */
export function facts(pairs) {
	return h('dl', {class: 'facts'}, pairs.filter(([, value]) => value).map(([word, value]) => [h('dt', {}, word), h('dd', {}, value)]));
}
