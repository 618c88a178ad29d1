// SPDX-License-Identifier: Apache-2.0
//
// The form of a profile: a card for each source and output, a field for each member.

import {byId, el, say, section} from './elements.js';
import {field, maybe, swapMembers} from './fields.js';
import {freeName, renameSource, takesChoices} from './names.js';

const SOURCES_BY = {usb: 'USB', pcie: 'a card (PCIe)', network: 'the network'};
const CONTENT = {plain: 'plain: slides, a still picture', talk: 'talk: a person who speaks', stage: 'stage: people who move', busy: 'busy: sport, water, leaves'};
const KINDS = {recording: 'a recording', stream: 'a stream', iso: 'an iso: one source by itself'};

// Of the form that is shown.
let profile = null;
let words = {};
let edited = () => {};
let drawSoon = () => {};

const labelled = (values, labels) => values.map((value) => ({value, label: labels[value] ?? value}));

function pictureFields(owner, pointer) {
  return [field(owner, pointer, {key: 'raster', label: 'Raster', kind: 'raster'}, edited),
    field(owner, pointer, {key: 'rate', label: 'Frames a second', kind: 'rate'}, edited)];
}

function card(list, at, pointer, title, fields) {
  const remove = el('button', {type: 'button', class: 'quiet', onclick: () => {
    list.splice(at, 1);
    edited(true);
    say(`${title} was taken out.`);
    byId(`add${pointer.split('/')[1]}`)?.focus();
  }}, 'Remove', el('span', {class: 'unseen'}, ` ${title}`));
  return el('fieldset', {class: 'card', 'data-pointer': pointer}, el('legend', {}, title), el('div', {class: 'fields'}, fields), remove);
}

function arrivalChanged(source, by) {
  source.arrives_by = by;
  if (by === 'network') {
    swapMembers(source, ['pixel_format'], {codec: 'h264', bitrate_kbps: 8000});
  } else {
    swapMembers(source, ['codec', 'bitrate_kbps', 'transport'], {pixel_format: 'nv12'});
  }
}

function contentFields(source, pointer) {
  const clip = typeof source.content === 'object' && source.content !== null;
  const fields = [field(source, pointer, {key: 'content', label: 'What it shows', redraws: true,
    choices: [...labelled(words.content, CONTENT), {value: 'clip', label: 'a clip of your own'}],
    get: () => (clip ? 'clip' : source.content),
    set: (value) => { source.content = value === 'clip' ? {clip: ''} : value; }}, edited)];
  if (clip) {
    fields.push(field(source.content, `${pointer}/content`, {key: 'clip', label: 'File of the clip', kind: 'text'}, edited));
  }
  return fields;
}

function cableFields(source, pointer) {
  const kinds = [{value: '', label: 'not told'}, ...words.cable];
  const fields = [field(source, pointer, {key: 'cable', label: 'Cable', choices: kinds, redraws: true,
    get: () => source.cable?.kind ?? '',
    set: (kind) => {
      if (kind) {
        swapMembers(source, [], {cable: {kind, metres: 5}});
        source.cable.kind = kind;
      } else {
        swapMembers(source, ['cable'], {});
      }
    }}, edited)];
  if (source.cable) {
    fields.push(field(source.cable, `${pointer}/cable`, {key: 'metres', label: 'Cable length in metres', kind: 'number'}, edited));
  }
  return fields;
}

function sourceCard(source, at) {
  const pointer = `/sources/${at}`;
  const put = (spec) => field(source, pointer, spec, edited);
  const before = source.name;
  const fields = [
    put({key: 'name', label: 'Name', kind: 'text', onrename: (name) => {
      renameSource(profile, source, before, name);
      drawSoon();
    }}),
    put({key: 'count', label: 'How many of it', kind: 'number', optional: true, placeholder: '1', onrename: drawSoon}),
    put({key: 'arrives_by', label: 'Arrives by', choices: labelled(words.arrives_by, SOURCES_BY), redraws: true, set: (by) => arrivalChanged(source, by)}),
    ...pictureFields(source, pointer)];
  if (source.arrives_by === 'network') {
    fields.push(put({key: 'codec', label: 'Codec', choices: ['h264', 'hevc']}),
      put({key: 'bitrate_kbps', label: 'Bit rate in kb/s', kind: 'number'}),
      put({key: 'transport', label: 'Transport', choices: [{value: '', label: 'usual (RTP)'}, ...words.transport], optional: true}));
  } else {
    fields.push(put({key: 'pixel_format', label: 'Pixel format', choices: words.pixel_format}));
  }
  fields.push(...contentFields(source, pointer), ...cableFields(source, pointer),
    put({key: 'device', label: 'Device', kind: 'text', optional: true, placeholder: 'any', hint: 'Text from its name or port, as the inventory shows it.'}));
  return card(profile.sources, at, pointer, `Source ${at + 1}: ${source.name ?? ''}`, fields);
}

function kindChanged(output, kind) {
  output.kind = kind;
  if (kind === 'stream') {
    swapMembers(output, ['folder'], {url: 'loopback'});
  } else {
    swapMembers(output, ['url'], {});
  }
  const containers = kind === 'stream' ? words.stream_containers : words.file_containers;
  if (!containers.includes(output.container)) {
    output.container = kind === 'stream' && containers.includes('flv') ? 'flv' : containers[0];
  }
  if (kind === 'iso' && (output.takes === 'program' || output.takes === 'multiview')) {
    output.takes = 'every source';
  }
}

function outputCard(output, at) {
  const pointer = `/outputs/${at}`;
  const put = (spec) => field(output, pointer, spec, edited);
  const stream = output.kind === 'stream';
  const fields = [
    put({key: 'name', label: 'Name', kind: 'text'}),
    put({key: 'kind', label: 'It is', choices: labelled(words.kind, KINDS), redraws: true, set: (kind) => kindChanged(output, kind)}),
    put({key: 'takes', label: 'Input', choices: takesChoices(profile, output)}),
    put({key: 'container', label: 'Container', choices: stream ? words.stream_containers : words.file_containers, redraws: true}),
    put({key: 'codec', label: 'Codec', choices: words.codecs_in[output.container] ?? ['h264']}),
    put({key: 'bitrate_kbps', label: 'Bit rate in kb/s', kind: 'number'}),
    put({key: 'encoder', label: 'Encoder', choices: words.encoder}),
    put({key: 'effort', label: 'Effort of the encoder', choices: words.effort}),
    put({key: 'raster', label: 'Raster', kind: 'raster', optional: true, placeholder: 'same as input'}),
    put({key: 'rate', label: 'Frames a second', kind: 'rate', optional: true, placeholder: 'same as input'})];
  fields.push(
      stream ? put({
        key: 'url',
        label: 'Where it goes',
        kind: 'text',
        optional: true,
        placeholder: 'loopback',
        wide: true,
        hint:
            '“loopback” stays in this PC. A rehearsal from this page never sends to another address. What follows the host is saved and not shown: “kept-1” stands for it; type a whole address to replace it.'
      }) :
               put({
                 key: 'folder',
                 label: 'Folder',
                 kind: 'text',
                 optional: true,
                 placeholder: 'as said beside',
                 wide: true
               }));
  return card(profile.outputs, at, pointer, `Output ${at + 1}: ${output.name ?? ''}`, fields);
}

function addButton(id, label, list, make, pointer) {
  return el('button', {type: 'button', id, onclick: () => {
    list.push(make());
    edited(true);
    byId(`at-${pointer}-${list.length - 1}-name`)?.focus();
  }}, label);
}

function newSource() {
  const like = profile.sources.at(-1);
  return like ? {...structuredClone(like), name: freeName(profile.sources, like.name ?? 'Camera')}
    : {name: 'Camera', arrives_by: 'usb', raster: '1920x1080', rate: 25, pixel_format: 'nv12', content: 'talk'};
}

function newOutput() {
  const like = profile.outputs.at(-1);
  return like ? {...structuredClone(like), name: freeName(profile.outputs, like.name ?? 'Recording')}
    : {name: 'Recording', kind: 'recording', takes: 'program', codec: 'h264', bitrate_kbps: 8000, encoder: 'any', effort: 'least', container: 'mkv'};
}

const isObject = (value) => typeof value === 'object' && value !== null && !Array.isArray(value);
/** Members that the form needs and a broken text may lack. */
export const formCanShow = (value) => isObject(value) && isObject(value.program) && Array.isArray(value.sources) &&
  Array.isArray(value.outputs) && [...value.sources, ...value.outputs].every(isObject);

function marginsSection() {
  if (!isObject(profile.margins)) {
    const margins = {};
    const fields = words.margins.map((margin) => marginField(margins, margin, () => { profile.margins = margins; }));
    return section('Margins', el('div', {class: 'fields'}, fields));
  }
  return section('Margins', el('div', {class: 'fields'}, words.margins.map((margin) => marginField(profile.margins, margin, () => {}))));
}

function marginField(margins, margin, touched) {
  const label = margin.name === 'allowed_drops_per_hour' ? 'Dropped frames allowed per hour' : `${margin.name.replace('_percent', '')}, percent`;
  const spec = {key: margin.name, label: label.replace('cpu', 'CPU').replace('usb', 'USB'), kind: 'number', optional: true, placeholder: String(margin.usual)};
  spec.set = (value) => {
    touched();
    value === '' ? delete margins[margin.name] : margins[margin.name] = Number.isFinite(Number(value)) ? Number(value) : value;
  };
  return field(margins, '/margins', spec, edited);
}

/** The form's sections. `of`: {profile, words, edited(redraw), drawSoon()}; the profile is edited in place. */
export function formSections(of) {
  ({profile, words, edited, drawSoon} = of);
  const top = (spec) => field(profile, '', spec, edited);
  const audio = isObject(profile.audio) ? el('div', {class: 'fields'},
    field(profile.audio, '/audio', {key: 'channels', label: 'Channels', choices: ['1', '2', '6', '8'], number: true}, edited),
    field(profile.audio, '/audio', {key: 'sample_rate_hz', label: 'Samples a second', choices: ['44100', '48000'], number: true}, edited),
    field(profile.audio, '/audio', {key: 'bitrate_kbps', label: 'Bit rate in kb/s', kind: 'number'}, edited)) : null;
  return [
    section('Production', el('div', {class: 'fields'},
      top({key: 'name', label: 'Name', kind: 'text', wide: true}),
      top({key: 'duration_minutes', label: 'Length in minutes', kind: 'number'}),
      top({key: 'displays', label: 'Screens on this PC', kind: 'number'}),
      top({key: 'note', label: 'Note', kind: 'text', optional: true, wide: true}))),
    section('Programme', el('div', {class: 'fields', 'data-pointer': '/program'}, pictureFields(profile.program, '/program')),
      maybe(profile, 'multiview', '', 'A multiview for the operator', {raster: '1280x720', rate: profile.program.rate}, edited),
      isObject(profile.multiview) ? el('div', {class: 'fields'}, pictureFields(profile.multiview, '/multiview')) : null),
    section('Sources', profile.sources.map(sourceCard), addButton('addsources', 'Add a source like the last one', profile.sources, newSource, 'sources')),
    section('Recordings and streams', profile.outputs.map(outputCard), addButton('addoutputs', 'Add one like the last one', profile.outputs, newOutput, 'outputs')),
    section('Sound', maybe(profile, 'audio', '', 'With sound', {channels: 2, sample_rate_hz: 48000, bitrate_kbps: 160}, edited), audio),
    marginsSection(),
  ];
}
