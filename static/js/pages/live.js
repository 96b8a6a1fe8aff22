/* Live values: what the channels of an area say now, how old that is, their last minutes, and whether the right device answers. */
import {whoAnswers} from '../features/channels/who.js';
import {mayDo, startPage} from '../features/frame/frame.js';
import {modemPart, needsModem} from '../features/modem/attach.js';
import {call} from '../lib/api.js';
import {byId, fill, h, s} from '../lib/dom.js';
import {field} from '../lib/form.js';
import {shown} from '../lib/format.js';

const AT_ONCE = 100;	/* channels of one stream, as the server has it */
const KEPT_MS = 120000;
const STANDARDS = '-';

startPage(async session => {
	const {items} = await call('GET', '/channels');

	if (!items.length) {
		fill(byId('main'), h('div', {class: 'empty part'}, h('h2', {}, 'No channel yet'), h('div', {},
			h('p', {}, 'A channel says from which device the input or output of an instrument or a standard is read. The metrology lead adds it on the page of the instrument or the standard.'))));
		return;
	}
	const places = new Map(items.map((/** @type {any} */ channel) => [channel.area ?? STANDARDS, channel.area ?? 'standards']));
	const asked = new URLSearchParams(location.search).get('area') ?? (items.length > AT_ONCE ? items[0].area ?? STANDARDS : '');
	const chosen = items.filter((/** @type {any} */ channel) => !asked || (channel.area ?? STANDARDS) === asked), watched = chosen.slice(0, AT_ONCE);
	const rows = new Map(watched.map((/** @type {any} */ channel) => [channel.id, line(channel, mayDo(session, 'test'))]));

	fill(byId('main'),
		places.size > 1 && h('form', {class: 'filters no-print', action: '/live', 'aria-label': 'Which channels', onchange: (/** @type {any} */ event) => event.currentTarget.requestSubmit()},
			field({name: 'area', label: 'Where', value: asked, options: [...(items.length > AT_ONCE ? [] : [/** @type {[string, string]} */ (['', 'the whole plant'])]), .../** @type {Iterable<[string, string]>} */ (places)]})),
		chosen.length > AT_ONCE && h('p', {class: 'notice'}, `The first ${AT_ONCE} of ${chosen.length} channels.`),
		h('ul', {class: 'live-rows'}, [...rows.values()].map(row => row.element)));
	const events = new EventSource(`/api/v1/live?channels=${watched.map((/** @type {any} */ channel) => channel.id).join(',')}`);

	events.addEventListener('value', event => {
		const news = JSON.parse(/** @type {MessageEvent} */ (event).data);
		rows.get(news.channel)?.show(news);
	});
	events.addEventListener('error', () => rows.forEach(row => row.lost()));
	setInterval(() => rows.forEach(row => row.age()), 1000);
});

/** @param {any} channel @param {boolean} mayAsk */
function line(channel, mayAsk) {
	const number = h('span', {}, '\u2013'), unit = h('span', {class: 'live-unit'}, channel.source.unit), old = h('span', {}), status = h('p', {class: 'small live-status'}), ends = h('p', {class: 'small muted live-ends'});
	const path = s('path', {fill: 'none', stroke: 'currentColor', 'stroke-width': 1.5, 'vector-effect': 'non-scaling-stroke'});
	const side = channel.instrument_id ? channel.side : channel.side === 'output' ? 'gives' : 'reads', who = whoAnswers(channel);
	/** @type {Array<[number, number]>} */
	const samples = [];
	let at = 0;

	function draw() {
		const values = samples.map(([, value]) => value), low = Math.min(...values), high = Math.max(...values), span = high - low || 1;

		path.setAttribute('d', samples.map(([time, value], i) => `${i ? 'L' : 'M'}${(100 - (at - time) / KEPT_MS * 100).toFixed(2)} ${(19 - (value - low) / span * 18).toFixed(2)}`).join(''));
		ends.textContent = `${written(low)} to ${written(high)} in ${samples.length > 1 ? `${Math.max(1, Math.round((at - samples[0][0]) / 1000))} s` : 'one look'}`;
	}
	/** @param {string} why */
	function noValue(why) {
		number.textContent = '\u2013';
		status.textContent = why;
		status.classList.add('bad');
	}
	return {
		element: h('li', {class: 'live-row'},
			h('div', {class: 'live-name'}, h('a', {href: channel.instrument_id ? `/instrument?id=${channel.instrument_id}` : `/standard?id=${channel.standard_id}`}, h('b', {}, channel.label)), ` ${side}`,
				h('p', {class: 'muted small'}, channel.about), h('p', {class: 'muted small'}, channel.words, old), h('div', {class: 'live-said'}, mayAsk && who.button, status), mayAsk && needsModem(channel) && modemPart(channel, 'quiet'), mayAsk && who.said),
			h('div', {class: 'live-past'}, s('svg', {class: 'live-trend', viewBox: '0 0 100 20', preserveAspectRatio: 'none', 'aria-hidden': 'true'}, path), ends),
			h('p', {class: 'live-now'}, number, ' ', unit)),
		/** @param {any} news */
		show(news) {
			if (!news.good || news.value === null)
				return noValue(news.good ? news.status.join(', ') || 'It gives no number' : news.why);
			number.textContent = written(news.value);
			unit.textContent = news.unit;
			status.textContent = news.status.join(', ');
			status.classList.toggle('bad', news.blocks);
			at = Date.parse(news.at);
			samples.push([at, news.value]);
			while (samples[0][0] < at - KEPT_MS)
				samples.shift();
			draw();
			this.age();
		},
		lost() {
			noValue('The server cannot be reached; it is tried again.');
		},
		age() {
			const seconds = Math.max(0, Math.round((Date.now() - at) / 1000));
			old.textContent = at ? seconds < 3 ? ', now' : `, ${seconds} s ago` : ', no value yet';
		},
	};
}

/** @param {number} value */
function written(value) {
	return shown(value.toFixed(3)).replace('-', '\u2212');
}
