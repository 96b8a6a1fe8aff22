/*
 * Whole tests over HTTP, one after the other, each issued with its seal: what issuing takes, and whether memory stays flat.
 *
 *	issue_many.js ADDRESS PID COUNT		a demo plant serves there; prints the resident memory after each fifth
 */
import {readFileSync} from 'node:fs';

const [address, pid, count] = [process.argv[2], process.argv[3], Number(process.argv[4])];
const api = `${address}/api/v1`, password = 'brackenholm-demo';

async function signIn(name) {
	const reply = await fetch(`${api}/session`, {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({sign_in: name, password})});
	const headers = {'Cookie': reply.headers.get('set-cookie').split(';')[0], 'X-Session-Token': (await reply.json()).token, 'Content-Type': 'application/json'};

	return async (method, path, body) => {
		const answer = await fetch(api + path, {method, headers, body: body && JSON.stringify(body)});
		const json = await answer.json();
		if (!answer.ok)
			throw new Error(`${method} ${path}: ${answer.status} ${json.detail}`);
		return json;
	};
}

const resident = () => Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))[1]) / 1024;
const seconds = () => {
	const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1].split(' ');
	return (Number(fields[11]) + Number(fields[12])) / 100;	/* user and system, in hundredths (proc(5)) */
};

const ida = await signIn('ida'), ruth = await signIn('ruth');
const instrument = (await ida('GET', '/instruments?q=FCV-2107')).items[0].id;
const schedule = (await ida('GET', `/schedules?instrument=${instrument}`)).items[0].id;

/** One test, up to its review. */
async function reviewed(n) {
	let r = await ida('POST', '/test-records', {schedule_id: schedule});
	const at = `/test-records/${r.id}`;

	for (const {key} of r.cautions)
		r = await ida('PUT', `${at}/cautions/${key}`, {});
	await ida('PUT', `${at}/standards`, {standards: r.needs.map(need => ({role: need.role, standard_id: need.candidates.find(c => c.usable)?.id})).filter(s => s.standard_id)});
	r = await ida('PUT', `${at}/environment`, {temperature_c: 21.5});
	for (const {key} of r.checks)
		r = await ida('PUT', `${at}/checks/${key}`, {answer: 'yes'});
	for (const {index, set} of r.runs[0].points) {
		const travel = (set - 4) / 16 * 100 + (n % 9) / 10;
		await ida('POST', `${at}/readings`, {run: 'as_found', point: index, observed: travel.toFixed(1)});
	}
	r = await ida('PUT', `${at}/adjustment`, {made: false});
	r = await ida('POST', `${at}/sign`, {meaning: 'performed', password, content_sha256: r.content_sha256});
	await ruth('POST', `${at}/sign`, {meaning: 'reviewed', password, content_sha256: r.content_sha256});
	return at;
}

const took = [];
let core = 0;

for (let n = 1; n <= count; n++) {
	const at = await reviewed(n), from = performance.now(), busy = seconds();
	await ruth('POST', `${at}/certificate`, {});
	took.push(performance.now() - from);
	core += seconds() - busy;
	if (n % (count / 5) === 0)
		console.log(`resident memory after ${n} certificates: ${resident().toFixed(1)} MiB`);
}
took.sort((a, b) => a - b);
console.log(`issued over HTTP: median ${took[Math.floor(count / 2)].toFixed(1)} ms, 99 % within ${took[Math.floor(count * 0.99)].toFixed(1)} ms, ${(core * 1000 / count).toFixed(1)} ms of a core each`);
