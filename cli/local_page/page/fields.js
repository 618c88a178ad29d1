// SPDX-License-Identifier: Apache-2.0
//
// Fields of a profile as controls: each edits one member of the object in place, so that what no
// field shows stays as it is.

import {el} from './elements.js';

const RASTERS = ['1280x720', '1920x1080', '2560x1440', '3840x2160', '640x360'];
const RATES = ['24', '25', '30', '50', '60', '24000/1001', '30000/1001', '60000/1001'];

/** The id of the control at a JSON pointer. */
export const idAt = (pointer) => `at${pointer.replaceAll('/', '-')}`;

const TO_MEMBER = {
  text: (text) => text,
  raster: (text) => text,
  // Whole rates are numbers, fractions are text: both as the format has them.
  rate: (text) => (/^\d+$/.test(text.trim()) ? Number(text) : text.trim()),
  // What is no number stays as it was typed, and the check says what is allowed.
  number: (text) => (text.trim() !== '' && Number.isFinite(Number(text)) ? Number(text) : text),
};

function choice(spec, value, take) {
  const options = spec.choices.map((one) => (typeof one === 'string' ? {value: one, label: one} : one));
  const shown = value === undefined ? '' : String(value);
  if (!options.some((one) => one.value === shown)) {
    options.unshift({value: shown, label: shown === '' ? 'please choose' : `${shown} (not allowed)`});
  }
  const select = el('select', {onchange: () => take(select.value)},
    options.map((one) => el('option', {value: one.value, selected: one.value === shown}, one.label)));
  return select;
}

function typed(spec, value, take) {
  const lists = {raster: 'rasters', rate: 'rates'};
  const input = el('input', {value: value === undefined ? '' : String(value), list: lists[spec.kind],
    inputmode: spec.kind === 'number' ? 'decimal' : null, placeholder: spec.placeholder,
    spellcheck: 'false', oninput: () => take(input.value), onchange: spec.onrename ? () => spec.onrename(input.value) : null});
  return input;
}

function setMember(owner, spec, text) {
  if (text === '' && spec.optional) {
    delete owner[spec.key];
  } else if (spec.choices) {
    owner[spec.key] = spec.number ? Number(text) : text;
  } else {
    owner[spec.key] = TO_MEMBER[spec.kind](text);
  }
}

/**
 * A labelled control for `owner[spec.key]`. spec: key, label, kind text|raster|rate|number or
 * choices, optional, hint, placeholder, wide, set(text) instead of the plain setting.
 */
export function field(owner, pointer, spec, edited) {
  const at = `${pointer}/${spec.key}`;
  const id = idAt(at);
  const value = spec.get ? spec.get() : owner[spec.key];
  const take = (text) => {
    (spec.set ?? ((one) => setMember(owner, spec, one)))(text);
    edited(spec.redraws);
  };
  const control = spec.choices ? choice(spec, value, take) : typed(spec, value, take);
  const hint = spec.hint ? `${id}-hint` : null;
  control.id = id;
  control.dataset.pointer = at;
  if (hint) {
    control.dataset.hint = hint;
    control.setAttribute('aria-describedby', hint);
  }
  return el('div', {class: spec.wide ? 'field wide' : 'field'},
    el('label', {for: id}, spec.label), control,
    hint ? el('p', {class: 'hint', id: hint}, spec.hint) : null);
}

/** A tick that makes a member an object or null. What was there comes back with the tick. */
export function maybe(owner, key, pointer, label, usual, edited) {
  const remembered = owner[key] ?? usual;
  const box = el('input', {type: 'checkbox', checked: owner[key] !== null && owner[key] !== undefined,
    onchange: () => {
      owner[key] = box.checked ? remembered : null;
      edited(true);
    }});
  box.id = idAt(`${pointer}/${key}`);
  box.dataset.pointer = `${pointer}/${key}`;
  return el('label', {class: 'tick'}, box, ` ${label}`);
}

/** Suggestions that more than one field has. */
export function suggestions() {
  const list = (id, values) => el('datalist', {id}, values.map((value) => el('option', {value})));
  return [list('rasters', RASTERS), list('rates', RATES)];
}

/** Members that belong to one choice only go with it, and come back when it does. */
const put_aside = new WeakMap();
export function swapMembers(owner, out, into) {
  const aside = put_aside.get(owner) ?? {};
  put_aside.set(owner, aside);
  for (const key of out) {
    if (key in owner) {
      aside[key] = owner[key];
      delete owner[key];
    }
  }
  for (const [key, usual] of Object.entries(into)) {
    if (!(key in owner)) {
      owner[key] = aside[key] ?? usual;
    }
  }
}

/** Marks the control at a pointer, or what holds it, as wrong; the element, or null. */
export function markWrong(form, problem) {
  for (const old of form.querySelectorAll('.problem')) {
    old.remove();
  }
  for (const old of form.querySelectorAll('[aria-invalid]')) {
    old.removeAttribute('aria-invalid');
    old.dataset.hint ? old.setAttribute('aria-describedby', old.dataset.hint) : old.removeAttribute('aria-describedby');
  }
  if (!problem?.where?.startsWith('/')) {
    return null;
  }
  const marked = [...form.querySelectorAll('[data-pointer]')];
  for (let at = problem.where; at; at = at.slice(0, at.lastIndexOf('/'))) {
    const place = marked.find((one) => one.dataset.pointer === at);
    if (place) {
      const id = `${idAt(at)}-problem`;
      const text = at === problem.where ? problem.detail : `${problem.where.slice(at.length + 1)}: ${problem.detail}`;
      const line = el('p', {class: 'problem', id}, text);
      place.matches('input, select') ? place.closest('.field, .tick').append(line) : place.prepend(line);
      place.setAttribute('aria-invalid', 'true');
      place.setAttribute('aria-describedby', [place.dataset.hint, id].filter(Boolean).join(' '));
      return place;
    }
  }
  return null;
}
