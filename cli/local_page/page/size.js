// SPDX-License-Identifier: Apache-2.0
//
// Whether an addition fits: a question put together from fields, and its answer.

import {ask, byId, el, fill, part, problemText, say, showProblem, word} from './elements.js';

let words = {};
const asked = {result: '', count: '1', raster: '1920x1080', rate: '25', by: 'usb', form: 'nv12', kbps: '8000', content: 'talk', iso: 'no', changes: ''};

function control(key, label, make) {
  const element = make();
  element.id = `added-${key}`;
  element.addEventListener('input', () => { asked[key] = element.value; });
  return el('div', {class: element.matches('textarea') ? 'field wide' : 'field'}, el('label', {for: element.id}, label), element);
}

const select = (key, choices) => el('select', {}, choices.map((one) => {
  const {value, label} = typeof one === 'string' ? {value: one, label: one} : one;
  return el('option', {value, selected: asked[key] === value}, label);
}));
const input = (key, list) => el('input', {value: asked[key], list, spellcheck: 'false'});

function draw(results) {
  const usable = results.filter((one) => !one.error);
  asked.result = usable.some((one) => one.name === asked.result) ? asked.result : usable[0]?.name ?? '';
  const network = asked.by === 'network';
  fill(byId('size-fields'),
    control('result', 'Based on result', () => select('result', usable.length ? usable.map((one) => ({value: one.name, label: `${one.production}: ${one.shown}`})) : [{value: '', label: 'none yet: rehearse first'}])),
    control('count', 'How many more', () => input('count')),
    control('raster', 'Raster', () => input('raster', 'rasters')),
    control('rate', 'Frames a second', () => input('rate', 'rates')),
    control('by', 'Arrives by', () => {
      const by = select('by', words.arrives_by);
      by.addEventListener('change', () => {
        asked.form = by.value === 'network' ? 'h264' : 'nv12';
        draw(results);
        byId('added-by').focus();
      });
      return by;
    }),
    control('form', network ? 'Codec' : 'Pixel format', () => select('form', network ? ['h264', 'hevc'] : words.pixel_format)),
    network ? control('kbps', 'Bit rate in kb/s', () => input('kbps')) : null,
    control('content', 'What it shows', () => select('content', words.content)),
    control('iso', 'Recorded by itself, too', () => select('iso', ['no', {value: 'iso', label: 'yes, an iso'}])),
    control('changes', 'More changes, one a line, as isos.effort=least or program.raster=1280x720', () => {
      const area = el('textarea', {rows: '3', spellcheck: 'false'});
      area.value = asked.changes;
      return area;
    }));
}

async function calculate(event) {
  event.preventDefault();
  showProblem('size-problem', '');
  const count = Number(asked.count);
  const source = [`${asked.count.trim()}x`, asked.raster.trim(), asked.rate.trim(), asked.by, asked.form, asked.by === 'network' ? asked.kbps.trim() : '', asked.content, asked.iso === 'iso' ? 'iso' : ''].filter(Boolean).join(' ');
  const answer = await ask('api/size', {result: asked.result || '-', add: count === 0 ? [] : [source], change: asked.changes.split('\n').map((line) => line.trim()).filter(Boolean)});
  if (!answer.ok) {
    showProblem('size-problem', asked.result ? problemText(answer.problem) : 'There is no result yet: rehearse first.');
    return;
  }
  const data = answer.data;
  fill(byId('size-answer'), el('p', {class: 'live-verdict'}, word(data.verdict), data.headline),
    data.parts.flatMap((one) => part('h2', one)));
  say(`Calculated: ${data.verdict}. ${data.headline}`);
}

export const refresh = draw;

export function begin(state) {
  words = state.words;
  byId('size-form').addEventListener('submit', calculate);
}
