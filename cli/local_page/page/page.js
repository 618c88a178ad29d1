// SPDX-License-Identifier: Apache-2.0
//
// Puts the parts together and shows one of them at a time.

import {ask, byId, problemText, say} from './elements.js';
import * as production from './production.js';
import * as rehearsal from './rehearsal.js';
import * as results from './results.js';
import * as size from './size.js';

const views = [...document.querySelectorAll('.view')];

/** The address names the part; "#content" is the way past the links. */
function showView(to_top) {
  const wanted = location.hash.slice(1);
  const view = views.find((one) => one.dataset.view === wanted) ?? (to_top ? views[0] : null);
  if (!view) {
    return;
  }
  for (const one of views) {
    one.hidden = one !== view;
  }
  for (const link of document.querySelectorAll('nav a')) {
    const here = link.hash === `#${view.dataset.view}`;
    here ? link.setAttribute('aria-current', 'page') : link.removeAttribute('aria-current');
  }
  document.title = `rigproof: ${view.querySelector('h1').textContent}`;
  scrollTo(0, 0);
}

/** Something in the folder is new. */
async function changed(profile) {
  const [state, list] = [await ask('api/state'), await results.refresh()];
  size.refresh(list);
  if (state.ok) {
    production.showChoices(state.data.profiles);
    rehearsal.showProfiles(state.data.profiles, profile);
  }
}

async function start() {
  const state = await ask('api/state');
  if (!state.ok) {
    say(problemText(state.problem));
    return;
  }
  byId('version').textContent = `rigproof ${state.data.version}.`;
  size.begin(state.data);
  results.begin(state.data, (text) => {
    if (!production.mayReplace()) {
      return;
    }
    production.show(text, '', '');
    location.hash = 'production';
    byId('file-name').focus();
  });
  production.begin(state.data, async (name, folder) => {
    await changed(name);
    byId('run-folder').value = folder;
    location.hash = 'rehearsal';
  }, changed);
  await changed();
  rehearsal.begin(state.data, changed);
}

byId('skip').addEventListener('click', (event) => {
  event.preventDefault();
  byId('content').focus();
});
addEventListener('hashchange', () => {
  say('');
  showView(false);
});
showView(true);
await start();
