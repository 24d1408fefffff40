// Text beside the drawing: what the run is about, the chosen part, the events, the numbers.
import { el, say, wide } from './dom.js';
import { inWords, plain } from './data.js';

/** What the page is about, and what is wrong with the car. */
export function about(parent, { runs, match, sweep }) {
  const cautions = new Set([...runs.flatMap((run) => run.cautions), ...(sweep?.cautions ?? [])]);
  document.getElementById('caution').replaceChildren(el('strong', {}, 'Caution. '), [...cautions].join(' '));
  if (sweep) {
    if (sweep.text) parent.append(el('p', {}, sweep.text));
    if (sweep.car) parent.append(el('p', {}, `The car: ${sweep.car}.`));
  }
  for (const run of runs) {
    const heading = runs.length > 1 ? `${run.name}: ` : '';
    // Two runs of one file have one text and one car.
    const first = run.index === 0;
    if (run.text && (first || run.text !== runs[0].text)) parent.append(el('p', {}, (first ? '' : heading) + run.text));
    if (first || run.car !== runs[0].car) parent.append(el('p', {}, `${first ? '' : heading}The car: ${run.car}.`));
    const faults = match ? [] : run.faults.filter((f) => !f.left_out) // of a search it is what may be wrong
      .map((f) => `${plain(f.name)} (${plain(f.kind)} at ${inWords(f.at)}${f.from > 0 ? `, from ${f.from} s` : ''})`);
    if (faults.length) parent.append(el('p', {}, `${heading}What is wrong with it: ${faults.join('; ')}.`));
    if (!run.complete) parent.append(el('p', { class: 'caution' }, `${heading}This run did not get to its end: ${run.error}.`));
  }
}

/** What two runs do otherwise. */
export function differences(parent, sentences) {
  parent.append(el('h2', {}, 'What differs'), el('ul', {}, ...sentences.map((text) => el('li', {}, text))));
}

const inBrief = 3; // numbers of a part that are said with its mode

/** Numbers and mode of the chosen part, in every run. */
export class PartPanel {
  constructor(parent, stages, choose) {
    this.stages = stages;
    this.name = null;
    this.select = el('select');
    const names = [...new Set(stages.flatMap((s) => [...s.pieces.keys()]))];
    for (const part of stages[0].run.parts) if (!names.includes(part.name)) names.push(part.name);
    for (const name of names) this.select.append(el('option', { value: name }, plain(name)));
    this.select.addEventListener('change', () => choose(this.select.value));
    this.summary = el('p');
    this.modes = stages.map(() => el('p', { class: 'mode' }));
    this.last = el('p', { class: 'last' });
    // What changes with every frame of playing must not be spoken; that another part is told of must.
    this.spoken = el('p', { class: 'unseen', 'aria-live': 'polite' });
    this.scale = el('p', { class: 'hint' });
    this.body = el('tbody');
    this.table = el('table', {}, el('caption', {}, 'Its numbers at this moment'),
      el('thead', {}, el('tr', {}, el('th', { scope: 'col' }, 'what'),
        ...stages.map((s) => el('th', { scope: 'col' }, s.run.name || 'now')))), this.body);
    parent.append(el('h2', {}, 'A part'), el('label', {}, 'Part: ', this.select), this.summary, ...this.modes, this.last, this.table, this.scale, this.spoken);
  }

  choose(name) {
    if (name === this.name) return;
    this.name = name;
    this.select.value = name;
    const part = this.stages[0].run.part(name);
    say(this.summary, part ? `${plain(name)}, a ${plain(part.kind)}: ${part.summary}` : plain(name));
    say(this.scale, this.stages[0].pieces.get(name)?.scale ?? '');
    const paths = [...new Set(this.stages.flatMap((s) => this.pathsOf(s.run, name)))];
    this.rows = paths.map((path) => {
      const channels = this.stages.map((s) => s.run.channel(path));
      const shown = channels.find((c) => c);
      const cells = channels.map(() => el('td'));
      const own = path.startsWith(`${name}.`) ? plain(shown.quantity.replace('.', ' ')) : `${plain(shown.quantity.split('.').pop())} (as ${plain(shown.part)})`;
      return { channels, cells, name: own, line: el('tr', {}, el('th', { scope: 'row', title: shown.help }, own), ...cells) };
    });
    this.body.replaceChildren(...this.rows.map((r) => r.line));
  }

  /** Mode and first numbers of the chosen part in a run, at this moment: what its drawing shows to the eye. */
  inBrief(i) {
    const stage = this.stages[i];
    const mode = stage.run.part(this.name) ? stage.words(this.name, stage.row) : '';
    const known = this.rows.map((r) => [r.name, r.channels[i]?.now(stage.row)]).filter(([, text]) => text);
    const aside = known.filter(([name]) => /air|outside/.test(name)); // accounts of fluid and air, after what acts
    const numbers = [...known.filter((k) => !aside.includes(k)), ...aside].slice(0, inBrief);
    return [mode, ...numbers.length ? [`${numbers.map((n) => n.join(' ')).join(', ')}.`] : []].join(' ').trim();
  }

  /** Says the part aloud to whoever does not see the page, unless its own drawing has the focus and says it. */
  speak() {
    const heard = document.activeElement?.closest?.('.piece');
    const briefs = this.stages.map((stage, i) => (stage.run.name ? `${stage.run.name}: ` : '') + this.inBrief(i));
    say(this.spoken, heard ? '' : `${plain(this.name)}. ${briefs.join(' ')}`);
  }

  /** The part's own channels, and pressures of its ports that stand under another part's name. */
  pathsOf(run, name) {
    const own = run.of(name).map((c) => c.path);
    const part = run.part(name);
    for (const node of Object.values(part?.ports ?? {})) {
      const channel = run.pressures.get(node);
      if (channel && !own.includes(channel.path)) own.unshift(channel.path);
    }
    return own;
  }

  show() {
    if (!this.name) return;
    this.stages.forEach((stage, i) => {
      const mode = stage.run.part(this.name) ? stage.words(this.name, stage.row) : '';
      say(this.modes[i], mode && stage.run.name ? `${stage.run.name}: ${mode}` : mode);
    });
    const stage = this.stages[0];
    const last = stage.run.lastEvent(this.name, stage.row);
    say(this.last, last ? `Last of it: ${last.text} at ${last.time.toFixed(3)} s${last.readings ? ` (${last.readings})` : ''}.` : '');
    for (const r of this.rows)
      r.channels.forEach((channel, i) => say(r.cells[i], channel ? channel.now(this.stages[i].row) : ''));
  }
}

/** Every recorded channel as a table: what the plots show, in numbers. */
export class Numbers {
  constructor(parent, stages) {
    this.entries = [];
    this.details = el('details', {}, el('summary', {}, 'The plots as a table of numbers'));
    for (const { run } of stages) {
      const body = el('tbody');
      for (const channel of run.recorded) {
        const now = el('td');
        const figure = (value) => el('td', {}, channel.words(value));
        body.append(el('tr', {}, el('th', { scope: 'row', title: channel.help, 'data-path': channel.path }, channel.name), now,
          figure(channel.peak), figure(channel.held), figure(channel.residual)));
        this.entries.push({ run, channel, now });
      }
      const head = ['channel', 'now', 'peak', 'held', 'residual'].map((text) => el('th', { scope: 'col' }, text));
      this.details.append(wide(`Numbers${run.name ? ` of ${run.name}` : ''}`,
        el('table', {}, el('caption', {}, `${run.name ? `${run.name}: ` : ''}held is while the foot holds still, residual a second after it has gone`),
          el('thead', {}, el('tr', {}, ...head)), body)));
    }
    parent.append(this.details);
    this.details.addEventListener('toggle', () => this.show(this.rows));
  }

  show(rows) {
    this.rows = rows;
    if (!this.details.open || !rows) return;
    for (const e of this.entries) say(e.now, e.channel.now(rows[e.run.index]));
  }
}

export function notes(parent, stages) {
  const { run, leastAir } = stages[0];
  const volume = run.channels.find((c) => c.dimension === 'volume');
  const least = volume?.unit === 'in3' ? '0.006 in3' : `${leastAir} cm3`;
  const list = [
    'Each line has the colour of the pressure in it; a pipe has two halves, since its ends differ while fluid runs. An arrow head on a line shows which way the fluid runs, larger for more.',
    `A white bubble is free air, as large as it is under the pressure of that moment; below ${least} at 1 atm, as a well-bled circuit has it, none is drawn.`,
    'Small movements are drawn larger than they are. What a part says of itself, above, names the factor.',
    'While all pressures lie far below the end of the colours they look alike. The line beside the scale says so and offers a lower end; a step of a lesson takes it by itself.',
    `Times, pressures and travels are those of trace.csv; the page holds ${run.time.length} of its ${run.rows_of} rows, both sides of every event among them.`,
    'The drawing is one stop of the Tab key, and so is the list of what happened; inside, arrows up and down go from part to part and from line to line.',
    'Keys: Space plays and pauses, arrows left and right go one row back and on, with Shift twenty; P and N go to the event before and after; Home and End go to the start and the end.',
    'Colours of pressure: viridis (S. van der Walt and N. Smith, 2015). Colours of curves: M. Okabe and K. Ito (2002), here a little darker or lighter for contrast.',
  ];
  parent.append(el('h2', {}, 'How to read this page'), el('ul', {}, ...list.map((text) => el('li', {}, text))));
}
