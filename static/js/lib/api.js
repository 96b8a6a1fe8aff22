/*
 * The one door to the server.
 *
 *   const list = await call('GET', '/instruments?q=FT');
 *   await call('PUT', `/instruments/${id}`, changed, {version: instrument.version});   sends If-Match: "v3"
 *   await call('POST', `/test-records/${id}/readings`, reading, {key});                sends Idempotency-Key
 *
 * A refusal is an ApiError: message is a sentence fit to show, fields maps a JSON pointer ("/input/low") to the sentences
 * about that member; showErrors() of form.js puts them beside the fields. No answer at all is Unreachable. When nobody is
 * signed in the page goes to /signin and comes back, unless {stay: true} asks to get the ApiError (status 401) instead.
 */
import {datesInWords} from './format.js';
import {t} from './words.js';

const BASE = '/api/v1';

/** A refusal by the server. */
export class ApiError extends Error {
	/** @param {number} status @param {{title?: string, detail?: string, errors?: {pointer: string, detail: string}[]}} problem */
	constructor(status, problem) {
		super(datesInWords(problem.detail || problem.title || `the server refused (${status})`));
		this.name = 'ApiError';
		this.status = status;
		/** @type {Map<string, string[]>} */
		this.fields = new Map();
		for (const {pointer, detail} of problem.errors ?? [])
			this.fields.set(pointer, [...this.fields.get(pointer) ?? [], datesInWords(detail)]);
	}
}

/** The server gave no answer: the network is away, or the server is. */
export class Unreachable extends Error {
	constructor() {
		super(t('unreachable'));
		this.name = 'Unreachable';
	}
}

/** @typedef {{person: {id: string, sign_in: string, name: string, roles: string[]}, permissions: string[], token: string,
 *   plant: {name: string, paper: 'a4'|'letter', demo: boolean}, today: string, expires_at: string}} Session */

/** @type {Promise<Session>|null} */
let known = null;

/** Who is signed in; asked once a page. @param {{stay?: boolean}} [options] @returns {Promise<Session>} */
export function session(options = {}) {
	if (!known) {
		known = /** @type {Promise<Session>} */ (send('GET', '/session', undefined, options, null));
		known.catch(() => { known = null; });
	}
	return known;
}

/** Forgets who was signed in, after signing out or in. */
export function forgetSession() {
	known = null;
}

/**
 * @param {'GET'|'POST'|'PUT'|'DELETE'} method
 * @param {string} path below /api/v1
 * @param {object} [body]
 * @param {{version?: number, key?: string, stay?: boolean, open?: boolean, file?: boolean, keepalive?: boolean}} [options] open: no session is needed; file: the answer is a file, given as a Blob; keepalive: goes out even while the page is being left
 * @returns {Promise<any>} the decoded body, null for 204
 */
export async function call(method, path, body, options = {}) {
	const token = method === 'GET' || options.open ? null : (await session(options)).token;

	return send(method, path, body, options, token);
}

/**
 * A file as it is. Works for somebody who is not signed in, where the plant allows what is asked.
 *
 * @param {string} path below /api/v1 @param {Blob} file @returns {Promise<any>}
 */
export function sendFile(path, file) {
	return send('POST', path, file, {stay: true}, null);
}

/** @param {string} method @param {string} path @param {object|undefined} body @param {any} options @param {string|null} token */
async function send(method, path, body, options, token) {
	/** @type {Record<string, string>} */
	const headers = {Accept: 'application/json'};
	let response;

	if (body !== undefined)
		headers['Content-Type'] = body instanceof Blob ? body.type || 'application/octet-stream' : 'application/json';
	if (token)
		headers['X-Session-Token'] = token;
	if (options.version !== undefined)
		headers['If-Match'] = `"v${options.version}"`;
	if (options.key)
		headers['Idempotency-Key'] = options.key;
	try {
		response = await fetch(BASE + path, {method, headers, body: body === undefined || body instanceof Blob ? body : JSON.stringify(body), cache: 'no-store', keepalive: Boolean(options.keepalive)});
	} catch {
		throw new Unreachable();
	}
	if (response.ok)
		return response.status === 204 ? null : options.file ? response.blob() : response.json();

	const error = new ApiError(response.status, await response.json().catch(() => ({})));
	/* a wrong password in a signature is 401 too, and no reason to leave */
	const confirming = body !== undefined && 'password' in body;
	if (error.status === 401 && !options.stay && !options.open && !confirming) {
		toSignIn();
		return new Promise(() => {});	/* the page is being left: nothing after this should run */
	}
	throw error;
}

/** Leaves for the sign-in page, which comes back here. */
export function toSignIn() {
	location.assign(`/signin?next=${encodeURIComponent(location.pathname + location.search + location.hash)}`);
}

/** A UUID for Idempotency-Key. crypto.randomUUID is missing on plain-HTTP names of a local network. @returns {string} */
export function newKey() {
	if (crypto.randomUUID)
		return crypto.randomUUID();
	const bytes = crypto.getRandomValues(new Uint8Array(16));
	bytes[6] = bytes[6] & 0x0f | 0x40;
	bytes[8] = bytes[8] & 0x3f | 0x80;
	const hex = [...bytes].map(byte => byte.toString(16).padStart(2, '0')).join('');
	return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, '$1-$2-$3-$4-');
}
