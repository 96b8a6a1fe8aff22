/* Uncertainty: a budget, worked out by the server, with the simulation and a statement of conformity beside it. */
import {startPage} from '../features/frame/frame.js';
import {procedureWords} from '../features/procedures/words.js';
import {budgetDesk} from '../features/uncertainty/desk.js';
import {call} from '../lib/api.js';
import {byId, fill, h} from '../lib/dom.js';
import {keepPlace} from '../lib/place.js';

startPage(async session => {
	const models = (await call('GET', '/uncertainty-models')).items;

	fill(byId('main'), procedureWords('/uncertainty'),
		h('p', {class: 'lead no-print'}, 'How well a value is known: what it depends on, how well each part is known, and what that makes together.'),
		budgetDesk({models, session}));
	keepPlace();
});
