/* Live values: every channel, what it says now, how old that is, its last minutes, and whether the right device answers. */
import {mayDo, showTrouble, startPage} from '../features/frame/frame.js';
import {call} from '../lib/api.js';
import {byId, fill, h, s} from '../lib/dom.js';
import {shown} from '../lib/format.js';

const AT_ONCE = 16;	/* channels of one stream, as the server has it */
const KEPT_MS = 120000;

startPage(async session => {
	const {items} = await call('GET', '/channels');

	if (!items.length) {
		fill(byId('main'), h('div', {class: 'empty part'}, h('h2', {}, 'No channel yet'), h('div', {}, h('p', {}, 'A channel says from which device the input or output of an instrument or a standard is read.'))));
		return;
	}
	const rows = new Map(items.map((/** @type {any} */ channel) => [channel.id, line(channel, mayDo(session, 'test'))]));

	fill(byId('main'), h('ul', {class: 'live-rows'}, [...rows.values()].map(row => row.element)));
	for (let i = 0; i < items.length; i += AT_ONCE) {
		const events = new EventSource(`/api/v1/live?channels=${items.slice(i, i + AT_ONCE).map((/** @type {any} */ channel) => channel.id).join(',')}`);

		events.addEventListener('value', event => {
			const news = JSON.parse(/** @type {MessageEvent} */ (event).data);
			rows.get(news.channel)?.show(news);
		});
	}
	setInterval(() => rows.forEach(row => row.age()), 1000);
});

/** @param {any} channel @param {boolean} mayAsk */
function line(channel, mayAsk) {
	const number = h('div', {class: 'live-now'}, '\u2013'), old = h('span', {}), status = h('span', {class: 'small block'}), said = h('div', {role: 'status'});
	const path = s('path', {fill: 'none', stroke: 'currentColor', 'stroke-width': 1.5, 'vector-effect': 'non-scaling-stroke'});
	const trend = s('svg', {class: 'live-trend', viewBox: '0 0 100 20', preserveAspectRatio: 'none', 'aria-hidden': 'true'}, path);
	const side = channel.instrument_id ? channel.side : channel.side === 'output' ? 'gives' : 'reads';
	/** @type {Array<[number, number]>} */
	const samples = [];
	let at = 0;

	const row = {
		element: h('li', {class: 'live-row'},
			h('div', {}, h('a', {href: channel.instrument_id ? `/instrument?id=${channel.instrument_id}` : `/standard?id=${channel.standard_id}`}, h('b', {}, channel.label)), `, ${side}`,
				h('span', {class: 'muted small block'}, channel.words, ' \u00b7 ', old), status,
				mayAsk && h('div', {class: 'actions'}, h('button', {type: 'button', onclick: ask}, 'Who answers?')), said),
			trend, number),
		/** @param {any} news */
		show(news) {
			number.textContent = news.good && news.value !== null ? shown(`${Number(news.value).toFixed(3)} ${news.unit}`).replace('-', '\u2212') : '\u2013';
			status.textContent = news.good ? news.status.join(', ') : news.why;
			status.classList.toggle('bad', !news.good || news.blocks);
			if (!news.good || news.value === null)
				return;
			at = Date.parse(news.at);
			samples.push([at, news.value]);
			while (samples.length && samples[0][0] < at - KEPT_MS)
				samples.shift();
			draw();
			row.age();
		},
		age() {
			const seconds = Math.max(0, Math.round((Date.now() - at) / 1000));
			old.textContent = at ? seconds < 2 ? 'now' : `${seconds} s ago` : 'no value yet';
		},
	};

	function draw() {
		const values = samples.map(([, value]) => value), low = Math.min(...values), high = Math.max(...values), span = high - low || 1;
		path.setAttribute('d', samples.map(([time, value], i) => `${i ? 'L' : 'M'}${(100 - (at - time) / KEPT_MS * 100).toFixed(2)} ${(19 - (value - low) / span * 18).toFixed(2)}`).join(''));
	}
	async function ask() {
		try {
			const answer = await call('POST', `/channels/${channel.id}/ask`, {});

			fill(said, h('p', {class: answer.fits ? 'small' : 'small bad'}, answer.device ? `${answer.device.device_id}${answer.device.tag ? `, tag ${answer.device.tag}` : ''}. ${answer.fits ? 'It is the right one.' : answer.why}` : `It does not say who it is: ${answer.why}`,
				answer.fits && answer.device && answer.channel.device_id !== answer.device.device_id && h('button', {type: 'button', onclick: () => confirm(answer.device.device_id)}, 'Keep it as the right one')));
		} catch (error) {
			showTrouble(said, error);
		}
	}
	/** @param {string} device */
	async function confirm(device) {
		try {
			await call('POST', `/channels/${channel.id}/confirm`, {device_id: device});
			fill(said, h('p', {class: 'small'}, 'Kept. Another device will be refused by name.'));
		} catch (error) {
			showTrouble(said, error);
		}
	}
	return row;
}
