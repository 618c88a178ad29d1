// SPDX-License-Identifier: Apache-2.0
//
// Results: read, saved as files, compared.

import {ask, byId, el, fill, problemText, say, showProblem, word} from './elements.js';

let edit = () => {};

const at = (file, name, more = '') => `result/${file}?name=${encodeURIComponent(name)}${more}`;

/** Links to all that a result can give. */
export function reportLinks(name) {
  const unseen = () => el('span', {class: 'unseen'}, ` of ${name}`);
  return [el('a', {class: 'button main', href: at('report.html', name), target: '_blank', rel: 'noopener'}, 'Read the report', unseen()),
    el('a', {class: 'button', href: at('report.html', name, '&download'), download: ''}, 'Download the report', unseen()),
    el('a', {class: 'button', href: at('result.json', name, '&download'), download: ''}, 'Download result.json', unseen()),
    el('a', {class: 'button', href: at('profile.json', name, '&download'), download: ''}, 'Download its profile', unseen())];
}

function card(result) {
  const id = `tick-${result.name}`;
  if (result.error) {
    return el('li', {class: 'card'}, el('h2', {}, result.shown), el('p', {class: 'problem'}, result.error));
  }
  return el('li', {class: 'card'},
    el('h2', {}, result.production || result.shown),
    el('p', {class: 'lead'}, `${result.shown}: ${result.length}, started ${result.started_at.replace('T', ' ').replace('Z', ' UTC')}${result.complete ? '' : ', incomplete'}`),
    el('p', {class: 'live-verdict'}, word(result.verdict), result.headline),
    result.spare.length ? el('p', {}, `Headroom: ${result.spare.join(', ')}.`) : null,
    el('label', {class: 'tick', for: id}, el('input', {type: 'checkbox', id, name: 'compared', value: result.name}), ' Compare', el('span', {class: 'unseen'}, ` ${result.shown}`)),
    el('div', {class: 'buttons'}, reportLinks(result.name),
      el('button', {type: 'button', onclick: () => startFrom(result.name)}, 'Start a profile from it', el('span', {class: 'unseen'}, ` ${result.shown}`))));
}

async function startFrom(name) {
  const answer = await ask(at('profile.json', name));
  if (!answer.ok) {
    say(problemText(answer.problem));
    return;
  }
  edit(answer.text);
}

/** Oldest first: before, then after. */
function ticked(results) {
  const names = new Set([...document.querySelectorAll('input[name=compared]:checked')].map((box) => box.value));
  return results.filter((one) => names.has(one.name)).sort((one, other) => one.started_at.localeCompare(other.started_at)).map((one) => one.name);
}

let results = [];

/** Empty, with the reason shown, where there is nothing to compare now. */
async function comparisonAddress(path) {
  const names = ticked(results);
  const run = await ask('api/run');
  const busy = run.data?.stage === 'running' || run.data?.stage === 'stopping';
  const problem = names.length < 2 ? 'Tick two results, before and after, or more of them to rank them.'
    : busy ? 'Not while a rehearsal runs: it would spoil what is measured.' : '';
  showProblem('compare-problem', problem);
  return problem ? '' : `${path}?${names.map((name) => `result=${encodeURIComponent(name)}`).join('&')}`;
}

export async function refresh() {
  const answer = await ask('api/results');
  if (!answer.ok) {
    say(problemText(answer.problem));
    return [];
  }
  results = answer.data;
  results.sort((one, other) => (other.started_at ?? '').localeCompare(one.started_at ?? ''));
  byId('compare-bar').hidden = results.length < 2;
  fill(byId('cards'), results.length ? results.map(card) : el('li', {}, 'None yet: a rehearsal makes one.'));
  return results;
}

export function begin(state, edit_text) {
  edit = edit_text;
  byId('folder').textContent = state.folder;
  byId('compare').addEventListener('click', async () => {
    const address = await comparisonAddress('compare');
    if (address) {
      window.open(address, '_blank', 'noopener');
    }
  });
  byId('compare-json').addEventListener('click', async () => {
    const address = await comparisonAddress('compare.json');
    if (address) {
      el('a', {href: address, download: ''}).click();
    }
  });
}
