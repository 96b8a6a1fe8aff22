/* Calculations for the round: a tag's scale (?tag=), a loop, a thermometer, a unit, each both ways. */
import {startPage} from '../features/frame/frame.js';
import {signalPart, tagPart, thermometerPart, unitPart} from '../features/calculate/parts.js';
import {call} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';

startPage(async () => {
	const tag = new URLSearchParams(location.search).get('tag');
	const [units, instrument] = await Promise.all([call('GET', '/units'), tag && call('GET', `/instruments/${tag}`)]);

	fill(byId('main'),
		h('p', {class: 'lead'}, 'Type either of two values; the other follows.'),
		instrument && tagPart(instrument), signalPart(), thermometerPart(), unitPart(units.items));
	/** @type {HTMLInputElement|null} */ (document.querySelector('main .pair input'))?.select();
});
