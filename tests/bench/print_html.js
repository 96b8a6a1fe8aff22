/*
 * A headless browser printing an equal two-page certificate from HTML to PDF: the same words, tables and a chart as SVG, no
 * seal. Once with the browser kept open, once with a browser started for each.
 *
 *	print_html.js COUNT ROUNDS	with CHROMIUM_BIN (/usr/bin/chromium); playwright-core from tests/browser
 */
import {readdirSync, readFileSync} from 'node:fs';
import {createRequire} from 'node:module';

const require = createRequire(new URL('../browser/package.json', import.meta.url));
const {chromium} = require('playwright-core');
const [count, rounds] = process.argv.slice(2).map(Number);
const options = {executablePath: process.env.CHROMIUM_BIN ?? '/usr/bin/chromium', args: ['--headless', '--no-sandbox', '--disable-gpu', '--no-first-run', '--disable-background-networking']};

/* The page: numbers differ from one certificate to the next, words do not. */
function page(n) {
	const facts = ['Instrument', 'Maker, model', 'Serial number', 'Area', 'Location', 'Range', 'Characteristic', 'Received', 'Tested', 'Issued', 'Performed by', 'Customer', 'Place of test', 'Procedure', 'Approved by', 'Test record']
		.map((label, i) => `<tr><th>${label}<td>Filter ${(n + i) % 40} outlet flow control valve, gallery bay ${n % 9}, A-19-${20000 + n}`).join('');
	const paragraph = 'Simple acceptance: pass when the error lies inside the limits or on them, otherwise fail. The guard band is w = 0: a reading exactly on a limit is in truth outside it with a probability of up to 50 %. ';
	const standards = [0, 1].map(i => `<tr><td>REF-01${i}, input<br>Loop calibrator<br>Tarnwell LC-3<br>serial 4071${i}<td>HML-25-338${i}<br>Harrow Moor Metrology Laboratory<br>calibrated 2025-09-02<td>2026-09-01<td>0 to 24 mA<br>U = 0.004 mA<br>(k = 2)<td>to the SI through the national standard of direct current; accredited to ISO/IEC 17025`).join('');
	const error = i => 1.2 + 0.01 * (n % 90) + 0.1 * Math.sin(i);
	const rows = run => [0, 25, 50, 75, 100, 75, 50, 25, 0].map((percent, i) => `<tr><td>${i < 5 ? '△' : '▽'}${[4 + percent * 0.16, 4 + percent * 0.16, percent, percent + error(i) / run, error(i) / run, error(i) / run, -1, 1, 0.12].map(v => `<td>${v.toFixed(2)}`).join('')}<td>${run === 1 ? 'fail' : 'pass'}`).join('');
	const results = run => `<h2>Results as ${run === 1 ? 'found' : 'left'}</h2><table class=numbers><tr>${['', 'Set point mA', 'Applied mA', 'Expected %', 'Observed %', 'Error %', 'Error % of span', 'Lower limit %', 'Upper limit %', 'U (k = 2) %', 'Verdict'].map(h => `<th>${h}`).join('')}${rows(run)}</table>`;
	const hatch = Array.from({length: 100}, (_, i) => `<path d="M${i * 4} 150l60 -100"/>`).join('');
	const marks = [1, 8].map(run => Array.from({length: 9}, (_, i) => `<circle cx="${20 + i * 45}" cy="${100 - 30 * error(i) / run}" r="4"/><text x="${20 + i * 45}" y="${90 - 30 * error(i) / run}">${error(i).toFixed(1)}</text>`).join('')).join('');
	const code = Array.from({length: 33 * 33}, (_, i) => (i * 7 + n) % 5 < 2 ? `<rect x="${i % 33 * 2}" y="${Math.floor(i / 33) * 2}" width="2" height="2"/>` : '').join('');
	const foot = number => `<footer>Certificate BWW-2026-${n} · Page ${number} of 2 · Brackenholm Water Works<br>Results relate only to the instrument named. To be reproduced only whole, unless the plant agrees in writing.<svg width=66 height=66>${code}</svg></footer>`;

	return `<!doctype html><html lang=en><title>Calibration certificate BWW-2026-${n}</title><style>
		@page {size: A4; margin: 20mm} body {font: 7.6pt "DejaVu Sans"; margin: 0} h1 {font-size: 21pt; font-weight: normal} h2 {font-size: 9pt}
		table {border-collapse: collapse; width: 100%} th {text-align: left; font-weight: normal; color: #4e5561} td, th {vertical-align: top; padding: 1pt 4pt 1pt 0}
		.numbers td {text-align: right; font-size: 7.4pt} section {break-after: page} svg {fill: none; stroke: #8c9199} svg text, svg rect {fill: #1c2128; stroke: none}
		svg text {font-size: 6.4pt} .facts {columns: 2} footer {font-size: 6.8pt}</style>
		<section><h1>Calibration certificate</h1><p>BWW-2026-${n} issued 2026-03-15<p>FCV-${n}<h2>Statement of conformity</h2><p>As found fail. All 9 readings outside the limits; largest error +1.5 % of span. Limits as found: ±1 % of span.
		<h2>Instrument and test</h2><div class=facts><table>${facts}</table></div><h2>Reference standards and their traceability</h2><table>${standards}</table>
		<h2>Basis of the results</h2><p>${paragraph.repeat(3)}<h2>Signatures</h2><table><tr><td>Performed the test<br>Maren Oldfield<td>Reviewed the record<br>Ines Halloran<td>Approved for issue<br>Tomas Verrin</table>${foot(1)}</section>
		${results(1)}${results(8)}<h2>Error in % of span over the input</h2><svg width=460 height=160>${hatch}${marks}</svg><h2>Diagnosis, adjustment and remarks</h2><p>${paragraph}${foot(2)}</html>`;
}

/* The browser's processes: what this program has started, and what those have. In MiB, pages shared between them counted once. */
function memory() {
	const parent = new Map();
	for (const pid of readdirSync('/proc').filter(name => /^\d+$/.test(name)))
		try {
			parent.set(pid, readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1].split(' ')[1]);
		} catch { /* it has ended */ }
	const ours = pid => pid && (pid === String(process.pid) || ours(parent.get(pid)));
	let sum = 0;
	for (const pid of parent.keys())
		if (pid !== String(process.pid) && ours(pid))
			try {
				sum += Number(/^Pss:\s+(\d+)/m.exec(readFileSync(`/proc/${pid}/smaps_rollup`, 'utf8'))[1]) / 1024;
			} catch { /* the same */ }
	return sum;
}

async function print(browser, n) {
	const tab = await browser.newPage();
	await tab.setContent(page(n));
	const pdf = await tab.pdf({preferCSSPageSize: true});
	await tab.close();
	return pdf;
}

/* Processor time of browsers that have ended, and of what they had started, in seconds (proc(5): hundredths). */
function core() {
	const fields = readFileSync('/proc/self/stat', 'utf8').split(') ')[1].split(' ');
	return (Number(fields[13]) + Number(fields[14])) / 100;
}

const median = list => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];
const kept = [], started = [], keptCore = [], startedCore = [];
let most = 0, size = 0, pages = 0;

for (let round = 0, n = 1; round < rounds; round++) {
	let busy = core();
	const browser = await chromium.launch(options);
	await print(browser, n++);
	let from = performance.now();
	for (let i = 0; i < count; i++) {
		const pdf = await print(browser, n++);
		size = pdf.length;
		pages = pdf.toString('latin1').match(/\/Type\s*\/Page\b/g)?.length ?? 0;
	}
	kept.push(count * 1000 / (performance.now() - from));
	most = Math.max(most, memory());
	await browser.close();
	const all = core() - busy;

	busy = core();
	from = performance.now();
	for (let i = 0; i < 5; i++) {
		const one = await chromium.launch(options);
		await print(one, n++);
		await one.close();
	}
	started.push(5000 / (performance.now() - from));
	startedCore.push((core() - busy) / 5);
	keptCore.push((all - startedCore[round]) / count);	/* without starting it and the first page */
}
const range = list => `${median(list).toFixed(2)} a second (${Math.min(...list).toFixed(2)} to ${Math.max(...list).toFixed(2)})`;
console.log(`browser kept open: ${range(kept)} by the clock, ${(median(keptCore) * 1000).toFixed(0)} ms of a core each, ${pages} pages, ${size} bytes, ${most.toFixed(0)} MiB in all its processes`);
console.log(`browser started for each: ${range(started)} by the clock, ${(median(startedCore) * 1000).toFixed(0)} ms of a core each`);
console.log(`RATES ${(median(keptCore) * 1000).toFixed(1)} ${(median(startedCore) * 1000).toFixed(1)}`);
