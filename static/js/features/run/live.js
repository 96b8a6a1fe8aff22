/*
 * Readings from the devices: what input and output say now, and the run that reads by itself. Following, the person sets the
 * source. Driving, the server sets it: armed within limits, started by a held button, stopped by anybody, and ended at the source's
 * safe value when this page is gone.
 */
import {ApiError, call} from '../../lib/api.js';
import {fill, h} from '../../lib/dom.js';
import {confirmDialog, field} from '../../lib/form.js';
import {shown} from '../../lib/format.js';

const ALIVE_MS = 700;
const ALSO_MOST = 4;
const HELD_MS = 1700;	/* a little longer than the server asks */

/**
 * @param {import('./prepare.js').Doing & {refresh: () => Promise<any>, live: any, modem: (channel: any) => HTMLElement|null}} doing live: what is known of its channels when the page is made; modem: where that of a channel is attached here
 */
export function livePanel(doing) {
	const element = h('div', {class: 'live-place'});
	const input = value('Input'), output = value('Output'), state = h('p', {class: 'live-state', role: 'status'}), acts = h('div', {class: 'actions'}), trouble = h('div', {role: 'alert'});
	/** @type {EventSource|null} */ let events = null;
	/** @type {any} */ let record = null;
	/** @type {string[]} */ let also = [];
	let asked = '', listening = '', told = '', token = '', beating = false, point = '';

	/** @param {any} fresh @param {boolean} working */
	function show(fresh, working) {
		record = fresh;
		element.hidden = !working;
		if (!working)
			return void listen(null);
		if (asked === fresh.id)
			return;
		asked = fresh.id;
		if (doing.live)	/* known before the page is laid out, so that nothing moves */
			lay(doing.live);
		else
			look().catch(problem);
	}

	async function look() {
		lay(await call('GET', `/test-records/${record.id}/live`, undefined, {stay: true}));
	}

	/** @param {any} live */
	function lay(live) {
		if (!live.input && !live.output)
			return void fill(element);
		if (!element.firstChild) {
			input.below(doing.modem(live.input));
			output.below(doing.modem(live.output));
			fill(element, h('section', {class: 'raised live'}, h('h2', {}, 'From the devices'), h('div', {class: 'live-values'}, live.input && input.element, live.output && output.element), state, trouble, acts));
		}
		listen(live);
		tell(live);
	}

	/** Values come as a stream; the browser connects anew by itself. @param {any} live */
	function listen(live) {
		const channels = [live?.input, live?.output].filter(Boolean).map(one => one.id).join(',');

		if (channels === listening)
			return;
		listening = channels;
		events?.close();
		events = channels ? new EventSource(`/api/v1/live?channels=${channels}`) : null;
		events?.addEventListener('value', event => {
			const news = JSON.parse(/** @type {MessageEvent} */ (event).data);
			(news.channel === live.input?.id ? input : output).show(news);
		});
	}

	/** What the run does, and what may be done. @param {any} live */
	function tell(live) {
		const run = live.run && !(live.run.ended && !live.run.trouble) ? live.run : null, ended = live.run?.ended;
		const name = JSON.stringify([run?.phase === 'armed', Boolean(run), ended, Boolean(live.input), Boolean(live.output), live.drivable, live.run?.mode]);

		state.textContent = live.run ? shown(upper(live.run.sentence)) : 'Nothing is recorded by itself.';
		if (live.run?.trouble)
			fill(trouble, h('div', {class: 'trouble'}, h('p', {}, live.run.trouble)));
		else if (run)
			fill(trouble);
		if (name !== told)
			fill(acts, actions(live, run));
		told = name;
		if (run && run.phase !== 'armed' && !beating)
			beat(live);
	}

	/** @param {any} live @param {any} run */
	function actions(live, run) {
		if (run?.phase === 'armed' && token)
			return [holdButton(), h('button', {type: 'button', class: 'big', onclick: stop}, 'Disarm')];
		if (run)
			return [h('button', {type: 'button', class: 'big danger', onclick: stop}, run.mode === 'driven' ? 'Stop, to the safe value' : 'Stop')];
		return live.input && live.output && [
			h('button', {type: 'button', class: 'big', onclick: () => begin({mode: 'follow'}).catch(problem)}, 'Follow me'),
			live.drivable && h('button', {type: 'button', class: 'big', onclick: () => arm(live)}, 'Drive the source'),
			h('p', {class: 'muted small'}, live.drivable ? 'Follow me: you set the source, the readings are taken when input and output are steady. Drive: the source is set for you.' : 'You set the source; the readings are taken when input and output are steady.'), alsoPart(live)];
	}

	/** Further channels of its area, and of standards, are recorded against time with it. @param {any} live */
	function alsoPart(live) {
		const list = h('div', {class: 'tick-row'}), part = h('details', {class: 'live-also', ontoggle: () => list.firstChild || read()}, h('summary', {}, 'Record other channels with it'), list);

		async function read() {
			const {items} = await call('GET', '/channels', undefined, {stay: true});
			const others = items.filter((/** @type {any} */ one) => one.id !== live.input?.id && one.id !== live.output?.id && [null, record.instrument.area].includes(one.area));
			const turn = (/** @type {any} */ event) => {
				also = event.target.checked ? [...also, event.target.value] : also.filter(id => id !== event.target.value);
				for (const box of /** @type {NodeListOf<HTMLInputElement>} */ (list.querySelectorAll('input')))
					box.disabled = also.length >= ALSO_MOST && !box.checked;
			};
			fill(list, others.length ? others.map((/** @type {any} */ one) => h('label', {class: 'choice'}, h('input', {type: 'checkbox', value: one.id, checked: also.includes(one.id), onchange: turn}), h('span', {}, `${one.label} ${one.side}`))) : 'There are no others.');
		}
		return part;
	}

	/** @param {object} wish */
	async function begin(wish) {
		fill(trouble);
		const live = await call('POST', `/test-records/${record.id}/live`, {...wish, also});

		token = live.token ?? '';
		tell(live);
	}

	/** Limits and cautions before anything is armed. @param {any} live */
	function arm(live) {
		const {low, high, safe} = live.input.source.drive, unit = live.input.source.unit, span = Math.abs(record.instrument.input.high - record.instrument.input.low);
		const limits = /** @type {any} */ ({number: true, required: true, width: 'short', unit});

		confirmDialog({
			title: `Drive ${live.input.label} on ${record.instrument.tag}`, submit: 'Arm', danger: true,
			body: [
				h('ul', {class: 'bullets'}, record.cautions.map((/** @type {any} */ caution) => h('li', {}, caution.text))),
				h('p', {class: 'prose'}, 'Stand at the instrument, see it, and keep others clear. The permit and local rules come first. When it ends, is stopped, or this page or a device no longer answers, the source goes to ', h('b', {}, `${safe} ${unit}`), '.'),
			],
			fields: [
				field({name: 'low', label: 'Never below', value: low, ...limits}),
				field({name: 'high', label: 'Never above', value: high, ...limits}),
				field({name: 'rate', label: 'Not faster than, a second', value: span / 10, ...limits, positive: true}),
				field({name: 'minutes', label: 'Ends after, minutes', value: '30', whole: true, required: true, width: 'short'}),
				field({name: 'seen', label: 'I stand at the instrument and have seen to the cautions', check: true}),
			],
			onsubmit: async values => {
				if (!values.seen)
					throw new ApiError(422, {detail: 'Say that you stand at the instrument.', errors: [{pointer: '/seen', detail: 'Nothing is armed without it.'}]});
				await begin({mode: 'driven', low: Number(values.low), high: Number(values.high), rate: Number(values.rate), minutes: Number(values.minutes)});
			},
		});
	}

	/* Pressed for as long as the bar needs to fill: nothing starts by a touch in passing. */
	function holdButton() {
		const fillBar = h('span', {class: 'hold-bar'}), button = h('button', {type: 'button', class: 'big danger hold'}, fillBar, h('span', {}, 'Hold to start'));
		let timer = 0;
		const press = () => {
			if (timer)
				return;
			button.classList.add('held');
			timer = window.setTimeout(() => {
				let_go();
				call('POST', `/test-records/${record.id}/live/start`, {token}).then(tell, problem);
			}, HELD_MS);
		};
		const let_go = () => {
			clearTimeout(timer);
			timer = 0;
			button.classList.remove('held');
		};

		button.addEventListener('pointerdown', press);
		for (const kind of ['pointerup', 'pointerleave', 'pointercancel', 'blur'])
			button.addEventListener(kind, let_go);
		button.addEventListener('keydown', event => [' ', 'Enter'].includes(/** @type {KeyboardEvent} */ (event).key) && (event.preventDefault(), press()));
		button.addEventListener('keyup', let_go);
		return button;
	}

	function stop() {
		call('POST', `/test-records/${record.id}/live/stop`, {}).then(answer => after(answer.run)).catch(problem);
	}

	/** The page says that it is there as long as the run is on. @param {any} live */
	async function beat(live) {
		beating = true;
		for (;;) {
			await new Promise(resolve => setTimeout(resolve, ALIVE_MS));
			const answer = await call('POST', `/test-records/${record.id}/live/alive`, {}, {stay: true}).catch(() => null);

			if (!answer)
				continue;	/* the server is away: it makes the source safe by itself */
			tell({...live, run: answer.run});
			if (answer.run.point !== point || answer.run.ended) {
				point = answer.run.point;
				await doing.refresh().catch(() => {});
			}
			if (answer.run.ended)
				break;
		}
		beating = false;
		told = '';
		tell({...live, run: (await call('GET', `/test-records/${record.id}/live`, undefined, {stay: true}).catch(() => live)).run});
	}

	/** @param {any} run */
	async function after(run) {
		if (run)
			told = '';
		await look();
	}

	/** @param {unknown} error */
	function problem(error) {
		if (!(error instanceof ApiError))
			return doing.problem(error);
		fill(trouble, h('div', {class: 'trouble'}, h('p', {}, error.message)));
	}
	return {element, show};
}

/** @param {string} sentence */
function upper(sentence) {
	return sentence ? sentence[0].toUpperCase() + sentence.slice(1) : '';
}

/** One side: the number large, where it comes from small. @param {string} word */
function value(word) {
	const number = h('b', {class: 'live-number'}, '\u2013'), from = h('span', {class: 'muted small block'}), status = h('span', {class: 'small block'}), under = h('div', {});

	return {
		element: h('div', {class: 'live-value'}, h('span', {class: 'muted'}, word), number, from, status, under),
		/** @param {HTMLElement|null} part */
		below(part) { fill(under, part); },
		/** @param {any} news */
		show(news) {
			number.textContent = news.good && news.value !== null ? shown(`${Number(news.value).toFixed(3)} ${news.unit}`).replace('-', '\u2212') : '\u2013';
			from.textContent = news.from;
			status.textContent = news.good ? news.status.join(', ') : news.why;
			status.classList.toggle('bad', !news.good || news.blocks);
		},
	};
}
