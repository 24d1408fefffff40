// The runs of the page, as they were embedded, and how to read them.

function bytesOf(text) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i++) bytes[i] = raw.charCodeAt(i);
  return bytes.buffer;
}

// No finer than anybody could measure on a car, whatever the range; in inches and psi one digit more or less.
const finest = { pressure: 3, force: 1, torque: 1, temperature: 1, length: 3, distance: 1, velocity: 2 };

/** Digits behind the point that show a channel to a few figures of its largest value. */
function digitsFor(channel) {
  const largest = Math.max(...[channel.peak, channel.lowest].map((v) => Math.abs(v ?? 0)));
  if (!(largest > 0)) return 0;
  const figures = channel.dimension === 'pressure' ? 4 : 3; // what is left in a line is far below its peak
  const most = (finest[channel.dimension] ?? 4) + (channel.unit === 'in' ? 1 : 0) - (channel.unit === 'psi' ? 1 : 0);
  return Math.min(most, Math.max(0, figures - 1 - Math.floor(Math.log10(largest))));
}

// What is either on or off, in words.
const switched = [[/lit$|lamps$/, ['dark', 'lit']], [/contact$/, ['open', 'closed']]];

/** One quantity over time, in the unit that it is shown in. */
class Channel {
  constructor(described, values, rows) {
    Object.assign(this, described);
    this.values = described.column === undefined
      ? null // never changes: `value`
      : values.subarray(described.column * rows, (described.column + 1) * rows);
    this.states = this.dimension === 'number' ? switched.find(([which]) => which.test(this.quantity))?.[1] : undefined;
    this.digits = this.states ? 0 : digitsFor(this);
    this.name = `${plain(this.part)}: ${plain(this.quantity.replace('.', ' '))}`;
  }
  at(row) {
    return this.values ? this.values[row] : this.value;
  }
  si(row) {
    return this.slope * this.at(row) + this.zero;
  }
  /** A number in words, "38.21 bar" or "lit"; nothing for what is not known. */
  words(value) {
    if (this.states && typeof value === 'number') return this.states[value > 0.5 ? 1 : 0];
    return value === null || value === undefined ? '' : `${this.number(value)}${this.unit ? ` ${this.unit}` : ''}`;
  }
  number(value) {
    if (value === null || value === undefined) return '';
    const text = value.toFixed(this.digits);
    return Number(text) === 0 ? (0).toFixed(this.digits) : text; // no minus zero
  }
  now(row) {
    return this.words(this.at(row));
  }
}

/** "front_left" as people say it. */
export function plain(name) {
  return name.replaceAll('_', ' ');
}

/** "20 C" as people read it, "20 °C"; what stands behind an equals sign is there to be typed. */
function withDegrees(text) {
  return text.replace(/(=[\s"']*)?(-?\d[\d.]* )([CF])\b/g, (all, typed, number, unit) => (typed ? all : `${number}°${unit}`));
}

/** Names within a text as people say them: of "front_left.pressure" it makes "front left pressure". Files keep their
 * names, and so does what stands before an equals sign: that is there to be typed. */
export function inWords(text) {
  return withDegrees(text).replace(/\b[a-z][a-z0-9]*(?:[._][a-z0-9]+)+\b(?![._\w]*["']?\s*=)/gi, (name) =>
    (/\.(csv|yaml|json|html|md|h5|txt)$/.test(name) || !/[a-z]{2}/i.test(name) ? name : name.replace(/[._]/g, ' ')));
}

// What the program and the authors of files say to a reader; everything else is a name to find something by.
const told = new Set(['text', 'say', 'ask', 'answer', 'readings', 'sentences', 'verdict', 'help', 'misses', 'in_words', 'read',
  'reading', 'why', 'nothing', 'outside_in_words', 'cautions', 'error', 'misfit_means', 'what', 'car', 'title']);

/** Puts what a reader is told into words, wherever it stands in the data. */
function tellInWords(data) {
  for (const [key, value] of Object.entries(data)) {
    if (typeof value === 'string') {
      if (told.has(key)) data[key] = inWords(value);
      if (key === 'unit' && /^[CF]$/.test(value)) data[key] = `°${value}`;
    } else if (Array.isArray(value) && told.has(key) && typeof value[0] === 'string') {
      data[key] = value.map(inWords);
    } else if (value !== null && typeof value === 'object') {
      tellInWords(value);
    }
  }
}

class Run {
  constructor(run, index) {
    Object.assign(this, run);
    this.index = index;
    this.time = new Float64Array(bytesOf(run.time));
    const values = new Float32Array(bytesOf(run.values));
    this.channels = run.channels.map((c) => new Channel(c, values, this.time.length));
    this.byPath = new Map(this.channels.map((c) => [c.path, c]));
    this.byName = new Map(this.parts.map((p) => [p.name, p]));
    this.atStart = new Map(this.parts.map((p) => [p.name, { ...p.fields }]));
    this.changed = 0; // changes that stand in the fields now
    this.pressures = new Map(); // by node
    this.airs = new Map();
    for (const c of this.channels) {
      if (c.node < 0) continue;
      const map = c.quantity.endsWith('free_air') ? this.airs : this.pressures;
      if (!map.has(c.node)) map.set(c.node, c);
    }
    for (const e of this.events) e.row = this.rowAfter(e.time);
    this.recorded = this.channels.filter((c) => c.recorded);
    this.largestPressure = Math.max(1e5, ...[...this.pressures.values()].map((c) => c.slope * c.peak + c.zero));
  }

  /** Lets the fields of the parts be those of a moment. */
  turnTo(row) {
    const t = this.time[row];
    if (this.changed > 0 && this.changes[this.changed - 1].time >= t) {
      this.changed = 0;
      for (const p of this.parts) Object.assign(p.fields, this.atStart.get(p.name));
    }
    for (; this.changed < this.changes.length && this.changes[this.changed].time < t; this.changed++) {
      const c = this.changes[this.changed];
      this.byName.get(c.part).fields[c.field] = c.value;
    }
  }

  get end() {
    return this.time[this.time.length - 1];
  }

  /** The last row at or before a time. */
  rowAt(t) {
    let low = 0;
    let high = this.time.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (this.time[middle] <= t) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  /** The row behind an event: both sides of it are rows, at neighbouring times. */
  rowAfter(t) {
    const row = this.rowAt(t);
    const next = Math.min(row + 1, this.time.length - 1);
    return this.time[next] - t < 1e-6 ? next : row;
  }

  channel(path) {
    return this.byPath.get(path) ?? null;
  }
  part(name) {
    return this.byName.get(name) ?? null;
  }
  of(name) {
    return this.channels.filter((c) => c.part === name);
  }
  /** A quantity of a part in SI; what is not recorded stands at `otherwise`. */
  si(name, quantity, row, otherwise = 0) {
    const channel = this.byPath.get(`${name}.${quantity}`);
    return channel ? channel.si(row) : otherwise;
  }
  /** How fast a quantity changes round a row [SI/s]. */
  rate(name, quantity, row) {
    const [from, to] = [Math.max(0, row - 1), Math.min(this.time.length - 1, row + 1)];
    const passed = this.time[to] - this.time[from];
    return passed > 0 ? (this.si(name, quantity, to) - this.si(name, quantity, from)) / passed : 0;
  }
  /** Whether a leak or a screw lets air in: the world loses it, or what was drawn back grows. */
  drawsAir(part, row) {
    const rate = part.kind === 'leak' ? -this.rate(part.name, 'outside.air', row) : this.rate(part.name, 'air_back', row);
    return rate > 5e-9; // m3/s at 1 atm; what is kept of a trace is no finer
  }
  /** The largest pressure anywhere at a moment [Pa]. */
  largestAt(row) {
    let largest = 0;
    for (const channel of this.pressures.values()) largest = Math.max(largest, channel.si(row));
    return largest;
  }
  pressure(node, row) {
    const channel = this.pressures.get(node);
    return channel ? channel.si(row) : 0;
  }
  /** The event of a part that came last. */
  lastEvent(name, row) {
    let found = null;
    for (const e of this.events) if (e.part === name && e.row <= row) found = e;
    return found;
  }
}

/** What the page holds: { title, runs }. */
export function load() {
  const page = JSON.parse(document.getElementById('runs').textContent);
  tellInWords(page);
  for (const run of page.runs) run.name = inWords(run.name);
  page.runs = page.runs.map((run, i) => new Run(run, i));
  return page;
}
