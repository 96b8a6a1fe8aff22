/*
 * Building and replacing elements.
 *
 *   h('td', {class: 'number'}, '12.016')            an element; children are nodes, text, arrays, or null for nothing
 *   h('button', {type: 'button', onclick: save}, …)  attributes named on… are listeners; false and null leave one out
 *   s('path', {d: 'M0 0h4'})                         the same for SVG
 *   fill(main, …children)                            replaces what an element holds
 *   byId('list')                                     an element that the page's HTML has; throws when it is missing
 */

const SVG = 'http://www.w3.org/2000/svg';

/** @typedef {Node|string|number|null|undefined|false|Array<any>} Child */

/** @param {Element} element @param {Object<string, any>} attributes @param {Child[]} children */
function build(element, attributes, children) {
	for (const [name, value] of Object.entries(attributes)) {
		if (name.startsWith('on'))
			element.addEventListener(name.slice(2), value);
		else if (name === 'value' && 'value' in element)
			/** @type {any} */ (element).value = value ?? '';
		else if (value !== false && value != null)
			element.setAttribute(name, value === true ? '' : String(value));
	}
	element.append(...nodes(children));
	return element;
}

/** @param {Child[]} children @returns {Array<Node|string>} */
function nodes(children) {
	return children.flat(9).filter(child => child != null && child !== false)
		.map(child => child instanceof Node ? child : String(child));
}

/**
 * Builds an element. Text becomes text nodes, never markup, so nothing a person typed can turn into HTML.
 *
 * @param {string} tag
 * @param {Object<string, any>} [attributes]
 * @param {...Child} children
 * @returns {HTMLElement}
 */
export function h(tag, attributes = {}, ...children) {
	const element = document.createElement(tag);
	/* the value of a select can only be set when its options are there */
	const {value, ...rest} = attributes;

	build(element, rest, children);
	if (value !== undefined)
		build(element, {value}, []);
	return element;
}

/** @param {string} tag @param {Object<string, any>} [attributes] @param {...Child} children @returns {SVGElement} */
export function s(tag, attributes = {}, ...children) {
	return /** @type {any} */ (build(document.createElementNS(SVG, tag), attributes, children));
}

/** @param {Element} element @param {...Child} children */
export function fill(element, ...children) {
	element.replaceChildren(...nodes(children));
	return element;
}

/** @param {string} id @returns {HTMLElement} */
export function byId(id) {
	const element = document.getElementById(id);

	if (!element)
		throw new Error(`the page has no element #${id}`);
	return element;
}

/** Words of which a number or a tag is not broken at its hyphens, as long as the line holds it. @param {string} text @returns {any[]} */
export function unbroken(text) {
	return text.split(' ').flatMap((word, i) => [i > 0 && ' ', word.includes('-') ? h('span', {class: word.length > 14 ? 'unbroken long' : 'unbroken'}, word) : word]);
}

let last = 0;

/** An id that no other element of this page has, to tie labels, help and errors to a field. @param {string} stem */
export function uniqueId(stem) {
	last += 1;
	return `${stem}-${last}`;
}
