// SPDX-License-Identifier: Apache-2.0
//
// The text of a profile, the form that shows it, what is said of it at once, and where it is kept.

import {ask, byId, calmly, el, fill, findings, part, problemText, say, section, showProblem, table, word} from './elements.js';
import {markWrong, suggestions} from './fields.js';
import {formCanShow, formSections} from './profile_form.js';

const BUSY = 409;

let words = {};
let profile = null; // the object that the form edits; null while the text is not JSON
let text = ''; // what is kept
let kept_text = ''; // what the folder has
let shows = 0; // how often a text was opened
let kept_name = ''; // empty: not kept yet
let rehearse = () => {};

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

/** Once the click that left a field has found its target. */
const drawSoon = calmly(() => edited(true), 300);

/** Draws the form anew, with the focus where it was and the same text selected. */
function draw() {
  const {id: focused, selectionStart: from, selectionEnd: to} = document.activeElement ?? {};
  const open = byId('raw-details')?.open ?? false;
  const raw = el('textarea', {id: 'raw', rows: '18', spellcheck: 'false', 'aria-label': 'The profile as JSON', oninput: () => takeRaw(raw.value)});
  raw.value = text;
  fill(byId('form'), suggestions(),
    profile ? formSections({profile, words, edited, drawSoon}) : el('p', {class: 'banner'}, 'The form cannot show this text. Fix it below; the form then comes back.'),
    section('As JSON', el('details', {id: 'raw-details', open: open || !profile},
      el('summary', {}, 'Everything, also what the form does not show'), raw)));
  const again = focused ? byId(focused) : null;
  again?.focus();
  if (Number.isInteger(from) && again?.setSelectionRange) {
    again.setSelectionRange(from, to);
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
    fill(mend, el('span', {class: 'word stop'}, '✕ Fix this: '), `${problemText(problem)} `,
      place ? el('button', {type: 'button', class: 'quiet', onclick: () => (place.matches('input, select') ? place : place.querySelector('input'))?.focus()}, 'Go there') : '',
      problem.more?.length ? el('ul', {}, problem.more.map((one) => el('li', {}, problemText(one)))) : '');
    // A key that stands twice would be lost by the form: it waits for the text to be fixed.
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
    table('Headroom without load', ['Resource', 'Standing', 'Needed', 'Available', 'Headroom', 'Margin'], survey.headroom.map((row) => [
      row.item ? `${row.resource}: ${row.item}` : row.resource, word(row.standing), row.asked, row.there_is, row.spare, row.keep])),
    el('h3', {}, survey.findings.length === 1 ? '1 finding' : `${survey.findings.length} findings`), findings(survey.findings),
    el('details', {open: survey_open, ontoggle: (event) => { survey_open = event.target.open; }}, el('summary', {}, 'What this PC has'), survey.machine.flatMap((one) => part('h4', one))));
}

let survey_open = false;
let checking = false;
let check_again = false;
/** One at a time: what was typed meanwhile is checked when the answer is there. */
async function check() {
  check_again = checking;
  if (checking) {
    return;
  }
  checking = true;
  const answer = await ask('api/check', {profile_text: text, survey: true, ...(byId('survey-folder').value && {record_to: byId('survey-folder').value})});
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
    say(`Fix this: ${problemText(answer.problem)}`);
    return;
  }
  showMend(null);
  fill(byId('demand'), table('Sums of the whole production', ['What', 'Amount', 'From'], answer.data.demand.map((row) => [row.what, row.amount, row.from])));
  showSurvey(answer.data);
  say(answer.data.survey ? `Checked: ${answer.data.survey.verdict}, ${answer.data.survey.findings.length} findings without load.` : 'Checked.');
}
const checkCalmly = calmly(check, 500);

function showKept() {
  const link = byId('download-profile');
  link.hidden = !kept_name;
  link.href = kept_name ? `api/profile?name=${encodeURIComponent(kept_name)}&download` : '#';
}

/** Asks, where something would be lost, before another text is shown. */
export const mayReplace = () => text === kept_text || confirm('What you changed is not saved. Open another one all the same?');

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
  const answer = await ask(`api/profile?${where === 'stored' ? 'name' : 'starter'}=${encodeURIComponent(name)}`);
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
  say(`Not saved: ${detail}`);
  return '';
}

/** True when somebody else has changed a profile in the folder since it was opened or kept here. */
async function isStale(name, text_then) {
  const stored = await ask(`api/profile?name=${encodeURIComponent(name)}`);
  return stored.status === 200 && stored.text !== text_then;
}

/** The name under which it is in the folder now; empty when it was not taken. */
async function keep() {
  const name = byId('file-name').value.trim();
  const [sent, shown] = [text, shows]; // whoever waits for the answer may type on, or open another
  const replace = name === kept_name ? '&replace' : '';
  if (replace && await isStale(name, kept_text)) {
    return notKept('It has changed in the folder since it was opened here. Save yours under a new name, or open that one again.');
  }
  const answer = await ask(`api/profile?name=${encodeURIComponent(name)}${replace}`, sent);
  showProblem('file-problem', '');
  if (!answer.ok) {
    if (!answer.problem.where.startsWith('/') && !answer.problem.where.startsWith('line ')) {
      return notKept(answer.problem.detail);
    }
    showMend(answer.problem);
    say(`Not saved: ${problemText(answer.problem)}`);
    return '';
  }
  if (shown === shows) {
    kept_name = name;
    kept_text = answer.data.text;
    if (text === sent &&
        text !== kept_text) {  // an address was typed: from now on it shows scheme and host
      text = kept_text;
      profile = JSON.parse(text);
      draw();
    }
    showKept();
  }
  say(`Saved as ${name}.`);
  return name;
}

export function showChoices(profiles) {
  const option = (where, one, title) => el('option', {value: `${where}:${one.name}`, selected: where === 'stored' && one.name === kept_name}, title);
  fill(byId('pick'), el('option', {value: '', selected: !kept_name}, 'please choose'),
    profiles.stored.length ? el('optgroup', {label: 'In this folder'}, profiles.stored.map((one) => option('stored', one, one.title ? `${one.name}: ${one.title}` : `${one.name}: to be fixed`))) : null,
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
