// SPDX-License-Identifier: Apache-2.0
//
// Starts a rehearsal, follows it, stops it.

import {ask, byId, el, fill, problemText, say, showProblem, word} from './elements.js';
import {reportLinks} from './results.js';

const LOOK_EVERY_MS = 1000;
const MOST_FAILURES = 30; // one after another, before it gives up
const LENGTHS = {quick: 'quick', standard: 'standard', full: 'full length'};

let following = false;
let told = ''; // what the live region said last
let changed = () => {};

const seconds = (value) => (value < 120 ? `${Math.floor(value)} s` : `${Math.floor(value / 60)} min ${Math.floor(value % 60)} s`);

function tell(text) {
  if (text !== told) {
    told = text;
    say(text);
  }
}

function now(run) {
  const current = run.phases.findLast((phase) => !phase.done);
  if (run.stage === 'stopping') {
    return el('p', {class: 'phase-now'}, 'Ending; saving what was measured …');
  }
  if (!current) {
    return el('p', {class: 'phase-now'}, 'Starting …');
  }
  const left = current.expected_s - current.elapsed_s;
  const times = current.expected_s > 0
    ? `${seconds(current.elapsed_s)} of about ${seconds(current.expected_s)}${left > 0 ? `, ${seconds(Math.ceil(left))} left` : ''}` : seconds(current.elapsed_s);
  return [el('p', {class: 'phase-now'}, el('strong', {}, current.phase), ` ${times}${current.note ? `, ${current.note}` : ''}`),
    current.expected_s > 0 ? el('progress', {max: current.expected_s, value: Math.min(current.elapsed_s, current.expected_s), 'aria-label': current.phase}) : null];
}

function end(run) {
  if (run.failed) {
    return el('p', {class: 'banner'}, run.failed);
  }
  return [el('p', {class: 'live-verdict'}, word(run.verdict), run.stopped ? 'Stopped before its end; what was measured is saved and marked incomplete.' : 'It ran to its end.'),
    el('div', {class: 'buttons'}, reportLinks(run.result))];
}

function show(run) {
  byId('run').hidden = run.stage === 'none';
  byId('start-form').hidden = run.stage === 'running' || run.stage === 'stopping';
  if (run.stage === 'none') {
    return;
  }
  const ended = run.stage === 'ended';
  byId('run-title').textContent = `${run.profile}, ${LENGTHS[run.length] ?? run.length}`;
  byId('stop').hidden = run.stage !== 'running';
  fill(byId('run-now'), ended ? '' : now(run));
  fill(byId('run-end'), ended ? end(run) : '');
  fill(byId('phases'), run.phases.filter((phase) => phase.done).map((phase) => el('li', {},
    `${phase.phase}: ${seconds(phase.elapsed_s)}${phase.note ? `, ${phase.note}` : ''}`)));
  fill(byId('messages'), run.messages.map((line) => el('li', {}, line)));
  if (ended) {
    tell(run.failed || `The rehearsal has ended: ${run.verdict}.`);
  } else {
    tell(run.stage === 'stopping' ? 'The rehearsal ends.' : `Now: ${run.phases.at(-1)?.phase ?? 'starting'}.`);
  }
}

/** Looks again and again while one runs. */
async function follow() {
  if (following) {
    return;
  }
  following = true;
  let goes_on = true;
  let failures = 0;
  while (goes_on) {
    const answer = await ask('api/run');
    if (answer.ok) {
      failures = 0;
      show(answer.data);
      goes_on = answer.data.stage === 'running' || answer.data.stage === 'stopping';
    } else {
      tell(problemText(answer.problem));
      failures += 1;
      goes_on = failures < MOST_FAILURES;
    }
    if (goes_on) {
      await new Promise((resolve) => { setTimeout(resolve, LOOK_EVERY_MS); });
    }
  }
  following = false;
  await changed();
}

async function start(event) {
  event.preventDefault();
  showProblem('start-problem', '');
  const order = {profile: byId('run-profile').value, length: document.querySelector('input[name=length]:checked').value, understood: byId('understood').checked};
  if (byId('run-folder').value.trim()) {
    order.record_to = byId('run-folder').value.trim();
  }
  if (!order.profile) {
    showProblem('start-problem', 'Save a production first: it is then offered above.');
    return;
  }
  if (!order.understood) {
    showProblem('start-problem', 'Read the cautions, and tick that nothing is live now.');
    byId('understood').focus();
    return;
  }
  const answer = await ask('api/run', order);
  if (!answer.ok) {
    showProblem('start-problem', problemText(answer.problem));
    return;
  }
  byId('understood').checked = false; // asked again each time
  show(answer.data);
  byId('stop').focus();
  await follow();
}

export function showProfiles(profiles, wanted) {
  const select = byId('run-profile');
  const chosen = wanted || select.value;
  const usable = profiles.stored.filter((one) => !one.error);
  fill(select, usable.length ? null : el('option', {value: ''}, 'none is saved yet'),
    usable.map((one) => el('option', {value: one.name, selected: one.name === chosen}, `${one.name}: ${one.title}, ${one.minutes} min`)));
}

export function begin(state, when_changed) {
  changed = when_changed;
  byId('start-form').addEventListener('submit', start);
  byId('stop').addEventListener('click', async () => {
    const answer = await ask('api/stop', {});
    if (answer.ok) {
      show(answer.data);
    } else {
      say(problemText(answer.problem));
    }
  });
  show(state.run);
  if (state.run.stage === 'running' || state.run.stage === 'stopping') {
    follow();
  }
}
