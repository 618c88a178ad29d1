// SPDX-License-Identifier: Apache-2.0
//
// The fields of the what-if part and its answer: whatif_sums.js works it out, whatif_rows.js draws it.

const verdictInto = (status, {rows, unproven, verdict, sure}) => {
  const [mark, sign, word, meaning] = marks[verdict];
  const first = rows.find((row) => row.left !== null && rows.every((other) => other.left === null || row.left <= other.left));
  status.className = 'what-if-verdict ' + mark;
  status.replaceChildren(make('strong', {}, make('span', {className: 'sign', 'aria-hidden': 'true'}, sign), ' ' + word),
    ' ' + meaning + (sure === 'likely' ? ' (likely, not sure)' : '') +
    (first ? '; runs out first: ' + [first.resource, first.item].join(' ').trim() + ', ' + leftText(first) : '') +
    (unproven.length ? '; unproven: ' + unproven.length : ''));
};

// What is shown, and a function that shows the answer to the inputs.
const answerOf = (section, model, inputs) => {
  const evaluate = evaluatorOf(model);
  const before = new Map(evaluate(inputs).rows.map((row) => [row.key, row]));
  const status = section.querySelector('[role=status]'), list = section.querySelector('.headroom');
  const open = section.querySelector('.open-points');
  return () => {
    const begun = performance.now();
    const answer = evaluate(inputs);
    const worked = performance.now();
    verdictInto(status, answer);
    const scale = answer.rows.some((row) => row.left !== null && row.left < 0) ? 150 : 100;
    list.replaceChildren(...answer.rows.map((row) => rowOf(row, before.get(row.key), scale)));
    open.replaceChildren(...answer.unproven.map((text) => make('li', {}, text)));
    open.hidden = !answer.unproven.length;
    section.dataset.verdict = answer.verdict;
    section.dataset.sure = answer.sure;
    section.dataset.changed = inputs.some((value, i) => value !== model.inputs[i].now) ? 'yes' : 'no';
    performance.clearMeasures();
    performance.measure('what-if sums', {start: begun, end: worked});
    performance.measure('what-if', {start: begun, end: performance.now()});
  };
};

const choiceField = (input, id) => make('select', {id}, ...input.choices.map((text, i) =>
  make('option', {value: i}, text + (i === input.now ? ' (as it is)' : ''))));
const numberField = (input, id) => make('input',
  {id, type: 'number', inputMode: 'numeric', min: input.least, max: input.most, step: input.step});

// One input of the model: its label, its field, and buttons for one step less or more.
const fieldOf = (input, at, inputs, show) => {
  const id = 'what-if-' + at;
  const field = input.choices.length ? choiceField(input, id) : numberField(input, id);
  const holder = make('div', {className: 'what-if-field'},
    make('label', {htmlFor: id}, input.label + (input.unit ? ' (' + input.unit + ')' : '')));
  const put = (value) => {
    inputs[at] = value;
    field.value = value;
    holder.classList.toggle('changed', value !== input.now);
  };
  const set = (value) => {
    if (!isFinite(value)) return;
    put(Math.min(input.most, Math.max(input.least, Math.round(value / input.step) * input.step)));
    show();
  };
  const by = (sign, word, step) => make('button', {type: 'button', 'aria-label': word + ' ' + input.label.toLowerCase() + ', ' + input.group,
    onclick: () => set(inputs[at] + step)}, sign);
  const step = input.unit === 'minutes' ? 15 : input.step;
  if (input.choices.length) holder.append(field);
  else holder.append(by('−', 'less', -step), field, by('+', 'more', step), make('span', {className: 'now'}, 'as it is: ' + input.now));
  put(input.now);
  field.addEventListener(input.choices.length ? 'change' : 'input', () => { if (field.value !== '') set(Number(field.value)); });
  // An empty field would stand above figures for a number that nobody sees.
  field.addEventListener('blur', () => { if (field.value === '') field.value = inputs[at]; });
  return {holder, reset: () => put(input.now)};
};

const startWhatIf = (section) => {
  const model = JSON.parse(document.getElementById('what-if-model').textContent);
  const inputs = model.inputs.map((input) => input.now);
  const show = answerOf(section, model, inputs);
  const fields = model.inputs.map((input, at) => fieldOf(input, at, inputs, show));
  const groups = new Map();
  model.inputs.forEach((input, at) => {
    if (!groups.has(input.group)) groups.set(input.group, make('fieldset', {}, make('legend', {}, input.group)));
    groups.get(input.group).append(fields[at].holder);
  });
  section.querySelector('.controls').append(...groups.values());
  section.querySelector('.as-it-is').addEventListener('click', () => {
    for (const field of fields) field.reset();
    show();
  });
  section.hidden = false;
  for (const link of document.querySelectorAll('nav .what-if-link')) link.hidden = false;
  show();
};

const section = document.getElementById('what-if');
// The page itself is read first.
if (section && window.requestIdleCallback) requestIdleCallback(() => startWhatIf(section), {timeout: 500});
else if (section) setTimeout(() => startWhatIf(section));
