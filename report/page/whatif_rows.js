// SPDX-License-Identifier: Apache-2.0
//
// The rows of the what-if part: figures as the rest of the page writes them, and the bars.

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
  : unit === 'us' ? Number(value.toFixed(1)) + ' us'
  : value === 1 && counted.includes(unit) ? '1 ' + unit.slice(0, -1)
    : number(value) + (unit ? ' ' + unit : '');
// As FormatNeeded() and FormatAvailable() do: beside each other they read as what they are.
const inShownSteps = (value, unit, whole) => {
  const size = Math.abs(value), scales = unit in short;
  if (!isFinite(value) || size >= 1e15) return value;
  const step = unit === 'us' ? 0.1 : (scales ? size < 1000 : size >= 1000) ? 1 : size < 1 ? 1e-3 : Math.pow(10, Math.floor(Math.log10(size)) - 2);
  const steps = value / step, near = Math.round(steps);
  return (Math.abs(steps - near) < noise ? near : whole(steps)) * step;
};
const needed = (value, unit) => quantity(inShownSteps(value, unit, Math.ceil), unit);
const available = (value, unit) => quantity(inShownSteps(value, unit, Math.floor), unit);
// As FormatHeadroomPercent() and FormatMarginPercent() do: what reads as within its margin is.
const mostDigits = 4, noise = 1e-6;
const upToTold = (value) => Math.ceil(value * 1e4 - noise) / 1e4;
const percent = (value, margin = 0) => {
  if (Math.abs(value) >= 999) return value < 0 ? 'none' : '> 999 %';
  const told = asTold(value), kept = told >= upToTold(margin);
  for (let digits = Math.abs(told) >= 10 ? 0 : 1; ; ++digits) {
    const scale = Math.pow(10, digits), down = Math.floor(told * scale + noise) / scale || 0;
    if (digits === mostDigits || (down >= upToTold(margin)) === kept) return Number(down.toFixed(digits)) + ' %';
  }
};
const marginPercent = (value) => Number(upToTold(value).toFixed(mostDigits)) + ' %';
const leftText = (row) => row.left === null ? 'not known' : row.left <= -998 ? 'none available' : percent(row.left, row.margin);
const rangeText = (row) => row.left === null || row.left <= -998 || row.lowest === row.highest ? ''
  : 'between ' + percent(row.lowest, row.margin) + ' and ' + percent(row.highest, row.margin);

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
  ready: ['good', '✓', 'Ready', 'it fits, and every margin stays free'],
  tight: ['warn', '▲', 'Tight', 'it fits, but a resource is below its margin'],
  short: ['stop', '✕', 'Short', 'it does not fit'],
  unproven: ['unknown', '?', 'Unproven', 'this result cannot tell'],
};
const standingOf = (row) => row.left === null ? marks.unproven.slice(0, 2).concat('unproven')
  : row.left < 0 ? marks.short.slice(0, 2).concat('overloaded')
    : row.left < row.margin ? marks.tight.slice(0, 2).concat('below the margin')
      : marks.ready.slice(0, 2).concat('ok');

// `was`: the same row as it is, shown as a line; `scale`: percent of the capacity at the right edge.
const barOf = (row, was, scale) => {
  const place = (used) => Math.min(100, Math.max(0, used / scale * 100)).toFixed(2) + '%';
  const used = place(100 - row.left), end = place(100), margin = place(100 - row.margin);
  const bar = draw('svg', {class: 'bar', width: '100%', height: 22, role: 'img', focusable: 'false',
    'aria-label': [row.resource, row.item].join(' ').trim() + ': ' + leftText(row) + '; margin ' + marginPercent(row.margin)});
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

const headOf = (row) => {
  const [mark, sign, words] = standingOf(row);
  return make('div', {className: 'row-head'},
    make('h3', {}, nameOf(row.resource) + ' ', make('span', {className: 'item'}, row.item)),
    make('p', {className: 'standing ' + mark}, make('strong', {}, leftText(row)), ' ',
      make('span', {'aria-hidden': 'true', className: 'sign'}, sign), ' ' + words));
};
const sumsOf = (row, was) => {
  const asked = (value) => needed(value, row.unit), there = (value) => available(value, row.unit);
  const sums = make('dl', {className: 'sums'},
    fact('Needed', changedText(row.asked, was && was.asked, asked)),
    fact('Available', row.capacity === null ? 'not known' : changedText(row.capacity, was && was.capacity, there)),
    fact('Margin', marginPercent(row.margin)),
    fact('How sure', row.sure === 'sure' ? 'sure' : row.sure === 'open' ? 'not known'
      : 'likely: ' + row.likelyBecause));
  if (rangeText(row)) sums.append(fact('Interval', rangeText(row)));
  return sums;
};
const rowOf = (row, was, scale) => {
  const item = make('li', {}, headOf(row),
    row.left === null ? make('div', {className: 'bar no-bar'}, 'not known what is available') : barOf(row, was, scale),
    sumsOf(row, was));
  if (row.left === null && row.prove) item.append(make('p', {className: 'how'}, make('strong', {}, 'To prove it: '), row.prove));
  Object.assign(item.dataset, {key: row.key, asked: row.asked, left: row.left, lowest: row.lowest, highest: row.highest,
    askedText: needed(row.asked, row.unit), leftText: row.left === null ? '' : percent(row.left, row.margin)});
  return item;
};
