/* A channel as the API writes it and as its form holds it. Pure. */
import {typedFigure} from '../../lib/quantity.js';

export const PROTOCOLS = /** @type {Array<[string, string]>} */ ([['hart_ip_udp', 'HART-IP over UDP'], ['hart_ip_tcp', 'HART-IP over TCP'], ['hart_serial', 'HART, serial modem at the server'], ['hart_browser', 'HART, modem at a browser'],
	['scpi', 'SCPI over TCP'], ['modbus_tcp', 'Modbus TCP'], ['modbus_rtu', 'Modbus RTU, serial line at the server']]);
export const VARIABLES = /** @type {Array<[string, string]>} */ ([['pv', 'primary variable'], ['sv', 'secondary variable'], ['tv', 'tertiary variable'], ['qv', 'quaternary variable'],
	['current', 'loop current'], ['percent', 'percent of range']]);
export const REGISTERS = /** @type {Array<[string, string]>} */ ([['holding', 'holding registers'], ['input', 'input registers']]);
export const FORMATS = /** @type {Array<[string, string]>} */ ([['f32-abcd', 'float, bytes ABCD'], ['f32-cdab', 'float, bytes CDAB'], ['f32-badc', 'float, bytes BADC'], ['f32-dcba', 'float, bytes DCBA'],
	['i16', '16 bits with sign'], ['u16', '16 bits without sign'], ['i32-abcd', '32 bits with sign, ABCD'], ['i32-cdab', '32 bits with sign, CDAB'], ['u32-abcd', '32 bits without sign, ABCD'], ['u32-cdab', '32 bits without sign, CDAB']]);
export const PARITIES = /** @type {Array<[string, string]>} */ ([['even', 'even'], ['odd', 'odd'], ['none', 'none']]);
export const BAUDS = /** @type {Array<[string, string]>} */ ([1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200].map(n => [String(n), String(n)]));

const TEXTS = ['host', 'device', 'variable', 'query', 'set', 'registers', 'format', 'parity'];
const NUMBERS = ['port', 'address', 'register', 'set_register', 'read_factor', 'set_factor', 'baud', 'timeout_ms'];
const SCALE = ['raw_low', 'raw_high', 'low', 'high'];
const DRIVE = ['low', 'high', 'safe'];

export const isHart = (/** @type {string} */ protocol) => protocol.startsWith('hart');
export const isModbus = (/** @type {string} */ protocol) => protocol.startsWith('modbus');
export const isSerial = (/** @type {string} */ protocol) => protocol === 'hart_serial' || protocol === 'modbus_rtu';
export const isFed = (/** @type {string} */ protocol) => protocol === 'hart_browser';
export const mayDrive = (/** @type {string} */ protocol) => protocol === 'scpi' || isModbus(protocol);

/** @param {any} channel null for a new one @param {string} unit most likely @param {string} [sign] @returns {Record<string, any>} */
export function channelValues(channel, unit, sign) {
	const source = channel?.source ?? {protocol: 'hart_ip_udp', variable: 'pv', unit};
	const typed = (/** @type {any} */ value) => value === undefined ? '' : typedFigure(value, sign);
	/** @type {Record<string, any>} */
	const values = {protocol: source.protocol, unit: source.unit, period_s: typed((channel?.period_ms ?? 1000) / 1000), scaled: Boolean(source.scale), drivable: Boolean(source.drive)};

	for (const name of TEXTS)
		values[name] = source[name] ?? '';
	for (const name of NUMBERS)
		values[name] = typed(source[name]);
	for (const name of SCALE)
		values[`scale_${name}`] = typed(source.scale?.[name]);
	for (const name of DRIVE)
		values[`drive_${name}`] = typed(source.drive?.[name]);
	return values;
}

/** What of the form belongs to its protocol, as the body of POST and PUT has it. @param {Record<string, any>} values as readForm() gives them */
export function channelBody(values) {
	/** @type {any} */
	const source = {protocol: values.protocol, unit: values.unit};
	const given = (/** @type {string} */ name) => values[name] !== undefined && values[name] !== null && values[name] !== '';
	const part = (/** @type {string} */ stem, /** @type {string[]} */ names) => Object.fromEntries(names.filter(name => given(`${stem}_${name}`)).map(name => [name, Number(values[`${stem}_${name}`])]));

	for (const name of TEXTS)
		if (given(name))
			source[name] = values[name];
	for (const name of NUMBERS)
		if (given(name))
			source[name] = Number(values[name]);
	if (values.scaled)
		source.scale = part('scale', SCALE);
	if (values.drivable)
		source.drive = part('drive', DRIVE);
	return {source, period_ms: Math.round(Number(values.period_s) * 1000)};
}
