/*
 * The native and the WebAssembly build of the core give the same answers to the last bit: cases.c asks the native one random
 * questions, and here the other is asked the same. NaN equals NaN whatever its bits (which of them WebAssembly leaves open).
 *
 * CORE_CASES: the program; CORE_WASM: the module; SITUATIONS and SEED choose the questions.
 */
import assert from 'node:assert/strict';
import {execFileSync, spawn} from 'node:child_process';
import {once} from 'node:events';
import {readFileSync} from 'node:fs';
import test from 'node:test';
import {layoutOf, loadMetrology} from '../../static/js/lib/metrology.js';

const {CORE_CASES = '', CORE_WASM = '', SITUATIONS = '100000', SEED = '20261125'} = process.env;
const {exported} = await loadMetrology(readFileSync(CORE_WASM));
const layout = layoutOf(exported), base = exported.core_exchange();
const memory = Buffer.from(exported.memory.buffer);
const BYTES = {double: 8, int: 4, bool: 1, char: 1};

/** Every plain value of a struct. @param {string} of @param {number} at @param {string} path @returns {{at: number, size: number, type: string, path: string}[]} */
function leaves(of, at = 0, path = '') {
	return layout.get(of).fields.flatMap(field => Array.from({length: field.count}, (_, i) => {
		const size = BYTES[field.type] ?? layout.get(field.type).size, here = at + field.offset + i * size;
		const name = `${path}${field.name}${field.count > 1 ? `[${i}]` : ''}`;

		return field.type in BYTES ? [{at: here, size, type: field.type, path: name}] : leaves(field.type, here, `${name}.`);
	}).flat());
}

const values = leaves('exchange');

test('both builds lay the exchange out alike, and no member is missing from the table', {skip: !exported.core_evaluate && 'a part of the core lists its own members alone'}, () => {
	const said = execFileSync(CORE_CASES, ['0', '0', 'layout'], {encoding: 'utf8'}).trim().split('\n');
	const ours = [...layout].flatMap(([of, {size, fields}]) => [...fields.map(f => `${of} ${f.name} ${f.type} ${f.offset} ${f.count}`), `${of}   ${size} 0`]);

	assert.deepEqual(ours, said);
	for (const [of, {size, fields}] of layout) {
		let end = 0;
		for (const field of fields) {
			const one = BYTES[field.type] ?? layout.get(field.type)?.size;
			assert.ok(one, `${of}.${field.name} is of a known type`);
			assert.ok(field.offset >= end && field.offset - end < 8, `${of}: nothing lies unnamed before ${field.name}`);
			end = field.offset + one * field.count;
		}
		assert.ok(size >= end && size - end < 8, `${of}: nothing lies unnamed at its end`);
	}
});

/** Whole frames out of a stream of pieces. @param {AsyncIterable<Buffer>} stream @param {(frame: ReturnType<typeof parse>) => void} use */
async function frames(stream, use) {
	let rest = Buffer.alloc(0);

	for await (const piece of stream) {
		rest = Buffer.concat([rest, piece]);
		let at = 0;
		for (let frame = parse(rest, at); frame; frame = parse(rest, at)) {
			use(frame);
			at = frame.end;
		}
		rest = rest.subarray(at);
	}
	assert.equal(rest.length, 0, 'the stream ends with a whole frame');
}

/** Null while it is not yet whole. @param {Buffer} from @param {number} at */
function parse(from, at) {
	const need = n => {
		if (at + n > from.length)
			throw new RangeError('not whole');
		at += n;
		return at - n;
	};
	const areas = () => Array.from({length: from.readUInt32LE(need(4))}, () => {
		const offset = from.readUInt32LE(need(4)), size = from.readUInt32LE(need(4)), start = need(size);
		return {offset, bytes: from.subarray(start, start + size)};
	});

	try {
		const length = from[need(1)], start = need(length), name = from.toString('latin1', start, start + length);
		const given = Array.from({length: from[need(1)]}, () => from.readDoubleLE(need(8)));
		const before = areas(), result = from.readDoubleLE(need(8)), after = areas();
		return {name, given, before, result, after, end: at};
	} catch (error) {
		if (error instanceof RangeError && error.message === 'not whole')
			return null;
		throw error;
	}
}

/** The first value in an area that differs, in words; null when only padding and the bits of NaN do. */
function difference({offset, bytes}) {
	for (const value of values) {
		if (value.at < offset || value.at + value.size > offset + bytes.length)
			continue;
		const native = bytes.subarray(value.at - offset, value.at - offset + value.size), here = memory.subarray(base + value.at, base + value.at + value.size);
		if (native.equals(here))
			continue;
		if (value.type !== 'double')
			return `${value.path}: native ${[...native]}, WebAssembly ${[...here]}`;
		const a = native.readDoubleLE(), b = here.readDoubleLE();
		if (!(Number.isNaN(a) && Number.isNaN(b)))
			return `${value.path}: native ${a} (${native.toString('hex')}), WebAssembly ${b} (${here.toString('hex')})`;
	}
	return null;
}

test('the module that pages load is under 30 kB', {skip: Boolean(exported.core_evaluate) && 'this is the whole core'}, () => {
	assert.ok(readFileSync(CORE_WASM).length < 30000);
});

test('native and WebAssembly agree in every bit', async t => {
	const counts = new Map(), different = [];
	const child = spawn(CORE_CASES, [SITUATIONS, SEED], {stdio: ['ignore', 'pipe', 'inherit']});
	const ended = once(child, 'exit');
	let words = 0;

	await frames(child.stdout, ({name, given, before, result, after}) => {
		for (const area of before)
			memory.set(area.bytes, base + area.offset);
		if (!exported[name])	/* the module that pages load holds a part; what else changed is put there */
			return after.forEach(area => memory.set(area.bytes, base + area.offset));
		const ours = Number(exported[name](...given) ?? 0);	/* what gives nothing back */
		counts.set(name, (counts.get(name) ?? 0) + 1);
		words += 1;
		const found = Object.is(ours, result) ? [] : [`result: native ${result}, WebAssembly ${ours}`];
		for (const area of after) {
			words += area.bytes.length / 8;
			if (area.bytes.compare(memory, base + area.offset, base + area.offset + area.bytes.length))
				found.push(difference(area));
		}
		const first = found.find(Boolean);
		if (first && different.length < 10)
			different.push(`${name}(${given.join(', ')}), the ${counts.get(name)}th: ${first}`);
	});
	assert.deepEqual(await ended, [0, null]);
	const total = [...counts.values()].reduce((sum, n) => sum + n, 0);
	t.diagnostic(`${total} calls in ${SITUATIONS} situations, ${Math.round(words)} eight-byte words compared: ${[...counts].map(([name, n]) => `${name.slice(5)} ${n}`).join(', ')}`);
	assert.deepEqual(different, []);
	assert.deepEqual([...counts.keys()].sort(), Object.keys(exported).filter(name => /^core_/.test(name) && !/^core_(version|exchange|layout)$/.test(name)).sort(), 'every function was asked');
	assert.ok((counts.get(exported.core_evaluate ? 'core_evaluate' : 'core_judge_reading') ?? 0) >= 0.9 * Number(SITUATIONS));
});
