// The what-if part: works the embedded model out and draws the rows. It knows nothing of the trade;
// report/what_if_evaluate.cc does the same sums: what changes here changes there.
(() => {
  'use strict';
  const section = document.getElementById('what-if');
  if (!section) return;
  const start = () => {
    const model = JSON.parse(document.getElementById('what-if-model').textContent);

    // --- the sums ---
    const rounding = 1e-6, roundingPercent = 1e-4;
    const same = (a, b) => Math.abs(a - b) <= rounding * Math.max(1, Math.abs(a), Math.abs(b)) ? 1 : 0;
    const spare = (asked, capacity) => {
      if (isNaN(asked) || isNaN(capacity)) return NaN;
      const percent = asked <= 0 ? (capacity > 0 ? 100 : 0)
        : capacity <= 0 ? -999 : Math.max(-999, (capacity - asked) / capacity * 100);
      return Math.abs(percent) < roundingPercent ? 0 : percent;
    };
    const fold = (join) => (values) => values.reduce(join);
    const steps = {
      sum: fold((a, b) => a + b), product: fold((a, b) => a * b),
      least: fold((a, b) => Math.min(a, b)), most: fold((a, b) => Math.max(a, b)),
      quotient: ([a, b]) => a / b, power: ([a, b]) => Math.pow(a, b),
      more: ([a, b]) => a > b ? 1 : 0, same: ([a, b]) => same(a, b), spare: ([a, b]) => spare(a, b),
    };

    // "0.25x3 -": three times 0.25, then one that is not told.
    const entriesOf = (text) => {
      const entries = [];
      for (const part of text.split(' ')) {
        const [value, times] = part.split('x');
        for (let n = 0; n < (times || 1); ++n) entries.push(value === '-' ? NaN : Number(value));
      }
      return entries;
    };
    const tableOf = (of, sizes, text) => {
      const entries = entriesOf(text);
      return (at) => {
        let place = 0;
        for (let i = 0; i < of.length; ++i) {
          const index = Math.round(at[of[i]]);
          if (!(index >= 0 && index < sizes[i])) return NaN;
          place = place * sizes[i] + index;
        }
        return entries[place];
      };
    };
    const compile = ([step, ...of]) => {
      if (step === 'number') return () => of[0] === null ? NaN : of[0];
      if (step === 'input') return (at, inputs) => inputs[of[0]];
      if (step === 'table') return tableOf(...of);
      if (step === 'either') return (at) => at[of[0]] !== 0 ? at[of[1]] : at[of[2]];
      return (at) => steps[step](of.map((node) => at[node]));
    };
    const nodes = model.nodes.map(compile);

    const holds = (value) => !isNaN(value) && value !== 0;
    const sureOf = (row) => row.left === null ? 'open'
      : (row.left >= 0 ? row.lowest >= 0 : row.highest < 0) ? 'sure' : 'likely';
    const judge = (rows, unproven) => {
      const over = rows.filter((row) => row.left !== null && row.left < 0);
      if (over.length)
        return ['short', over.some((row) => row.sure === 'sure') ? 'sure' : 'likely'];
      if (unproven.length || !rows.length) return ['unproven', 'open'];
      const below = rows.some((row) => row.left !== null && row.left < Math.max(0, row.margin));
      return [below || model.dropped ? 'tight' : 'ready',
        rows.every((row) => row.sure === 'sure') ? 'sure' : 'likely'];
    };
    const evaluate = (inputs) => {
      const at = [];
      for (const node of nodes) at.push(node(at, inputs));
      const told = (node) => node < 0 || isNaN(at[node]) ? null : at[node];
      const rows = model.resources.filter((one) => holds(at[one.shown])).map((one) => {
        const row = {
          key: one.resource + '|' + one.item, resource: one.resource, item: one.item, unit: one.unit,
          asked: at[one.asked], capacity: told(one.capacity), left: told(one.left),
          lowest: told(one.lowest), highest: told(one.highest), margin: one.margin_percent,
          source: one.source, prove: one.how_to_prove, basis: one.basis,
        };
        row.sure = sureOf(row);
        return row;
      });
      const unproven = model.unproven.filter((one) => holds(at[one.when])).map((one) => one.text);
      const above = (row) => row.left === null ? 1e9 : row.left - row.margin;
      rows.sort((a, b) => above(a) - above(b));
      const [verdict, sure] = judge(rows, unproven);
      return {rows, unproven, verdict, sure};
    };

    // --- figures as the rest of the page writes them ---
    const grouped = (digits) => digits.replace(/\B(?=(\d{3})+$)/g, ',');
    const number = (value) => {
      const size = Math.abs(value), whole = size >= 99.95 || value === Math.trunc(value);
      return whole ? (value < 0 ? '-' : '') + grouped(String(Math.round(size)))
        : value.toFixed(size >= 9.995 ? 1 : size >= 0.995 ? 2 : 3);
    };
    const scaled = (value, unit) => {
      const prefixes = ['', 'k', 'M', 'G', 'T', 'P'];
      let prefix = 0;
      while (Math.abs(value) >= 999.5 && prefix + 1 < prefixes.length) { value /= 1000; ++prefix; }
      const size = Math.abs(value);
      return value.toFixed(!prefix || size >= 99.95 ? 0 : size >= 9.995 ? 1 : 2) + ' ' + prefixes[prefix] + unit;
    };
    const short = {'bytes': 'B', 'bytes/s': 'B/s', 'bits/s': 'b/s'};
    const counted = ['CPUs', 'sessions', 'displays', 'cores', 'frames'];
    const quantity = (value, unit) => short[unit] ? scaled(value, short[unit])
      : value === 1 && counted.includes(unit) ? '1 ' + unit.slice(0, -1)
        : number(value) + (unit ? ' ' + unit : '');
    const percent = (value) => {
      if (Math.abs(value) >= 999) return value < 0 ? '< -999 %' : '> 999 %';
      const scale = Math.abs(value) >= 10 ? 1 : 10;
      const down = Math.floor(value * scale + 1e-9) / scale || 0;  // what reads as kept is kept
      return (Math.abs(down) < 9.95 && down !== Math.trunc(down) ? down.toFixed(1) : down.toFixed(0)) + ' %';
    };
    const leftText = (row) => row.left === null ? 'not known' : row.left <= -998 ? 'there is none'
      : row.left < 0 ? percent(row.left).slice(1) + ' over' : percent(row.left) + ' left';
    const rangeText = (row) => row.left === null || row.left <= -998 || row.lowest === row.highest ? ''
      : 'between ' + percent(row.lowest) + ' and ' + percent(row.highest) + ' left';

    // --- drawing ---
    const make = (name, props, ...children) => {
      const element = document.createElement(name);
      for (const [key, value] of Object.entries(props || {}))
        if (key in element) element[key] = value; else element.setAttribute(key, value);
      element.append(...children);
      return element;
    };
    const draw = (name, attributes) => {
      const element = document.createElementNS('http://www.w3.org/2000/svg', name);
      for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
      return element;
    };
    const marks = {
      ready: ['good', '✓', 'Ready', 'it fits, and every margin is kept'],
      tight: ['warn', '▲', 'Tight', 'it fits, but a margin is not kept'],
      short: ['stop', '✕', 'Short', 'it does not fit'],
      unproven: ['unknown', '?', 'Unproven', 'this result cannot tell'],
    };
    const standingOf = (row) => row.left === null ? marks.unproven.slice(0, 2).concat('unproven')
      : row.left < 0 ? marks.short.slice(0, 2).concat('more is asked than there is')
        : row.left < row.margin ? marks.tight.slice(0, 2).concat('margin not kept')
          : marks.ready.slice(0, 2).concat('margin kept');

    const barOf = (row, was, scale) => {
      const place = (used) => Math.min(100, Math.max(0, used / scale * 100)).toFixed(2) + '%';
      const used = place(100 - row.left), end = place(100), margin = place(100 - row.margin);
      const bar = draw('svg', {class: 'bar', width: '100%', height: 22, role: 'img', focusable: 'false',
        'aria-label': [row.resource, row.item].join(' ').trim() + ': ' + leftText(row) + '; margin ' + percent(row.margin)});
      const add = (name, attributes) => bar.append(draw(name, attributes));
      add('rect', {class: 'bar-capacity', x: 0, y: 2, width: end, height: 18});
      add('rect', {class: 'bar-reserve', x: margin, y: 2, width: place(row.margin), height: 18, fill: 'url(#reserve-hatch)'});
      add('rect', {class: 'bar-demand ' + standingOf(row)[0], x: 0, y: 6, width: used, height: 10});
      if (row.lowest !== row.highest)
        add('line', {class: 'bar-range', x1: place(100 - row.highest), x2: place(100 - row.lowest), y1: 18.5, y2: 18.5});
      if (was && was.left !== null)
        add('line', {class: 'bar-was', x1: place(100 - was.left), x2: place(100 - was.left), y1: 1, y2: 21});
      add('line', {class: 'bar-end', x1: end, x2: end, y1: 2, y2: 20});
      add('line', {class: 'bar-margin', x1: margin, x2: margin, y1: 0, y2: 22});
      return bar;
    };
    const names = {cpu: 'CPU', usb: 'USB', pcie: 'PCIe'};
    const nameOf = (resource) => names[resource] || resource.charAt(0).toUpperCase() + resource.slice(1);
    const fact = (name, value) => make('div', {}, make('dt', {}, name), make('dd', {}, value));
    const changedText = (now, was, text) => was != null && !same(now, was) ? text(now) + ' (as it is: ' + text(was) + ')' : text(now);

    const rowOf = (row, was, scale) => {
      const [mark, sign, words] = standingOf(row);
      const unit = (value) => quantity(value, row.unit);
      const item = make('li', {},
        make('div', {className: 'row-head'},
          make('h3', {}, nameOf(row.resource) + ' ', make('span', {className: 'item'}, row.item)),
          make('p', {className: 'standing ' + mark}, make('strong', {}, leftText(row)), ' ',
            make('span', {'aria-hidden': 'true', className: 'sign'}, sign), ' ' + words)),
        row.left === null ? make('div', {className: 'bar no-bar'}, 'no capacity known') : barOf(row, was, scale),
        make('dl', {className: 'sums'},
          fact('Asked', changedText(row.asked, was && was.asked, unit)),
          fact('Sustained', row.capacity === null ? 'not known' : changedText(row.capacity, was && was.capacity, unit)),
          fact('Margin', percent(row.margin)),
          fact('How sure', row.sure === 'sure' ? 'sure' : row.sure === 'open' ? 'not known'
            : 'likely: the interval crosses what there is')));
      if (rangeText(row)) item.lastChild.append(fact('Interval', rangeText(row)));
      if (row.left === null && row.prove) item.append(make('p', {className: 'how'}, make('strong', {}, 'To prove it: '), row.prove));
      Object.assign(item.dataset, {key: row.key, asked: row.asked, left: row.left, lowest: row.lowest, highest: row.highest,
        askedText: unit(row.asked), leftText: row.left === null ? '' : percent(row.left)});
      return item;
    };

    const inputs = model.inputs.map((input) => input.now);
    const now = evaluate(inputs);
    const before = new Map(now.rows.map((row) => [row.key, row]));
    const status = section.querySelector('[role=status]'), list = section.querySelector('.headroom');
    const open = section.querySelector('.open-points');

    const show = () => {
      const begun = performance.now();
      const {rows, unproven, verdict, sure} = evaluate(inputs);
      const worked = performance.now();
      const [mark, sign, word, meaning] = marks[verdict];
      const first = rows.find((row) => row.left !== null && rows.every((other) => other.left === null || row.left <= other.left));
      status.className = 'what-if-verdict ' + mark;
      status.replaceChildren(make('strong', {}, make('span', {className: 'sign', 'aria-hidden': 'true'}, sign), ' ' + word),
        ' ' + meaning + (sure === 'likely' ? ' (likely, not sure)' : '') +
        (first ? '; runs out first: ' + [first.resource, first.item].join(' ').trim() + ', ' + leftText(first) : '') +
        (unproven.length ? '; unproven: ' + unproven.length : ''));
      const scale = rows.some((row) => row.left !== null && row.left < 0) ? 150 : 100;
      list.replaceChildren(...rows.map((row) => rowOf(row, before.get(row.key), scale)));
      open.replaceChildren(...unproven.map((text) => make('li', {}, text)));
      open.hidden = !unproven.length;
      section.dataset.verdict = verdict;
      section.dataset.sure = sure;
      section.dataset.changed = inputs.some((value, i) => value !== model.inputs[i].now) ? 'yes' : 'no';
      performance.clearMeasures();
      performance.measure('what-if sums', {start: begun, end: worked});
      performance.measure('what-if', {start: begun, end: performance.now()});
    };

    // --- controls ---
    const fields = [];
    const set = (at, value) => {
      const {least, most, step} = model.inputs[at];
      if (!isFinite(value)) return;
      inputs[at] = Math.min(most, Math.max(least, Math.round(value / step) * step));
      fields[at].value = inputs[at];
      const input = model.inputs[at];
      fields[at].parentNode.classList.toggle('changed', inputs[at] !== input.now);
      show();
    };
    const choiceField = (input, id) => make('select', {id}, ...input.choices.map((text, i) =>
      make('option', {value: i}, text + (i === input.now ? ' (as it is)' : ''))));
    const numberField = (input, at, id) => {
      const field = make('input', {id, type: 'number', inputMode: 'numeric', min: input.least, max: input.most, step: input.step});
      const by = (sign, word, step) => make('button', {type: 'button', 'aria-label': word + ' ' + input.label.toLowerCase() + ', ' + input.group,
        onclick: () => set(at, inputs[at] + step)}, sign);
      const step = input.unit === 'minutes' ? 15 : input.step;
      return [by('−', 'less', -step), field, by('+', 'more', step)];
    };
    const fieldOf = (input, at) => {
      const id = 'what-if-' + at;
      const parts = input.choices.length ? [choiceField(input, id)] : numberField(input, at, id);
      const field = parts.find((part) => part.id === id);
      fields[at] = field;
      field.value = input.now;
      field.addEventListener(input.choices.length ? 'change' : 'input', () => { if (field.value !== '') set(at, Number(field.value)); });
      // An empty field would stand above figures for a number that nobody sees.
      field.addEventListener('blur', () => { if (field.value === '') field.value = inputs[at]; });
      return make('div', {className: 'what-if-field'},
        make('label', {htmlFor: id}, input.label + (input.unit ? ' (' + input.unit + ')' : '')), ...parts,
        input.choices.length ? '' : make('span', {className: 'now'}, 'as it is: ' + input.now));
    };
    const groups = new Map();
    model.inputs.forEach((input, at) => {
      if (!groups.has(input.group)) groups.set(input.group, make('fieldset', {}, make('legend', {}, input.group)));
      groups.get(input.group).append(fieldOf(input, at));
    });
    section.querySelector('.controls').append(...groups.values());
    section.querySelector('.as-it-is').addEventListener('click', () => {
      model.inputs.forEach((input, at) => { inputs[at] = input.now; fields[at].value = input.now; fields[at].parentNode.classList.remove('changed'); });
      show();
    });
    section.hidden = false;
    for (const link of document.querySelectorAll('nav .what-if-link')) link.hidden = false;
    show();
  };
  // The page itself is read first.
  if (window.requestIdleCallback) requestIdleCallback(start, {timeout: 500}); else setTimeout(start);
})();
