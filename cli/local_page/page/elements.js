// SPDX-License-Identifier: Apache-2.0
//
// Elements and requests. Text becomes text nodes only: nothing that comes from a file is markup.

/** An element: `with` sets attributes, `on...` functions listen; children are elements or text. */
export function el(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === 'function') {
      element.addEventListener(name.slice(2), value);
    } else if (value !== false && value !== null && value !== undefined) {
      element.setAttribute(name, value === true ? '' : value);
    }
  }
  element.append(...children.flat().filter((child) => child !== null && child !== undefined));
  return element;
}

export function section(title, ...children) {
  return el('section', {}, el('h2', {}, title), el('div', {class: 'body'}, ...children));
}

export const byId = (id) => document.getElementById(id);

export function fill(element, ...children) {
  element.replaceChildren(...children.flat().filter((child) => child !== null && child !== undefined));
}

/** Told to people who do not see the page, and shown in one line. */
export function say(text) {
  byId('say').textContent = text;
}

export function showProblem(id, text) {
  const place = byId(id);
  place.textContent = text;
  place.hidden = !text;
}

/** One request. `body` makes it a POST. Gives {ok, status, data, problem: {where, detail}}. */
export async function ask(path, body) {
  const options = {cache: 'no-store'};
  if (body !== undefined) {
    options.method = 'POST';
    options.headers = {'Content-Type': 'application/json'};
    options.body = typeof body === 'string' ? body : JSON.stringify(body);
  }
  let response;
  let text = '';
  try {
    response = await fetch(path, options);
    text = await response.text();
  } catch {
    return {ok: false, status: 0, problem: {where: '', detail: 'rigproof does not answer: has it ended? Start it again and open its new address.'}};
  }
  let data = null;
  try {
    data = JSON.parse(text);
  } catch {
    return {ok: false, status: response.status, text, problem: {where: '', detail: text.trim() || 'no answer'}};
  }
  return {ok: response.ok, status: response.status, data, text, problem: data?.error};
}

export const problemText = ({where, detail}) => (where ? `${where}: ${detail}` : detail);

/** Calls `act` once `ms` have gone by without another call. */
export function calmly(act, ms) {
  let timer = 0;
  return () => {
    clearTimeout(timer);
    timer = setTimeout(act, ms);
  };
}

// The same signs as in the report (report/show/html/pieces.cc).
const TONES = {ready: ['good', '✓'], tight: ['warn', '▲'], short: ['stop', '✕'], unproven: ['unknown', '?'],
  stop: ['stop', '✕'], warn: ['warn', '▲'], note: ['note', '○'],
  ok: ['good', '✓'], 'below the margin': ['warn', '▲'], overloaded: ['stop', '✕']};

/** A word with its sign, in its tone. */
export function word(text) {
  const [tone, sign] = TONES[text] ?? ['note', ''];
  return el('span', {class: `word ${tone}`}, el('span', {class: 'sign', 'aria-hidden': 'true'}, `${sign} `), text);
}

export function findings(list) {
  return list.map((finding) => el('article', {class: `finding ${TONES[finding.severity]?.[0] ?? 'note'}`},
    el('h4', {}, word(finding.severity), finding.title),
    finding.evidence.length ? el('ul', {class: 'evidence'}, finding.evidence.map((line) => el('li', {}, line))) : null,
    finding.action ? el('p', {}, finding.action) : null));
}

/** A table whose first column names the row; a cell is text or an element. */
export function table(caption, heads, rows) {
  return el('div', {class: 'scroll', tabindex: '0', role: 'region', 'aria-label': caption},
    el('table', {}, el('caption', {}, caption),
      el('thead', {}, el('tr', {}, heads.map((head) => el('th', {scope: 'col'}, head)))),
      el('tbody', {}, rows.map(([name, ...cells]) => el('tr', {}, el('th', {scope: 'row'}, name),
        cells.map((cell) => el('td', {}, cell)))))));
}

/** A text with its sign; the rest of a row's name stands beside it. */
function cell({text, mark, sign, rest}) {
  return [mark ? el('span', {class: `word ${mark}`}, el('span', {class: 'sign', 'aria-hidden': 'true'}, `${sign} `), text) : text,
    rest ? el('span', {class: 'item'}, ` ${rest}`) : null];
}

/** Facts without a name go on with the one before. */
function block(one) {
  if (one.facts) {
    return el('dl', {}, one.facts.map(({name, text}) => [name ? el('dt', {}, name) : null, el('dd', {}, text)]).flat());
  }
  if (one.rows) {
    return table(one.caption, one.columns, one.rows.map((row) => row.map((each) => el('span', {}, cell(each)))));
  }
  if (one.lines) {
    return [one.name.text ? el('p', {}, cell(one.name)) : null, el('ul', {class: 'prose'}, one.lines.map((line) => el('li', {}, cell(line))))];
  }
  return one.note ? el('p', {}, cell(one.note)) : el('h4', {}, one.subtitle);
}

/** A part of what the report shows, below a heading. */
export const part = (heading, {title, blocks}) => [el(heading, {}, title), blocks.map(block)].flat(2);
