// SPDX-License-Identifier: Apache-2.0
//
// The sums of the what-if part: works the embedded model out. It knows nothing of the trade;
// report/what_if_evaluate.cc does the same sums: what changes here changes there.

const rounding = 1e-6;
// As HeadroomPercent() and AsTold() do.
const asTold = (percent) => Math.round(percent * 1e4) / 1e4;
const same = (a, b) => Math.abs(a - b) <= rounding * Math.max(1, Math.abs(a), Math.abs(b)) ? 1 : 0;
const spare = (asked, capacity) => {
  if (isNaN(asked) || isNaN(capacity)) return NaN;
  return asked <= 0 ? (capacity > 0 ? 100 : 0)
    : capacity <= 0 ? -999 : Math.max(-999, asTold((capacity - asked) / capacity * 100)) || 0;
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

const holds = (value) => !isNaN(value) && value !== 0;
const sureOf = (row) => row.left === null ? 'open'
  : (row.left >= 0 ? row.lowest >= 0 : row.highest < 0) ? 'sure' : 'likely';
const rowFrom = (one, at, unfair) => {
  const told = (node) => node < 0 || isNaN(at[node]) ? null : at[node];
  const row = {
    key: one.resource + '|' + one.item, resource: one.resource, item: one.item, unit: one.unit,
    asked: at[one.asked], capacity: told(one.capacity), left: told(one.left),
    lowest: told(one.lowest), highest: told(one.highest), margin: one.margin_percent,
    source: one.source, prove: one.how_to_prove, basis: one.basis,
  };
  row.sure = sureOf(row);
  row.likelyBecause = unfair ? unfair : 'the interval crosses what there is';
  if (unfair && row.sure === 'sure') row.sure = 'likely';
  return row;
};
const judge = (rows, unproven, dropped) => {
  const over = rows.filter((row) => row.left !== null && row.left < 0);
  if (over.length)
    return ['short', over.some((row) => row.sure === 'sure') ? 'sure' : 'likely'];
  if (unproven.length || !rows.length) return ['unproven', 'open'];
  const below = rows.some((row) => row.left !== null && row.left < Math.max(0, row.margin));
  return [below || dropped ? 'tight' : 'ready',
    rows.every((row) => row.sure === 'sure') ? 'sure' : 'likely'];
};

// As LeaveOpenWhatIsAssumed() does: no assumed figure says that something does not fit.
const labelOf = (row) => row.resource + (row.item ? ' ' + row.item : '');
const leaveOpen = (row, unproven) => {
  if (row.basis !== 'assumed' || row.left === null || row.left >= 0) return;
  row.capacity = row.left = row.lowest = row.highest = null;
  row.sure = 'open';
  unproven.push(labelOf(row) + ': only an assumed figure says that it is too little; rehearse that '
    + 'production on that PC: `rigproof rehearse PROFILE`');
};

// A function from the inputs to {rows, unproven, verdict, sure}; the least room first.
const evaluatorOf = (model) => {
  const nodes = model.nodes.map(compile);
  return (inputs) => {
    const at = [];
    for (const node of nodes) at.push(node(at, inputs));
    const rows = model.resources.filter((one) => holds(at[one.shown])).map((one) => rowFrom(one, at, model.unfair));
    const unproven = model.unproven.filter((one) => holds(at[one.when])).map((one) => one.text);
    for (const row of rows) leaveOpen(row, unproven);
    const above = (row) => row.left === null ? 1e9 : row.left - row.margin;
    rows.sort((a, b) => above(a) - above(b));
    const [verdict, sure] = judge(rows, unproven, model.dropped);
    return {rows, unproven, verdict, sure};
  };
};
