/* Who answers on a channel: asks the device, says whether it is the right one, and keeps it as such when somebody says so. */
import {ApiError, Unreachable, call} from '../../lib/api.js';
import {fill, h} from '../../lib/dom.js';
import {figure} from '../../lib/quantity.js';

/** @param {any} channel @returns {{button: HTMLElement, said: HTMLElement}} the button, and where the answer will stand */
export function whoAnswers(channel) {
	const said = h('div', {role: 'status', class: 'who-said'});
	const button = h('button', {type: 'button', class: 'quiet', onclick: ask}, 'Who answers?', h('span', {class: 'visually-hidden'}, ` ${channel.label}, ${channel.side}`));

	async function ask() {
		fill(said, h('p', {class: 'small progress'}, 'Asking the device'));
		try {
			const answer = await call('POST', `/channels/${channel.id}/ask`, {});

			fill(said, h('p', {class: answer.fits ? 'small' : 'small bad'}, answerWords(answer)), nowReads(answer),
				answer.fits && answer.device.device_id && answer.channel.device_id !== answer.device.device_id
					&& h('button', {type: 'button', onclick: () => keep(answer.device.device_id)}, 'Keep it as the right one'));
		} catch (error) {
			trouble(error);
		}
	}
	/** @param {string} device */
	async function keep(device) {
		try {
			await call('POST', `/channels/${channel.id}/confirm`, {device_id: device});
			fill(said, h('p', {class: 'small'}, `${device} is kept. Another device will be refused by name.`));
		} catch (error) {
			trouble(error);
		}
	}
	/** @param {unknown} error */
	function trouble(error) {
		if (!(error instanceof ApiError) && !(error instanceof Unreachable))
			throw error;
		fill(said, h('p', {class: 'small bad'}, error.message));
	}
	return {button, said};
}

/** @param {any} answer */
function answerWords({device, fits, why}) {
	if (!device)
		return `It does not say who it is: ${why}.`;
	const name = [device.device_id, [device.maker, device.model].filter(Boolean).join(' '), device.tag && `tag ${device.tag}`].filter(Boolean).join(', ');

	return `${name}. ${fits ? 'It is the right one.' : `${why.charAt(0).toUpperCase()}${why.slice(1)}.`}`;
}

/** @param {any} answer */
function nowReads({value, unit, status, trouble}) {
	if (trouble)
		return h('p', {class: 'small bad'}, `${trouble.charAt(0).toUpperCase()}${trouble.slice(1)}.`);
	return h('p', {class: 'small muted'}, [value === null ? 'It gives no number now' : `Now ${figure(Number(value.toPrecision(6)))} ${unit}`, ...status].join(', '));
}
