// Plots of what the user recorded, one for each kind of quantity, under one time.
import { el, say } from './dom.js';
import { curve, isDark, isOnPaper, onColourChange } from './colour.js';

const most = 8; // curves in a plot
const stripHeight = 1.5; // from one of what is on or off to the next, so that none covers another
const sheet = 640; // px, has room between the margins of any usual sheet

/** The curves of the plots: { dimension, unit, curves: [{ run, channel }] }. */
function groupsOf(runs) {
  const groups = new Map();
  const paths = [];
  for (const run of runs) for (const c of run.recorded) if (!paths.includes(c.path)) paths.push(c.path);
  for (const path of paths) {
    const channels = runs.map((run) => ({ run, channel: run.channel(path) })).filter((c) => c.channel);
    const { dimension, unit, quantity, states } = channels[0].channel;
    // Travels of pedal and pistons are far larger than clearances, and contacts are no numbers.
    const small = /clearance|rod_travel|plate_lift|piston_travel|position/.test(quantity) ? ' of small pieces' : '';
    const base = `${states ? 'switch' : dimension}${small}`;
    let key = base;
    for (let i = 2; (groups.get(key)?.curves.length ?? 0) + channels.length > most * runs.length; i++) key = `${base} ${i}`;
    if (!groups.has(key)) groups.set(key, { strips: Boolean(states), title: titles[base] ?? base.charAt(0).toUpperCase() + base.slice(1), unit, curves: [] });
    groups.get(key).curves.push(...channels);
  }
  return [...groups.values()];
}

const titles = {
  pressure: 'Pressures',
  force: 'Forces',
  length: 'Travel',
  'length of small pieces': 'Gaps and small travels',
  torque: 'Brake torques',
  volume: 'Volumes',
  flow: 'Flows',
  temperature: 'Temperatures',
  switch: 'On (up) and off (down)',
  number: 'Shares and counts',
  velocity: 'Speed',
  acceleration: 'Deceleration',
  rotation: 'Wheel speeds',
};

function joined(runs) {
  if (runs.length === 1) return runs[0].time;
  const all = Float64Array.from(new Set(runs.flatMap((run) => [...run.time])));
  return all.sort();
}

/** The range of a plot, so that what was read is in it. */
function rangeWith(read, low, high) {
  const bounds = read.flatMap((r) => [r.low, r.high]).filter((v) => v !== null);
  return uPlot.rangeNum(Math.min(low, ...bounds), Math.max(high, ...bounds), 0.1, true);
}

/** A reading: a bar between its bounds; of one bound a stroke with a tail to the side where it may lie. */
function drawReading(u, r, ink) {
  const { ctx } = u;
  const px = devicePixelRatio;
  const x = u.valToPos(r.time, 'x', true);
  const [low, high] = [r.low, r.high].map((v) => (v === null ? null : u.valToPos(v + r.entry.lift, 'y', true)));
  ctx.setLineDash([]);
  ctx.strokeStyle = ink;
  ctx.lineWidth = 2 * px;
  ctx.beginPath();
  for (const y of [low, high].filter((v) => v !== null)) {
    ctx.moveTo(x - 6 * px, y);
    ctx.lineTo(x + 6 * px, y);
  }
  ctx.moveTo(x, low ?? high + 12 * px);
  ctx.lineTo(x, high ?? low - 12 * px);
  ctx.stroke();
}

export class Plots {
  /** `go(t)` is called when a reader points at a time. `readings`: what was read on the car, of a search. */
  constructor(parent, runs, go, readings) {
    this.runs = runs;
    // What was read at a moment can stand at its place; a change since another moment cannot.
    this.readings = readings.filter((r) => r.time !== null && r.since === null);
    this.time = joined(runs);
    this.plots = [];
    this.groups = groupsOf(runs);
    parent.append(el('h2', {}, 'Over time'));
    for (const group of this.groups) {
      const figure = el('figure', { class: 'plot' });
      const heading = el('figcaption', {}, `${group.title}${group.unit ? ` [${group.unit}]` : ''} over time [${runs[0].time_unit}]`);
      const place = el('div', { class: 'canvas', role: 'img', 'aria-label': `${group.title} over time; the table of numbers below says the same` });
      const key = el('ul', { class: 'key' });
      figure.append(heading, place, key);
      parent.append(figure);
      const entries = group.curves.map(({ run, channel }) => {
        const i = [...new Set(group.curves.map((c) => c.channel.path))].indexOf(channel.path);
        const look = { ...curve(i), second: run.index };
        const swatch = el('span', { class: 'swatch' });
        const value = el('span', { class: 'number' });
        key.append(el('li', {}, swatch, el('span', {}, channel.name + (runs.length > 1 ? ` (${run.name})` : '')), value));
        return { run, channel, look, i, swatch, value, lift: 0 };
      });
      const last = Math.max(...entries.map((e) => e.i));
      if (group.strips) for (const e of entries) e.lift = stripHeight * (last - e.i); // from above as in the key
      const range = group.strips ? [-0.2, stripHeight * last + 1.2] : null;
      const read = this.readings.map((r) => ({ ...r, entry: entries.find((e) => e.channel.path === r.channel) })).filter((r) => r.entry);
      if (read.length) key.append(el('li', {}, el('span', { class: 'read', 'aria-hidden': 'true' }, 'I'), el('span', {}, 'what was read on the car, with its bounds')));
      this.plots.push({ range, place, entries, read, plot: null });
    }
    this.go = go;
    this.draw();
    onColourChange(() => this.draw());
    let width = parent.clientWidth;
    new ResizeObserver(() => {
      if (parent.clientWidth === width) return;
      width = parent.clientWidth;
      for (const p of this.plots) p.plot.setSize({ width: this.width(p), height: p.plot.height });
      this.show(this.t ?? 0);
    }).observe(parent);
  }

  width(p) {
    const width = Math.max(240, p.place.clientWidth);
    return isOnPaper() ? Math.min(width, sheet) : width;
  }

  /** Values of a channel at the times of the plots, lifted to its strip. */
  values({ run, channel, lift }) {
    if (this.time === run.time && !lift) return channel.values ?? Array(run.time.length).fill(channel.value);
    return Array.from(this.time, (t) => (t > run.end ? null : channel.at(run.rowAt(t)) + lift));
  }

  draw() {
    const ink = isDark() ? '#d8d8d8' : '#333333';
    const grid = isDark() ? '#3c3c3c' : '#e0e0e0';
    const marks = [...new Set(this.runs[0].events.map((e) => e.time))];
    for (const p of this.plots) {
      p.plot?.destroy();
      for (const e of p.entries) {
        e.look = { ...curve(e.i) };
        if (e.run.index > 0) e.look.dash = [6, 4];
        e.swatch.style.borderTopColor = e.look.colour;
        e.swatch.style.borderTopStyle = e.look.dash.length ? 'dashed' : 'solid';
      }
      const axis = { stroke: ink, grid: { stroke: grid, width: 1 }, ticks: { stroke: grid, width: 1 }, font: '12px sans-serif',
        values: (u, splits) => splits.map((v) => String(Number(v.toPrecision(6)))) };
      p.plot = new uPlot({
        width: this.width(p),
        height: 190,
        scales: { x: { time: false }, y: { range: (u, low, high) => p.range ?? rangeWith(p.read, low, high) } },
        axes: [{ ...axis, size: 30 }, { ...axis, size: 58, show: !p.range }],
        legend: { show: false },
        cursor: { y: false, points: { size: 7 }, drag: { x: false, y: false } },
        series: [{}, ...p.entries.map((e) => ({ stroke: e.look.colour, dash: e.look.dash, width: 1.8, points: { show: false }, spanGaps: false }))],
        hooks: {
          // A small mark at the foot of the plot for each event.
          draw: [(u) => {
            const { ctx, bbox } = u;
            ctx.save();
            ctx.fillStyle = ink;
            for (const t of marks) {
              const x = u.valToPos(t, 'x', true);
              ctx.fillRect(x, bbox.top + bbox.height - 7 * devicePixelRatio, devicePixelRatio, 7 * devicePixelRatio);
            }
            for (const r of p.read) drawReading(u, r, ink);
            ctx.restore();
          }],
        },
      }, [this.time, ...p.entries.map((e) => this.values(e))], p.place);
      p.plot.over.addEventListener('click', (event) => this.go(p.plot.posToVal(event.offsetX, 'x')));
      // The cursor is the page's time and nothing else.
      p.line = el('div', { class: 'cursor' });
      p.plot.over.append(p.line);
    }
    if (this.t !== undefined) this.show(this.t);
  }

  show(t) {
    this.t = t;
    for (const p of this.plots) {
      // A share, which a plot that has only just been made has as well; its pixels come later.
      p.line.style.left = `${((100 * (t - this.time[0])) / (this.time[this.time.length - 1] - this.time[0])).toFixed(3)}%`;
      for (const e of p.entries) say(e.value, t > e.run.end ? '' : e.channel.now(e.run.rowAt(t)));
    }
  }
}
