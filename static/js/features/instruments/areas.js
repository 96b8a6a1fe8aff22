/* The areas of the plant: a list at the foot of the register, with what the lead may do to them. */
import {call} from '../../lib/api.js';
import {h} from '../../lib/dom.js';
import {confirmDialog, field} from '../../lib/form.js';

/** @param {any[]} areas @param {boolean} mayManage @param {() => void} changed */
export function areaPart(areas, mayManage, changed) {
	return h('section', {class: 'part', id: 'areas'}, h('h2', {}, 'Areas'), h('div', {},
		areas.length > 0 ? h('ul', {class: 'rows area-rows'}, areas.map(area => h('li', {class: 'spread'},
			h('span', {}, h('a', {href: `/instruments?area=${area.id}`}, area.path), ' ', h('span', {class: 'muted nowrap'}, area.instruments === 1 ? '1 instrument' : `${area.instruments} instruments`)),
			mayManage && h('button', {type: 'button', class: 'quiet', onclick: () => change(area, areas, changed)}, 'Change', h('span', {class: 'visually-hidden'}, ` ${area.path}`)))))
			: h('p', {class: 'muted'}, 'None yet. The first one is named with the first instrument, or here.'),
		mayManage && h('div', {class: 'actions'}, h('button', {type: 'button', onclick: () => add(areas, changed)}, 'Add an area'))));
}

/** @param {any[]} areas @param {() => void} changed */
function add(areas, changed) {
	confirmDialog({title: 'Add an area', submit: 'Add', fields: fields('', '', areas), onsubmit: async values => {
		await call('POST', '/areas', body(values));
		changed();
	}});
}

/** @param {any} area @param {any[]} areas @param {() => void} changed */
function change(area, areas, changed) {
	confirmDialog({title: `Change ${area.path}`, submit: 'Save', fields: fields(area.name, area.parent_id ?? '', areas.filter(other => other.id !== area.id)), onsubmit: async values => {
		await call('PUT', `/areas/${area.id}`, body(values), {version: area.version});
		changed();
	}});
}

/** @param {string} name @param {string} parent @param {any[]} areas */
function fields(name, parent, areas) {
	return [
		field({name: 'name', label: 'Name', value: name, required: true}),
		field({name: 'parent_id', label: 'It lies in', value: parent, options: [['', 'the plant itself'], ...areas.map(area => /** @type {[string, string]} */ ([area.id, area.path]))]}),
	];
}

/** @param {Record<string, any>} values */
function body(values) {
	return {name: values.name, parent_id: values.parent_id || null};
}
