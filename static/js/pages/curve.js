/* A curve through points: a table of a calibration or a drift, fitted by the server, with what is left at each point. */
import {curveDesk} from '../features/curve/desk.js';
import {startPage} from '../features/frame/frame.js';
import {procedureWords} from '../features/procedures/words.js';
import {byId, fill, h} from '../lib/dom.js';
import {keepPlace} from '../lib/place.js';

startPage(async session => {
	fill(byId('main'), procedureWords('/curve'),
		h('p', {class: 'lead no-print'}, 'What a table comes to: a line or a curve, how well it is known, and what is left at each point.'),
		curveDesk({session}));
	keepPlace();
});
