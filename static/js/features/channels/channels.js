/* From which devices an instrument or a standard is read: shown as lines, added, changed and taken away in place. */
import {call} from '../../lib/api.js';
import {unitField} from '../../lib/amount.js';
import {fill, h} from '../../lib/dom.js';
import {confirmDialog, field, form} from '../../lib/form.js';
import {figure} from '../../lib/quantity.js';
import {BAUDS, FORMATS, PARITIES, PROTOCOLS, REGISTERS, VARIABLES, channelBody, channelValues, isFed, isHart, isModbus, isSerial, mayDrive} from './values.js';
import {whoAnswers} from './who.js';

/**
 * @param {{owner: {instrument_id: string}|{standard_id: string}, label: string, model: string, sides: Array<{side: string, word: string, unit: string}>, channels: any[], mayManage: boolean, mayTest: boolean}} spec
 * @returns {HTMLElement|false} nothing where there is nothing to see and nothing to do
 */
export function channelPart(spec) {
	const place = h('div', {});

	if (!spec.channels.length && !spec.mayManage)
		return false;
	show(place, {...spec, channels: [...spec.channels], open: null});
	return h('section', {class: 'part', id: 'channels'}, h('h2', {}, 'What it is read from'), place);
}

/** Maker and model in one, as the server has it. @param {{maker: string|null, model: string|null}} thing */
export function modelOf({maker, model}) {
	return `${maker ?? ''} ${model ?? ''}`.trim();
}

/** @param {HTMLElement} place @param {any} state */
function show(place, state) {
	const {sides, channels, mayManage, open} = state;
	const to = (/** @type {string|null} */ side, /** @type {string} */ focus) => {
		state.open = side;
		show(place, state);
		/** @type {HTMLElement|null} */ (place.querySelector(focus))?.focus();
	};

	fill(place, h('ul', {class: 'rows channel-rows'}, sides.map((/** @type {any} */ side) => {
		const channel = channels.find((/** @type {any} */ other) => other.side === side.side);

		if (open === side.side)
			return h('li', {}, editor(place, state, side, channel, to));
		return h('li', {}, channel ? line(channel, side, state, place, to)
			: h('div', {class: 'channel-line'}, h('div', {}, h('b', {}, side.word), h('p', {class: 'muted'}, 'typed by hand')), h('div', {class: 'actions no-print'},
				mayManage && !open && h('button', {type: 'button', class: 'quiet', 'data-side': side.side, onclick: () => to(side.side, '.channel-form select')}, 'Read it from a device', h('span', {class: 'visually-hidden'}, `: ${side.word}`)))));
	})), channels.length > 0 && h('p', {class: 'no-print'}, h('a', {href: '/live'}, 'Live values')));
}

/** @param {any} channel @param {any} side @param {any} state @param {HTMLElement} place @param {(side: string|null, focus: string) => void} to */
function line(channel, side, state, place, to) {
	const {mayManage, mayTest, open} = state, who = whoAnswers(channel), drive = channel.source.drive;

	return h('div', {class: 'channel-line'},
		h('div', {}, h('b', {}, side.word), h('p', {}, channel.words, h('span', {class: 'muted'}, `, ${channel.source.unit}, every ${figure(channel.period_ms / 1000)}\u00a0s`)),
			drive && h('p', {}, `May be driven from ${figure(drive.low)} to ${figure(drive.high)} ${channel.source.unit}; safe at ${figure(drive.safe)} ${channel.source.unit}.`),
			h('p', {class: 'muted small'}, channel.device_id ? `The right device is ${channel.device_id}${channel.device_tag ? `, tag ${channel.device_tag}` : ''}.` : 'Which device is the right one has not been confirmed yet.'),
			who.said),
		h('div', {class: 'actions no-print'}, mayTest && who.button, mayManage && !open && [
			h('button', {type: 'button', class: 'quiet', 'data-side': side.side, onclick: () => to(side.side, '.channel-form select')}, 'Change', h('span', {class: 'visually-hidden'}, ` where ${side.word} is read`)),
			h('button', {type: 'button', class: 'quiet', onclick: () => takeAway(channel, side, state, () => to(null, `[data-side="${side.side}"]`))}, 'Take away', h('span', {class: 'visually-hidden'}, ` the channel of ${side.word}`))]));
}

/** @param {any} channel @param {any} side @param {any} state @param {() => void} done */
function takeAway(channel, side, state, done) {
	confirmDialog({title: `Type it by hand again: ${side.word}?`, body: [h('p', {}, `${channel.words} is no longer read for ${state.label}. Records keep what was read.`)], submit: 'Take it away', danger: true,
		onsubmit: async () => {
			await call('DELETE', `/channels/${channel.id}`, undefined, {version: channel.version});
			state.channels = state.channels.filter((/** @type {any} */ other) => other.id !== channel.id);
			setTimeout(done);
		}});
}

/** @param {HTMLElement} place @param {any} state @param {any} side @param {any} channel @param {(side: string|null, focus: string) => void} to */
function editor(place, state, side, channel, to) {
	const holder = h('div', {class: 'raised'}, h('p', {class: 'progress', role: 'status'}, 'Reading the units'));
	const close = () => to(null, `[data-side="${side.side}"]`);

	Promise.all([call('GET', '/units'), channel ? null : likeOne(state, side)]).then(([{items: units}, like]) => {
		const values = channelValues(channel ?? like?.channel, side.unit), protocol = field({name: 'protocol', pointer: '/source/protocol', label: 'How it is spoken to', options: PROTOCOLS, value: values.protocol, width: 'medium'});
		const select = /** @type {HTMLSelectElement} */ (protocol.querySelector('select')), rest = h('div', {class: 'channel-fields'});
		const fields = () => fill(rest, sourceFields(select.value, values, units), driveFields(select.value, values));

		select.addEventListener('change', () => {
			keepTyped(rest, values);
			fields();
		});
		fields();
		fill(holder, h('h3', {}, `${state.label}: ${side.word}`), form({class: 'form channel-form', submit: 'Save', cancel: close, fields: [like && h('p', {class: 'muted'}, `As for ${like.label}, of the same model; only where it is differs.`), protocol, rest],
			onsubmit: async typed => {
				const body = channelBody(typed);
				const saved = channel ? await call('PUT', `/channels/${channel.id}`, body, {version: channel.version}) : await call('POST', '/channels', {...state.owner, side: side.side, ...body});

				state.channels = [...state.channels.filter((/** @type {any} */ other) => other.side !== side.side), saved];
				close();
			}}));
		select.focus();
	}, error => {
		fill(holder, h('p', {class: 'form-error', role: 'alert'}, error.message), h('div', {class: 'actions'}, h('button', {type: 'button', onclick: close}, 'Close')));
	});
	return holder;
}

/**
 * How a device of the same maker and model is spoken to on that side already: queries, commands, factors and formats belong to the
 * model. That the other may be driven says nothing of this one.
 *
 * @param {any} state @param {any} side
 */
async function likeOne({model}, {side}) {
	const other = model && (await call('GET', '/channels')).items.find((/** @type {any} */ one) => one.model === model && one.side === side);

	return other ? {label: other.label, channel: {...other, source: {...other.source, host: '', device: '', drive: undefined}}} : null;
}

/** What was typed outlives another choice of protocol. @param {HTMLElement} rest @param {Record<string, any>} values */
function keepTyped(rest, values) {
	for (const input of /** @type {NodeListOf<any>} */ (rest.querySelectorAll('input, select')))
		if (input.name)
			values[input.name] = input.type === 'checkbox' ? input.checked : input.value;
}

/** @param {string} protocol @param {Record<string, any>} values @param {any[]} units */
function sourceFields(protocol, values, units) {
	const text = (/** @type {string} */ name, /** @type {string} */ label, /** @type {any} */ more = {}) => field({name, pointer: `/source/${name}`, label, value: values[name] || more.or, width: 'short', ...more, attributes: {spellcheck: 'false', autocomplete: 'off', ...more.attributes}});
	const word = (/** @type {string} */ name, /** @type {string} */ label, /** @type {any} */ options) => field({name, pointer: `/source/${name}`, label, options, value: values[name] || options[0][0], width: 'medium'});
	const usual = (/** @type {string} */ name, /** @type {string} */ label, /** @type {string|number} */ absent) => text(name, label, {whole: true, unit: `${absent} if empty`});

	return [
		isFed(protocol) ? h('p', {class: 'prose'}, 'A technician attaches the modem at the browser, on Live values or beside the test. Two values a second at most.')
			: isSerial(protocol) ? text('device', 'Serial port of the server', {required: true, width: 'medium', help: 'like /dev/ttyUSB0'}) : h('div', {class: 'fields'},
			text('host', 'Name or address', {required: true, width: 'medium'}), usual('port', 'Port', {scpi: 5025, modbus_tcp: 502}[protocol] ?? 5094)),
		protocol === 'modbus_rtu' && h('div', {class: 'fields'}, field({name: 'baud', pointer: '/source/baud', label: 'Baud', options: BAUDS, value: values.baud || '9600', width: 'short'}), word('parity', 'Parity', PARITIES)),
		isHart(protocol) && h('div', {class: 'fields'}, word('variable', 'What is read', VARIABLES), usual('address', 'Poll address', 0)),
		protocol === 'scpi' && h('div', {class: 'fields'}, text('query', 'Query', {required: true, or: 'MEAS:CURR:DC?', width: 'medium', help: 'Only this is sent to read.'}), text('read_factor', 'Factor', {number: true, unit: '1 if empty', help: '1000 turns A into mA.'})),
		isModbus(protocol) && [h('div', {class: 'fields'}, word('registers', 'Out of', REGISTERS), text('register', 'First register', {whole: true, required: true, unit: 'from 0'}), usual('address', 'Unit', 1)),
			h('div', {class: 'fields'}, word('format', 'Number format', FORMATS)), scaleFields(values)],
		h('div', {class: 'fields'}, unitField({name: 'unit', pointer: '/source/unit', label: 'Its unit', value: values.unit, required: true}, units),
			field({name: 'period_s', pointer: '/period_ms', label: 'Read every', unit: 's', number: true, positive: true, required: true, value: values.period_s}), !isFed(protocol) && usual('timeout_ms', 'Time-out, ms', 1000)),
	];
}

/** @param {Record<string, any>} values */
function scaleFields(values) {
	const box = field({name: 'scaled', pointer: '/source/scale', label: 'The integer is scaled', check: true, value: values.scaled}), ends = h('div', {class: 'channel-fields'});
	const input = /** @type {HTMLInputElement} */ (box.querySelector('input'));
	const end = (/** @type {string} */ name, /** @type {string} */ label) => field({name: `scale_${name}`, pointer: `/source/scale/${name}`, label, number: true, required: true, value: values[`scale_${name}`], width: 'figure'});
	const turn = () => {
		values.scaled = input.checked;
		fill(ends, input.checked && [h('div', {class: 'fields'}, end('raw_low', 'From the integer'), end('low', 'which is')), h('div', {class: 'fields'}, end('raw_high', 'to the integer'), end('high', 'which is'))]);
	};

	input.addEventListener('change', turn);
	turn();
	return [box, ends];
}

/** @param {string} protocol @param {Record<string, any>} values */
function driveFields(protocol, values) {
	if (!mayDrive(protocol))
		return null;
	const box = field({name: 'drivable', pointer: '/source/drive', label: 'The program may drive it', check: true, value: values.drivable, help: 'Only in a test that somebody arms at the instrument, within these limits. It goes to the safe value whenever nobody watches.'});
	const input = /** @type {HTMLInputElement} */ (box.querySelector('input')), place = h('div', {class: 'channel-fields'});
	const end = (/** @type {string} */ name, /** @type {string} */ label) => field({name: `drive_${name}`, pointer: `/source/drive/${name}`, label, number: true, required: true, value: values[`drive_${name}`], width: 'figure'});
	const turn = () => fill(place, input.checked && [
		protocol === 'scpi' ? h('div', {class: 'fields'}, field({name: 'set', pointer: '/source/set', label: 'Command', required: true, value: values.set || 'SOUR:CURR %s', width: 'medium', help: '%s is where the number goes', attributes: {spellcheck: 'false', autocomplete: 'off'}}),
			field({name: 'set_factor', pointer: '/source/set_factor', label: 'Factor', number: true, value: values.set_factor, unit: '1 if empty', help: '0.001 turns mA into A.'}))
			: h('div', {class: 'fields'}, field({name: 'set_register', pointer: '/source/set_register', label: 'Register to set', whole: true, required: true, value: values.set_register, unit: 'from 0'})),
		h('div', {class: 'fields'}, end('low', 'Never below'), end('high', 'never above'), end('safe', 'Safe value'))]);

	input.addEventListener('change', () => {
		values.drivable = input.checked;
		turn();
	});
	turn();
	return [box, place];
}
