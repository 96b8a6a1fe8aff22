/*
 * Many channels read once a second and watched in a browser: what of a core the program takes, how long a value is under way
 * from the end of the device's answer to the page, and what a channel costs in memory.
 *
 *	live.js ADDRESS PID SECONDS	a demo plant serves there with channels in it; CHROMIUM_BIN (/usr/bin/chromium)
 */
import {readFileSync} from 'node:fs';
import {createRequire} from 'node:module';

const require = createRequire(new URL('../browser/package.json', import.meta.url));
const {chromium} = require('playwright-core');
const [address, pid, seconds] = [process.argv[2], process.argv[3], Number(process.argv[4])];
const resident = () => Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))[1]);	/* kB */
const busy = () => {
	const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1].split(' ');
	return (Number(fields[11]) + Number(fields[12])) / 100;	/* user and system, in hundredths (proc(5)) */
};
const wait = ms => new Promise(resolve => setTimeout(resolve, ms));

const browser = await chromium.launch({executablePath: process.env.CHROMIUM_BIN ?? '/usr/bin/chromium', args: ['--headless', '--no-sandbox', '--disable-gpu', '--no-first-run', '--disable-background-networking']});
const page = await browser.newPage();

await page.goto(`${address}/signin`);
const channels = await page.evaluate(async () => {
	await fetch('/api/v1/session', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({sign_in: 'ida', password: 'brackenholm-demo'})});
	return (await (await fetch('/api/v1/channels')).json()).items.filter(channel => channel.label.startsWith('LOAD-')).map(channel => channel.id);
});
const before = resident();

await page.evaluate(ids => {
	const state = globalThis.state = {took: [], bad: 0};

	for (let i = 0; i < ids.length; i += 100)
		new EventSource(`/api/v1/live?channels=${ids.slice(i, i + 100).join(',')}`).addEventListener('value', event => {
			const now = Date.now(), news = JSON.parse(event.data);
			if (news.good)
				state.took.push(now - Date.parse(news.at));
			else
				state.bad++;
		});
}, channels);
await wait(6000);	/* until all are connected */
await page.evaluate(() => { state.took = []; state.bad = 0; });
const from = performance.now(), core = busy();

await wait(seconds * 1000);
const said = await page.evaluate(() => state), over = (performance.now() - from) / 1000, used = busy() - core;
const took = said.took.sort((a, b) => a - b), at = share => took[Math.min(took.length - 1, Math.floor(took.length * share))];

console.log(`${channels.length} channels: ${(took.length / over).toFixed(0)} values/s in the browser, ${said.bad} without a value; the program takes ${(used / over * 100).toFixed(1)} % of a core; `
	+ `device to page median ${at(0.5)} ms, p99 ${at(0.99)} ms, longest ${took.at(-1)} ms; ${((resident() - before) / channels.length).toFixed(0)} kB resident a channel`);
await browser.close();
