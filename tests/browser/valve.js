/* The loop of the sticky valve FCV-2107, simulated: its channels, its test up to the readings, and the source's knob. */
import assert from 'node:assert/strict';
import {connect} from 'node:net';
import {sender} from './devices.js';
import {api} from './support.js';

/** The demo plant's channels lead to the usual ports of the simulation; this one has others. @param {import('playwright-core').Page} page @param {Map<string, number>} ports */
export async function leadToSimulation(page, ports) {
	const send = await sender(page);

	for (const channel of (await api(page, '/channels')).items)
		if (ports.has(channel.label))
			await send('PUT', `/channels/${channel.id}`, {source: {...channel.source, port: ports.get(channel.label)}, period_ms: 100}, {'If-Match': `"v${channel.version}"`});
}

/** The test of the sticky valve up to its readings. @param {import('playwright-core').Page} page */
export async function toReadings(page) {
	const send = await sender(page), found = (await api(page, '/instruments?q=FCV-2107')).items[0];
	const {schedules} = await api(page, `/instruments/${found.id}`);
	const record = await send('POST', '/test-records', {schedule_id: schedules[0].id});

	for (const caution of record.cautions)
		await send('PUT', `/test-records/${record.id}/cautions/${caution.key}`, {});
	await send('PUT', `/test-records/${record.id}/standards`, {standards: record.needs.map((/** @type {any} */ need) => ({role: need.role, standard_id: need.candidates.find((/** @type {any} */ one) => one.usable && (need.role === 'output' || one.code === 'MA-01'))?.id})).filter((/** @type {any} */ one) => one.standard_id)});
	await send('PUT', `/test-records/${record.id}/environment`, {temperature_c: 21.5});
	for (const check of record.checks)
		await send('PUT', `/test-records/${record.id}/checks/${check.key}`, {answer: 'yes'});
	return record.id;
}

/** The knob of the current source, turned by hand. @param {number} port @param {number} ma @returns {Promise<void>} */
export function setSource(port, ma) {
	return new Promise((resolve, reject) => {
		const socket = connect(port, '127.0.0.1', () => socket.write(`SOUR:CURR ${ma / 1000}\nSYST:ERR?\n`));

		socket.on('error', reject);
		socket.on('data', answer => {
			socket.destroy();
			assert.match(String(answer), /^0,/);
			resolve();
		});
	});
}
