/* A page that is loaded again or come back to stands where it stood, although its rows arrive after the page itself. */

const PREFIX = 'loopledger.place.';

/** Was this page loaded again, or come back to? */
export function cameBack() {
	const [entry] = /** @type {PerformanceNavigationTiming[]} */ (performance.getEntriesByType('navigation'));

	return entry?.type === 'reload' || entry?.type === 'back_forward';
}

/** What this address is kept under; another query is another page. @param {string} [what] */
export function placeKey(what = 'scroll') {
	return `${PREFIX}${what}.${location.pathname}${location.search}`;
}

/** Call it when the page has been filled. */
export function keepPlace() {
	const at = Number(cameBack() ? sessionStorage.getItem(placeKey()) : 0);

	history.scrollRestoration = 'manual';
	if (at > 0 && !location.hash)
		scrollTo(0, at);
	addEventListener('pagehide', () => sessionStorage.setItem(placeKey(), String(Math.round(scrollY))));
}
