/*
 * What is typed and not yet saved, kept over reload and loss of power. keep(input, 'key') puts back what was typed and goes
 * on keeping it; forget('key') when it has been saved.
 */

const PREFIX = 'loopledger.typed.';

/** @param {string} key @returns {string|null} */
export function typedBefore(key) {
	return localStorage.getItem(PREFIX + key);
}

/** @param {HTMLInputElement|HTMLTextAreaElement} input @param {string} key */
export function keep(input, key) {
	const before = typedBefore(key);

	if (before !== null)
		input.value = before;
	input.dataset.draft = key;
	input.addEventListener('input', () => localStorage.setItem(PREFIX + key, input.value));
	return input;
}

/** @param {string} key */
export function forget(key) {
	localStorage.removeItem(PREFIX + key);
}

let pressed = false;
/** @type {Map<Element, () => void>} */
const waiting = new Map();

/* A button that is replaced between press and release would lose its click, so building waits for the release. */
if ('addEventListener' in globalThis) {
	addEventListener('pointerdown', () => { pressed = true; }, true);
	for (const name of ['pointerup', 'pointercancel'])
		addEventListener(name, () => setTimeout(released), true);
}

function released() {
	pressed = false;
	for (const [place, build] of waiting) {
		waiting.delete(place);
		rebuild(place, build);
	}
}

/**
 * Builds a part of the page anew without taking the focus or the caret away from who is typing. Elements are known again by
 * data-draft, id or data-key.
 *
 * @param {Element} place @param {() => void} build
 */
export function rebuild(place, build) {
	if (pressed) {
		waiting.set(place, build);
		return;
	}
	waiting.delete(place);
	const active = /** @type {any} */ (document.activeElement), inside = active && place.contains(active);
	const name = inside && (active.dataset.draft ? `[data-draft="${CSS.escape(active.dataset.draft)}"]` : active.dataset.key ? `[data-key="${CSS.escape(active.dataset.key)}"]` : null);
	const caret = inside && active.selectionStart != null ? [active.selectionStart, active.selectionEnd] : null;

	build();
	const again = /** @type {any} */ (name && place.querySelector(name));
	if (!again)
		return;
	again.focus({preventScroll: true});
	if (caret && again.setSelectionRange)
		again.setSelectionRange(caret[0], caret[1]);
}
