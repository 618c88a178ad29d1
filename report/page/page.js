// SPDX-License-Identifier: Apache-2.0
//
// Draws the charts over time; every figure is also in a table, which stays when a chart fails.
(() => {
  'use strict';
  const root = document.documentElement;
  const charts = JSON.parse(document.getElementById('chart-data').textContent);
  const drawn = [];

  const tone = (place, name) => getComputedStyle(place).getPropertyValue('--' + name).trim();
  const penTone = {solid: 'line', dashed: 'warn', dotted: 'unknown', bars: 'stop'};
  const penDash = {solid: null, dashed: [6, 3], dotted: [2, 2], bars: null};

  const seconds = (x) => {
    if (x < 120) return String(Math.round(x * 10) / 10) + ' s';
    const whole = Math.round(x), rest = String(whole % 60).padStart(2, '0');
    return whole < 3600 ? Math.floor(whole / 60) + ':' + rest
      : Math.floor(whole / 3600) + ':' + String(Math.floor(whole % 3600 / 60)).padStart(2, '0') + ':' + rest;
  };

  // [value, repeats, value, repeats ...] to plain values.
  const spread = (runs) => {
    const values = [];
    for (let i = 0; i < runs.length; i += 2)
      for (let n = 0; n < runs[i + 1]; ++n) values.push(runs[i]);
    return values;
  };

  // One row for each step, and one more so that the last step has its width.
  const rowsOf = (chart) => {
    const columns = chart.series.map((series) => spread(series.runs));
    const length = Math.max(0, ...columns.map((column) => column.length));
    const rows = [];
    for (let i = 0; i <= length; ++i) {
      rows.push([i * chart.step].concat(columns.map((column, s) => {
        const last = i === length;
        if (last && chart.series[s].pen === 'bars') return null;
        const value = column[last ? length - 1 : i];
        return value === undefined ? null : value;
      })));
    }
    return rows;
  };

  const barPlotter = (chart) => (e) => {
    const width = Math.max(2, e.dygraph.toDomXCoord(chart.step) - e.dygraph.toDomXCoord(0) - 0.5);
    const floor = e.dygraph.toDomYCoord(0);
    e.drawingContext.fillStyle = e.color;
    for (const point of e.points)
      if (point.yval > 0) {
        const height = Math.max(3, floor - point.canvasy);
        e.drawingContext.fillRect(point.canvasx, floor - height, width, height);
      }
  };

  // Warm-up, lines across and lines up, below the traces.
  const underlay = (chart, place) => (context, area, graph) => {
    context.save();
    context.font = '11px sans-serif';
    if (chart.shade > 0) {
      context.fillStyle = tone(place, 'rule');
      const end = Math.min(graph.toDomXCoord(chart.shade), area.x + area.w);
      const begin = Math.max(graph.toDomXCoord(0), area.x);
      if (end > begin) context.fillRect(begin, area.y, end - begin, area.h);
    }
    context.strokeStyle = context.fillStyle = tone(place, 'ink');
    context.setLineDash([1, 3]);
    context.textAlign = 'right';
    for (const level of chart.levels) {
      const y = graph.toDomYCoord(level.at);
      context.beginPath(); context.moveTo(area.x, y); context.lineTo(area.x + area.w, y); context.stroke();
      context.fillText(level.label, area.x + area.w - 3, y < area.y + 14 ? y + 12 : y - 4);
    }
    context.setLineDash([5, 2]);
    for (const moment of chart.moments) {
      const x = graph.toDomXCoord(moment.at);
      context.beginPath(); context.moveTo(x, area.y); context.lineTo(x, area.y + area.h); context.stroke();
      context.textAlign = x > area.x + area.w / 2 ? 'right' : 'left';
      context.fillText(moment.label + ' at ' + seconds(moment.at), x + (context.textAlign === 'left' ? 5 : -5), area.y + 11);
    }
    context.restore();
  };

  const look = (chart, place) => {
    const series = {};
    for (const one of chart.series) {
      series[one.label] = {color: tone(place, penTone[one.pen]), strokePattern: penDash[one.pen]};
      if (one.pen === 'bars') series[one.label].plotter = barPlotter(chart);
    }
    return {series, gridLineColor: tone(place, 'rule'), axisLineColor: tone(place, 'faint')};
  };

  const topOf = (rows, chart) => {
    let top = 0;
    for (const row of rows) for (let s = 1; s < row.length; ++s) if (row[s] > top) top = row[s];
    for (const level of chart.levels) if (level.at > top) top = level.at;
    return top > 0 ? top * 1.12 : 1;
  };

  // Hover and zoom with a mouse; a finger scrolls the page as everywhere.
  const mouseOnly = () => {
    const model = Object.assign({}, Dygraph.defaultInteractionModel);
    for (const name of Object.keys(model)) if (name.startsWith('touch')) delete model[name];
    return model;
  };

  const options = (chart, place, rows) => Object.assign({
    labels: ['time'].concat(chart.series.map((one) => one.label)),
    legend: 'never', stepPlot: true, strokeWidth: 1.6, connectSeparatedPoints: false,
    highlightCircleSize: 3, axisLabelFontSize: 11, rightGap: 8, resizable: 'no', animatedZooms: false,
    interactionModel: mouseOnly(), underlayCallback: underlay(chart, place),
    axes: {
      x: {drawGrid: false, pixelsPerLabel: 70, axisLabelWidth: 60, axisLabelFormatter: seconds, valueFormatter: seconds},
      y: {valueRange: [0, topOf(rows, chart)], axisLabelWidth: 36, pixelsPerLabel: 28},
    },
  }, look(chart, place));

  // Browsers print a canvas badly that changes as printing begins: paper has charts of its own.
  const drawForPaper = (chart, place, rows) => {
    const paper = document.createElement('div');
    paper.className = 'plot paper';
    paper.setAttribute('aria-hidden', 'true');
    place.after(paper);
    new Dygraph(paper, rows, Object.assign(options(chart, paper, rows), {pixelRatio: 2, interactionModel: {}}));
  };

  // The same readings by arrow keys, and by a finger, which moves across and scrolls down.
  const readByKey = (chart, place, graph, rows, tell) => {
    const last = rows.length - 2;
    let at = -1;
    const go = (row) => {
      at = Math.min(last, Math.max(0, row));
      graph.setSelection(at);
      const words = tell(rows[at]);
      place.setAttribute('aria-valuenow', at);
      place.setAttribute('aria-valuetext', words);
    };
    const title = place.parentNode.querySelector('.chart-title').textContent;
    const attributes = {tabindex: 0, role: 'slider', 'aria-label': title + ': read with the arrow keys',
      'aria-valuemin': 0, 'aria-valuemax': last, 'aria-valuenow': 0, 'aria-valuetext': 'nothing read yet'};
    for (const [name, value] of Object.entries(attributes)) place.setAttribute(name, value);
    place.removeAttribute('aria-hidden');
    const far = Math.max(1, Math.round(last / 10));
    const keys = {ArrowRight: 1, ArrowLeft: -1, ArrowUp: 1, ArrowDown: -1, PageUp: far, PageDown: -far, Home: -Infinity, End: Infinity};
    place.addEventListener('keydown', (event) => {
      if (!(event.key in keys) || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      go(at < 0 && isFinite(keys[event.key]) ? (keys[event.key] > 0 ? 0 : last) : at + keys[event.key]);
    });
    place.addEventListener('blur', () => graph.clearSelection());
    const byFinger = (event) => {
      if (event.pointerType === 'mouse') return;
      const x = graph.toDataXCoord(event.clientX - place.getBoundingClientRect().left);
      go(Math.floor(x / chart.step));
    };
    place.addEventListener('pointerdown', byFinger);
    place.addEventListener('pointermove', byFinger);
  };

  const draw = (chart) => {
    const place = document.getElementById(chart.id);
    const reading = place.parentNode.querySelector('.reading');
    const rows = rowsOf(chart);
    if (rows.length < 2) return;
    const tell = (row) => reading.textContent = 'from ' + seconds(row[0]) + ': ' + chart.series.map((one, s) =>
      one.label + ' ' + (row[s + 1] === null ? '-' : row[s + 1])).join(', ');
    const graph = new Dygraph(place, rows, Object.assign(options(chart, place, rows), {
      highlightCallback: (event, x, points, index) => tell(rows[Math.min(index, rows.length - 2)]),
      unhighlightCallback: () => { reading.textContent = ''; },
    }));
    readByKey(chart, place, graph, rows, tell);
    drawForPaper(chart, place, rows);
    drawn.push({chart, place, graph});
    place.dataset.drawn = 'yes';
    place.parentNode.querySelector('details').open = false;
  };

  const refresh = () => {
    for (const {chart, place, graph} of drawn) {
      graph.updateOptions(look(chart, place), false);
      graph.resize();
    }
  };

  // Only what really scrolls needs a stop on the way through by keyboard.
  const calmRegions = () => {
    for (const region of document.querySelectorAll('.scroll'))
      if (region.scrollWidth > region.clientWidth) region.tabIndex = 0;
      else region.removeAttribute('tabindex');
  };

  root.classList.add('scripted');
  // The page is read first: charts come one by one while nobody waits, and all before paper does.
  const waiting = charts.slice();
  const drawNext = () => {
    const chart = waiting.shift();
    try { draw(chart); } catch (error) { console.error(chart.id, error); }
  };
  const drawRest = () => { while (waiting.length) drawNext(); root.dataset.charts = 'drawn'; };
  const idle = window.requestIdleCallback || ((work) => setTimeout(() => work({timeRemaining: () => 8})));
  const drawSome = (deadline) => {
    do { if (waiting.length) drawNext(); } while (waiting.length && deadline.timeRemaining() > 10);
    if (waiting.length) idle(drawSome, {timeout: 500}); else drawRest();
  };
  addEventListener('beforeprint', drawRest);
  // To ask what scrolls lays the whole page out: that, too, can wait.
  idle((deadline) => { calmRegions(); drawSome(deadline); }, {timeout: 500});
  for (const words of document.querySelectorAll('.in-words')) words.open = false;

  for (const button of document.querySelectorAll('.print-sheet')) {
    button.hidden = false;
    button.addEventListener('click', () => { location.hash = 'sign-off'; setTimeout(print); });
  }

  let resized = 0;
  addEventListener('resize', () => {
    clearTimeout(resized);
    resized = setTimeout(() => { refresh(); calmRegions(); }, 150);
  });
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', refresh);
})();
