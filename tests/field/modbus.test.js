/*
 * Modbus with other people's programs: modbus-serial as the device that is read and driven, mbpoll as a second client of the simulated
 * device. LOOPLEDGER_BIN is the program.
 */
import assert from 'node:assert/strict';
import {execFile, spawn} from 'node:child_process';
import {promisify} from 'node:util';
import {after, before, test} from 'node:test';
import ModbusRTU from 'modbus-serial';

const bin = process.env.LOOPLEDGER_BIN ?? '', run = promisify(execFile);

/* ---- modbus-serial as the device ---- */

/* 12.345 as a float32 is 41 45 85 1f (IEEE 754); whole numbers in two's complement. */
const holding = new Map([
	[0, 0x4145], [1, 0x851f],	/* abcd */
	[2, 0x851f], [3, 0x4145],	/* cdab */
	[4, 0x4541], [5, 0x1f85],	/* badc */
	[6, 0x1f85], [7, 0x4541],	/* dcba */
	[8, 0xfffe],			/* -2 */
	[9, 0xfffe],			/* 65534 */
	[10, 0x0001], [11, 0x0002],	/* 65538 */
	[12, 0x0002], [13, 0x0001],
	[14, 0xffff], [15, 0xfffe],	/* -2, or 4294967294 */
	[16, 0xfffe], [17, 0xffff],
	[18, 13824],			/* half of 27648 */
	[19, 0], [20, 0], [21, 0],	/* to be driven */
]);
const input = new Map([[0, 0xc120], [1, 0x0000]]);	/* -10 */
/** @type {string[]} */ const asked = [];
/** @type {any} */ let device;

/** @param {Map<number, number>} registers @param {string} what */
const from = (registers, what) => (/** @type {number} */ at, /** @type {number} */ unit) => {
	asked.push(what);
	if (unit !== 17)
		throw Object.assign(new Error('no such unit'), {modbusErrorCode: 11});
	if (!registers.has(at))
		throw Object.assign(new Error('no such register'), {modbusErrorCode: 2});
	return registers.get(at);
};
const vector = {
	getHoldingRegister: from(holding, 'holding'),
	getInputRegister: from(input, 'input'),
	setRegister(/** @type {number} */ at, /** @type {number} */ value) { asked.push('set'); holding.set(at, value); },
	readDeviceIdentification: () => ({0: 'Quillstrand', 1: 'PM-100k', 2: '3.1', 5: 'Pressure module'}),
};
const port = () => device._server.address().port;

before(async () => {
	device = new ModbusRTU.ServerTCP(vector, {host: '127.0.0.1', port: 0, unitID: 255});
	await new Promise((resolve, reject) => device.on('initialized', resolve).on('serverError', reject));
});
after(() => new Promise(resolve => device.close(resolve)));

/** @param {number} register @param {string[]} options */
async function read(register, ...options) {
	const {stdout} = await run(bin, ['field', 'read', 'modbus-tcp', `127.0.0.1:${port()}`, String(register), '--address', '17', ...options]);

	return Object.fromEntries(stdout.trim().split('\n').map(line => [line.split(/\s+/, 1)[0], line.replace(/^\S+\s+/, '')]));
}

test('each order of a float and each whole number is read from another library', async () => {
	for (const [register, format, value] of /** @type {[number, string, string][]} */ ([
		[0, 'f32-abcd', '12.345'], [2, 'f32-cdab', '12.345'], [4, 'f32-badc', '12.345'], [6, 'f32-dcba', '12.345'],
		[8, 'i16', '-2'], [9, 'u16', '65534'], [10, 'i32-abcd', '65538'], [12, 'i32-cdab', '65538'],
		[14, 'i32-abcd', '-2'], [16, 'i32-cdab', '-2'], [10, 'u32-abcd', '65538'], [12, 'u32-cdab', '65538'],
		[14, 'u32-abcd', '4.294967e+09'], [16, 'u32-cdab', '4.294967e+09']]))
		assert.equal((await read(register, '--format', format)).value, value, `${format} at ${register}`);
});

test('an input register is read by its own function', async () => {
	asked.length = 0;
	assert.equal((await read(0, '--function', '4', '--unit', 'kPa')).value, '-10 kPa');
	assert.deepEqual(asked, ['input', 'input']);	/* two registers, and nothing else */
});

test('counts are scaled to the unit', async () => {
	assert.equal((await read(18, '--format', 'i16', '--scale', '0,27648,0,100', '--unit', '%')).value, '50 %');
	assert.equal((await read(18, '--format', 'u16', '--scale', '0,27648,100,-60', '--unit', '%')).value, '20 %');
});

test('a device says who it is', async () => {
	const {maker, model, revision, device: id} = await read(0);

	assert.deepEqual([maker, model, revision, id], ['Quillstrand', 'Pressure module', '3.1', 'PM-100k']);
});

test('a refusal of another library is said in words', async () => {
	await assert.rejects(read(100), /no such register \(function 3, exception 2\)/);
	await assert.rejects(read(0, '--address', '18'), /behind the gateway does not answer \(function 3, exception 11\)/);
});

/* The guard of a driven source: the server that started it is gone without a word. */
/** @param {object} source */
function loseServer(source) {
	const guard = spawn(bin, ['guard'], {stdio: ['pipe', 'ignore', 'pipe']});

	guard.stdin.end(`${JSON.stringify({protocol: 'modbus_tcp', host: '127.0.0.1', port: port(), address: 17, unit: 'kPa', ...source})}\n`);
	return new Promise(resolve => guard.on('exit', resolve));
}

test('a register that is driven goes to its safe value when the server is gone', async () => {
	holding.set(19, 0x1234);
	holding.set(20, 0x1234);
	holding.set(21, 0x5678);
	asked.length = 0;
	assert.equal(await loseServer({register: 19, format: 'i16', scale: {raw_low: 0, raw_high: 27648, low: 0, high: 100}, set_register: 19, drive: {low: 0, high: 100, safe: 25}}), 0);
	assert.equal(holding.get(19), 6912);	/* a quarter of 27648 */
	assert.deepEqual(asked, ['set', 'holding']);	/* written once, and read back */
	assert.equal(await loseServer({register: 20, format: 'f32-cdab', set_register: 20, drive: {low: 0, high: 100, safe: 12.345}}), 0);
	assert.deepEqual([holding.get(20), holding.get(21)], [0x851f, 0x4145]);
});

/* ---- mbpoll as the client ---- */

/** @type {import('node:child_process').ChildProcess} */ let plant;
let plantPort = '';

before(async () => {
	plant = spawn(bin, ['field', 'simulate', '--port-base', '0'], {stdio: ['ignore', 'pipe', 'inherit']});
	let said = '';

	await new Promise((resolve, reject) => {
		plant.stdout?.on('data', chunk => (said += chunk).includes('Ctrl-C') && resolve(null));
		plant.on('exit', code => reject(new Error(`the simulation ended with ${code}`)));
	});
	plantPort = /^PL-01 .*127\.0\.0\.1:(\d+)/m.exec(said)?.[1] ?? '';
});
after(() => { plant.kill('SIGTERM'); });

/* Registers count from 1 there. */
/** @param {string[]} options */
const mbpoll = (...options) => run('mbpoll', ['-m', 'tcp', '-p', plantPort, '-a', '17', '-1', '-q', ...options]);
/** @param {string[]} options */
async function polled(...options) {
	const {stdout} = await mbpoll('-c', '1', '-B', ...options, '127.0.0.1');

	return Number(/^\[\d+\]:\s+(\S+)/m.exec(stdout)?.[1]);
}

test('another client reads the simulated device', async () => {
	const pressure = await polled('-r', '1', '-t', '3:float');

	assert.ok(pressure > 34 && pressure < 42, `${pressure} kPa on PT-2109`);
	const counts = await polled('-r', '3', '-t', '3');	/* 1/100 kPa */

	assert.ok(Math.abs(counts / 100 - pressure) < 1, `${counts} counts, ${pressure} kPa`);
});

test('what another client writes is what the device holds', async () => {
	await mbpoll('-r', '1', '-t', '4:float', '-B', '127.0.0.1', '62.5');
	assert.equal(await polled('-r', '1', '-t', '4:float'), 62.5);
	assert.equal(await polled('-r', '1', '-t', '3:float'), 62.5);
	assert.equal(await polled('-r', '3', '-t', '3'), 6250);
	const {stdout} = await run(bin, ['field', 'read', 'modbus-tcp', `127.0.0.1:${plantPort}`, '0', '--address', '17']);

	assert.match(stdout, /^value +62\.5$/m);
});

test('another client hears refusals as such', async () => {
	const refused = async (/** @type {Promise<any>} */ call, /** @type {RegExp} */ words) => {
		const {stdout = '', stderr = ''} = await call.catch(error => error);

		assert.match(stdout + stderr, words);
	};

	await refused(mbpoll('-r', '100', '-t', '4', '127.0.0.1'), /Illegal data address/);
	await refused(mbpoll('-r', '1', '-t', '0', '127.0.0.1'), /Illegal function/);	/* coils */
	await refused(mbpoll('-r', '1', '-t', '4', '127.0.0.1', '7'), /Illegal data address/);	/* half a float */
});
