/* How fast the browser's core is as a module: CORE_WASM=… node tests/wasm/speed.js; speed.c is the same natively. */
import {readFileSync} from 'node:fs';
import {loadMetrology} from '../../static/js/lib/metrology.js';

const bytes = readFileSync(process.env.CORE_WASM ?? ''), begun = process.hrtime.bigint();
const core = await loadMetrology(bytes);
console.log(`loaded in ${(Number(process.hrtime.bigint() - begun) / 1e6).toFixed(1)} ms`);
const tolerance = {join: 'sum', terms: [{kind: 'percent_of_span', plus: 1}]};
const setup = {input: {low: 4, high: 20}, output: {low: 0, high: 100}, characteristic: {kind: 'linear'}, tolerance, adjust: tolerance, left: tolerance};
const readings = Array.from({length: 9}, (_, i) => ({set: 4 + 4 * (i < 5 ? i : 8 - i), observed: 25 * (i < 5 ? i : 8 - i) + 0.1 * i, direction: i < 5 ? 'rising' : 'falling', u: 0.01}));

/** Times a second, by processor time. @param {number} n @param {(i: number) => void} work */
function rate(n, work) {
	const before = process.cpuUsage();

	for (let i = 0; i < n; i++)
		work(i);
	const {user, system} = process.cpuUsage(before);
	return Math.round(n / (user + system) * 1e6);
}

core.evaluate(setup, readings);
for (let round = 0; round < 7; round++)
	console.log(`WebAssembly: ${rate(40000, () => core.exported.core_evaluate(9))} runs of 9 points a second, ${rate(1e6, i => core.exported.core_format(12.345678 + i * 1e-3, 3, false))} numbers written a second; `
		+ `${rate(4000, () => core.evaluate(setup, readings))} whole calls of evaluate() a second`);
