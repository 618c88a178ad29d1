// SPDX-License-Identifier: Apache-2.0
//
// The form of a profile, the text behind it, and what is said of it at once.

import {ask, byId, calmly, el, fill, findings, problemText, say, showProblem, table, word} from './elements.js';
import {field, markWrong, maybe, suggestions, swapMembers} from './fields.js';
import {freeName, renameSource, takesChoices} from './names.js';

const SOURCES_BY = {usb: 'USB', pcie: 'a card (PCIe)', network: 'the network'};
const CONTENT = {plain: 'plain: slides, a still picture', talk: 'talk: a person who speaks', stage: 'stage: people who move', busy: 'busy: sport, water, leaves'};
const KINDS = {recording: 'a recording', stream: 'a stream', iso: 'an iso: one source by itself'};

const BUSY = 409;

let words = {};
let profile = null; // the object that the form edits; null while the text is not JSON
let text = ''; // what is kept
let kept_text = ''; // what the folder has
let shows = 0; // how often a text was opened
let kept_name = ''; // empty: not kept yet
let rehearse = () => {};

const labelled = (values, labels) => values.map((value) => ({value, label: labels[value] ?? value}));

/** After every edit by the form. */
function edited(redraw) {
  text = `${JSON.stringify(profile, null, 2)}\n`;
  if (redraw) {
    draw();
  } else {
    byId('raw').value = text;
  }
  checkCalmly();
}

function pictureFields(owner, pointer) {
  return [field(owner, pointer, {key: 'raster', label: 'Raster', kind: 'raster'}, edited),
    field(owner, pointer, {key: 'rate', label: 'Pictures a second', kind: 'rate'}, edited)];
}

function section(title, ...children) {
  return el('section', {}, el('h2', {}, title), el('div', {class: 'body'}, ...children));
}

function card(list, at, pointer, title, fields) {
  const remove = el('button', {type: 'button', class: 'quiet', onclick: () => {
    list.splice(at, 1);
    edited(true);
    say(`${title} was taken out.`);
    byId(`add${pointer.split('/')[1]}`)?.focus();
  }}, 'Take out', el('span', {class: 'unseen'}, ` ${title}`));
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
    fields.push(put({key: 'pixel_format', label: 'Form of its pictures', choices: words.pixel_format}));
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
    put({key: 'takes', label: 'It takes', choices: takesChoices(profile, output)}),
    put({key: 'container', label: 'Container', choices: stream ? words.stream_containers : words.file_containers, redraws: true}),
    put({key: 'codec', label: 'Codec', choices: words.codecs_in[output.container] ?? ['h264']}),
    put({key: 'bitrate_kbps', label: 'Bit rate in kb/s', kind: 'number'}),
    put({key: 'encoder', label: 'Encoder', choices: words.encoder}),
    put({key: 'effort', label: 'Effort of the encoder', choices: words.effort}),
    put({key: 'raster', label: 'Raster', kind: 'raster', optional: true, placeholder: 'as what it takes'}),
    put({key: 'rate', label: 'Pictures a second', kind: 'rate', optional: true, placeholder: 'as what it takes'})];
  fields.push(stream
    ? put({key: 'url', label: 'Where it goes', kind: 'text', optional: true, placeholder: 'loopback', wide: true, hint: '“loopback” stays in this PC. A rehearsal from this page never sends to another address.'})
    : put({key: 'folder', label: 'Folder', kind: 'text', optional: true, placeholder: 'as said beside', wide: true}));
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
const formCanShow = (value) => isObject(value) && isObject(value.program) && Array.isArray(value.sources) &&
  Array.isArray(value.outputs) && [...value.sources, ...value.outputs].every(isObject);

function marginsSection() {
  if (!isObject(profile.margins)) {
    const margins = {};
    const fields = words.margins.map((margin) => marginField(margins, margin, () => { profile.margins = margins; }));
    return section('Margins to keep', el('div', {class: 'fields'}, fields));
  }
  return section('Margins to keep', el('div', {class: 'fields'}, words.margins.map((margin) => marginField(profile.margins, margin, () => {}))));
}

function marginField(margins, margin, touched) {
  const label = margin.name === 'allowed_drops_per_hour' ? 'Drops an hour that may happen' : `${margin.name.replace('_percent', '')}, percent`;
  const spec = {key: margin.name, label: label.replace('cpu', 'CPU').replace('usb', 'USB'), kind: 'number', optional: true, placeholder: String(margin.usual)};
  spec.set = (value) => {
    touched();
    value === '' ? delete margins[margin.name] : margins[margin.name] = Number.isFinite(Number(value)) ? Number(value) : value;
  };
  return field(margins, '/margins', spec, edited);
}

function drawn() {
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
    section('Program', el('div', {class: 'fields', 'data-pointer': '/program'}, pictureFields(profile.program, '/program')),
      maybe(profile, 'multiview', '', 'A multiview for the operator', {raster: '1280x720', rate: profile.program.rate}, edited),
      isObject(profile.multiview) ? el('div', {class: 'fields'}, pictureFields(profile.multiview, '/multiview')) : null),
    section('Sources', profile.sources.map(sourceCard), addButton('addsources', 'Add a source like the last one', profile.sources, newSource, 'sources')),
    section('Recordings and streams', profile.outputs.map(outputCard), addButton('addoutputs', 'Add one like the last one', profile.outputs, newOutput, 'outputs')),
    section('Sound', maybe(profile, 'audio', '', 'With sound', {channels: 2, sample_rate_hz: 48000, bitrate_kbps: 160}, edited), audio),
    marginsSection(),
  ];
}

/** Once the click that left a field has found its target. */
const drawSoon = calmly(() => edited(true), 300);

/** Draws the form anew, with the focus where it was. */
function draw() {
  const focused = document.activeElement?.id;
  const open = byId('raw-details')?.open ?? false;
  const raw = el('textarea', {id: 'raw', rows: '18', spellcheck: 'false', 'aria-label': 'The profile as JSON', oninput: () => takeRaw(raw.value)});
  raw.value = text;
  const caret = document.activeElement?.selectionStart;
  fill(byId('form'), suggestions(),
    profile ? drawn() : el('p', {class: 'banner'}, 'The form cannot show this text. Mend it below; the form then comes back.'),
    section('As JSON', el('details', {id: 'raw-details', open: open || !profile},
      el('summary', {}, 'Everything, also what the form does not show'), raw)));
  const again = focused ? byId(focused) : null;
  again?.focus();
  if (caret !== null && caret !== undefined && again?.setSelectionRange) {
    again.setSelectionRange(caret, caret);
  }
}

/** The text was edited by hand: the form follows as soon as it can. */
function takeRaw(value) {
  text = value;
  let parsed = null;
  try {
    parsed = JSON.parse(value);
  } catch {
    parsed = null;
  }
  profile = formCanShow(parsed) ? parsed : null;
  draw();
  checkCalmly();
}

function showMend(problem) {
  const place = markWrong(byId('form'), problem);
  const mend = byId('mend');
  mend.hidden = !problem;
  if (problem) {
    fill(mend, el('span', {class: 'word stop'}, '✕ To mend: '), `${problemText(problem)} `,
      place ? el('button', {type: 'button', class: 'quiet', onclick: () => (place.matches('input, select') ? place : place.querySelector('input'))?.focus()}, 'Go there') : '');
    // A key that stands twice would be lost by the form: it waits for the text to be mended.
    if (profile && problem.detail.startsWith('the key stands here twice')) {
      profile = null;
      draw();
    }
  }
}

function showSurvey(answer) {
  if (!answer.survey) {
    fill(byId('survey'), answer.survey_error ? el('p', {class: 'problem'}, problemText(answer.survey_error)) : '');
    return;
  }
  const survey = answer.survey;
  fill(byId('survey'), el('p', {class: 'live-verdict'}, word(survey.verdict), survey.headline),
    table('Headroom without load', ['Resource', 'So far', 'Asked', 'There is', 'Spare', 'Keep'], survey.headroom.map((row) => [
      row.item ? `${row.resource}: ${row.item}` : row.resource, word(row.standing), row.asked, row.there_is, row.spare, row.keep])),
    el('h3', {}, survey.findings.length === 1 ? '1 finding' : `${survey.findings.length} findings`), findings(survey.findings));
}

let checking = false;
let check_again = false;
/** One at a time: what was typed meanwhile is checked when the answer is there. */
async function check() {
  check_again = checking;
  if (checking) {
    return;
  }
  checking = true;
  const answer = await ask('/api/check', {profile_text: text, survey: true, ...(byId('survey-folder').value && {record_to: byId('survey-folder').value})});
  checking = false;
  if (check_again) {
    check();
  } else if (answer.status === BUSY) {
    checkCalmly(); // another window looks
  } else {
    showChecked(answer);
  }
}

function showChecked(answer) {
  byId('survey-folder').removeAttribute('aria-invalid');
  if (!answer.ok) {
    const at_folder = answer.problem.where === '/record_to';
    showMend(at_folder ? null : answer.problem);
    if (at_folder) {
      byId('survey-folder').setAttribute('aria-invalid', 'true');
      fill(byId('survey'), el('p', {class: 'problem'}, answer.problem.detail));
    }
    say(`To mend: ${problemText(answer.problem)}`);
    return;
  }
  showMend(null);
  fill(byId('demand'), table('Sums of the whole production', ['What', 'Amount', 'From'], answer.data.demand.map((row) => [row.what, row.amount, row.from])));
  showSurvey(answer.data);
  say(answer.data.survey ? `Reckoned: ${answer.data.survey.verdict}, ${answer.data.survey.findings.length} findings without load.` : 'Reckoned.');
}
const checkCalmly = calmly(check, 500);

function showKept() {
  const link = byId('download-profile');
  link.hidden = !kept_name;
  link.href = kept_name ? `/api/profile?name=${encodeURIComponent(kept_name)}&download` : '#';
}

/** Asks, where something would be lost, before another text is shown. */
export const mayReplace = () => text === kept_text || confirm('What you changed is not kept. Open another one all the same?');

/** Shows a text in the form; `name` is that of the stored profile, or empty. */
export function show(new_text, name, wanted_name) {
  shows += 1;
  text = new_text;
  kept_text = new_text;
  kept_name = name;
  byId('file-name').value = name || wanted_name;
  showProblem('file-problem', '');
  try {
    const parsed = JSON.parse(text);
    profile = formCanShow(parsed) ? parsed : null;
  } catch {
    profile = null;
  }
  showKept();
  draw();
  check();
}

async function open(choice) {
  const [where, name] = [choice.slice(0, choice.indexOf(':')), choice.slice(choice.indexOf(':') + 1)];
  const answer = await ask(`/api/profile?${where === 'stored' ? 'name' : 'starter'}=${encodeURIComponent(name)}`);
  // The text itself: the profile may be no JSON at all.
  if (answer.status !== 200) {
    say(problemText(answer.problem));
    return;
  }
  show(answer.text, where === 'stored' ? name : '', where === 'stored' ? name : `my ${name}`);
  byId('pick').value = choice;
}

function notKept(detail) {
  showProblem('file-problem', detail);
  byId('file-name').focus();
  say(`Not kept: ${detail}`);
  return '';
}

/** True when somebody else has changed a profile in the folder since it was opened or kept here. */
async function isStale(name, text_then) {
  const stored = await ask(`/api/profile?name=${encodeURIComponent(name)}`);
  return stored.status === 200 && stored.text !== text_then;
}

/** The name under which it is in the folder now; empty when it was not taken. */
async function keep() {
  const name = byId('file-name').value.trim();
  const [sent, shown] = [text, shows]; // whoever waits for the answer may type on, or open another
  const replace = name === kept_name ? '&replace' : '';
  if (replace && await isStale(name, kept_text)) {
    return notKept('It has changed in the folder since it was opened here. Keep yours under a new name, or open that one again.');
  }
  const answer = await ask(`/api/profile?name=${encodeURIComponent(name)}${replace}`, sent);
  showProblem('file-problem', '');
  if (!answer.ok) {
    if (!answer.problem.where.startsWith('/') && !answer.problem.where.startsWith('line ')) {
      return notKept(answer.problem.detail);
    }
    showMend(answer.problem);
    say(`Not kept: ${problemText(answer.problem)}`);
    return '';
  }
  if (shown === shows) {
    kept_name = name;
    kept_text = sent;
    showKept();
  }
  say(`Kept as ${name}.`);
  return name;
}

export function showChoices(profiles) {
  const option = (where, one, title) => el('option', {value: `${where}:${one.name}`, selected: where === 'stored' && one.name === kept_name}, title);
  fill(byId('pick'), el('option', {value: '', selected: !kept_name}, 'please choose'),
    profiles.stored.length ? el('optgroup', {label: 'In this folder'}, profiles.stored.map((one) => option('stored', one, one.title ? `${one.name}: ${one.title}` : `${one.name}: to be mended`))) : null,
    el('optgroup', {label: 'Invented productions to start from'}, profiles.starters.map((one) => option('starter', one, one.title))));
}

export function begin(state, go_to_rehearsal, changed) {
  words = state.words;
  rehearse = go_to_rehearsal;
  byId('pick').addEventListener('change', () => {
    const choice = byId('pick').value;
    if (choice && mayReplace()) {
      open(choice);
    }
  });
  byId('survey-folder').addEventListener('input', checkCalmly);
  byId('form').addEventListener('submit', (event) => event.preventDefault());
  byId('keep').addEventListener('click', async () => { if (await keep()) { await changed(); } });
  byId('keep-and-rehearse').addEventListener('click', async () => {
    const name = await keep();
    if (name) {
      await changed();
      rehearse(name, byId('survey-folder').value);
    }
  });
  addEventListener('beforeunload', (event) => { if (text !== kept_text) { event.preventDefault(); } });
  const first = state.profiles.stored[0];
  open(first ? `stored:${first.name}` : `starter:${state.profiles.starters.find((one) => one.name === 'two-camera-talk')?.name ?? state.profiles.starters[0].name}`);
}
