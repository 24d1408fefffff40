// Runs played back: drawing, time, plots and text together.
import { plain } from './data.js';
import { el, say, put } from './dom.js';
import { Stage, scalesOf } from './stage.js';
import { Legend } from './legend.js';
import { Player, speedsFor } from './player.js';
import { Plots } from './plots.js';
import { Lesson } from './lesson.js';
import { PartPanel, Numbers, notes } from './panels.js';
import { EventList, stopsOf } from './events.js';

const at = (id) => document.getElementById(id);

/** Beside a drawing that is wider than its room: says so, and goes to the other end. */
function sideways(frame) {
  const button = el('button', { type: 'button' });
  const line = el('p', { class: 'hint sideways' }, 'It goes on sideways. ', button);
  const toWheels = () => frame.scrollLeft < (frame.scrollWidth - frame.clientWidth) / 2;
  const update = () => {
    line.hidden = frame.scrollWidth <= frame.clientWidth + 1;
    say(button, toWheels() ? 'Go to the wheels' : 'Go to the pedal');
  };
  button.addEventListener('click', () => {
    frame.scrollLeft = toWheels() ? frame.scrollWidth : 0;
  });
  frame.addEventListener('scroll', update);
  new ResizeObserver(update).observe(frame);
  return line;
}

const legible = 9; // px, of the smallest letters of a drawing

/** The size of the smallest letters of a drawing, in its own units. */
function smallestLetters(stage) {
  return Math.min(...[...stage.svg.querySelectorAll('text')].map((text) => parseFloat(getComputedStyle(text).fontSize)));
}

/** Two drawings stand on one screen with the time and the first plots where their letters can then be read, unless
 * somebody wants it otherwise. */
function besideEachOther(legend, drawn) {
  const stages = at('stages');
  stages.classList.add('two');
  document.body.classList.add('broad');
  const size = el('select', {}, el('option', { value: '' }, 'all in sight'), el('option', { value: 'large' }, 'large'));
  const apply = () => stages.classList.toggle('large', size.value === 'large');
  let wanted = false;
  size.addEventListener('change', () => {
    wanted = true;
    apply();
  });
  const fit = () => {
    if (wanted) return;
    stages.classList.remove('large');
    size.value = drawn.some((stage) => smallestLetters(stage) * stage.svg.getScreenCTM().a < legible) ? 'large' : '';
    apply();
  };
  addEventListener('resize', fit);
  fit();
  legend.element.append(el('label', { class: 'size' }, 'Drawings: ', size),
    el('p', { class: 'hint' }, 'A part stands on a coloured ground while a number of it differs by more than a fiftieth of its range.'));
  const beside = document.querySelector('.beside');
  beside.before(at('plots'));
}

/** Puts the runs of the page into its sections, with what was read on the car where that is known:
 * { runs, player, stages, redraw() }. */
export function playBack(runs, readings) {
  const calm = matchMedia('(prefers-reduced-motion: reduce)').matches;
  const end = Math.max(...runs.map((run) => run.end));

  // ---- the drawings
  const scales = scalesOf(runs);
  const stages = runs.map((run) => new Stage(run, scales, (name) => choose(name), calm));
  for (const stage of stages) {
    const frame = el('div', { class: 'scroll', role: 'region', 'aria-label': `Drawing${stage.run.name ? ` of ${stage.run.name}` : ''}` }, stage.svg);
    at('stages').append(el('figure', { class: 'stage' },
      runs.length > 1 ? el('figcaption', {}, stage.run.name) : null,
      sideways(frame), frame));
  }
  const legend = new Legend(runs, scales, () => {
    for (const stage of stages) stage.show(stage.row, true);
  });
  at('stages').append(legend.element);
  for (const { svg } of stages) {
    // Room that its letters need.
    const { width, height } = svg.viewBox.baseVal;
    const scale = legible / smallestLetters({ svg });
    svg.style.setProperty('--wide', `${Math.ceil(width * scale)}px`);
    svg.style.setProperty('--high', `${Math.ceil(height * scale)}px`);
  }
  if (runs.length > 1) besideEachOther(legend, stages);

  const partPanel = new PartPanel(at('part'), stages, (name) => {
    choose(name);
    reveal(name);
  });
  const events = new EventList(at('happened'), runs, goTo);
  const plots = new Plots(at('plots'), runs, (t) => player.seek(t), readings);
  const numbers = new Numbers(at('numbers'), stages);
  notes(at('notes'), stages);

  let chosen = null;
  let differing = new Set();

  // Of each drawing, what its chosen part does and the first of its numbers: the part's description.
  const briefs = stages.map((stage, i) => el('p', { class: 'unseen brief', id: `brief_${i}` }));
  at('part').append(...briefs);

  /** While it plays a description stands still: it would be read out again and again. */
  function describe() {
    if (!chosen || player.playing) return;
    briefs.forEach((brief, i) => say(brief, partPanel.inBrief(i)));
  }

  function choose(name) {
    const another = name !== chosen;
    if (another)
      stages.forEach((stage, i) => {
        stage.pieces.get(chosen)?.group.removeAttribute('aria-describedby');
        stage.pieces.get(name)?.group.setAttribute('aria-describedby', briefs[i].id);
      });
    chosen = name;
    for (const stage of stages) stage.mark(chosen, differing);
    partPanel.choose(name);
    partPanel.show();
    describe();
    if (another) partPanel.speak();
  }

  function reveal(name) {
    for (const stage of stages) stage.reveal(name);
  }

  // ---- time
  let toldAt = null; // the moment that the line below the clock is about
  const clock = at('clock');
  const printed = el('p', { class: 'printed moment' });
  at('stages').prepend(printed);
  const scrub = at('scrub');
  scrub.max = end;

  function show(t) {
    const rows = runs.map((run) => run.rowAt(Math.min(t, run.end)));
    // The moment of what is shown: a row's, where the page holds fewer than the run has.
    t = Math.max(...runs.map((run, i) => run.time[rows[i]]));
    stages.forEach((stage, i) => stage.show(rows[i]));
    if (runs.length > 1) markDifferences(rows);
    legend.show(rows);
    partPanel.show();
    describe();
    if (t !== toldAt) say(at('now'), ''); // it was about another moment
    plots.show(t);
    events.show(rows);
    numbers.show(rows);
    say(clock, `${t.toFixed(3)} of ${end.toFixed(3)} ${runs[0].time_unit}`);
    say(printed, `At ${t.toFixed(3)} ${runs[0].time_unit}, of ${end.toFixed(3)} ${runs[0].time_unit} in all`);
    scrub.value = t;
    put(scrub, 'aria-valuetext', `${t.toFixed(3)} ${runs[0].time_unit}`);
  }

  /** Parts of which some number differs by more than two hundredths of all that it goes through. */
  function markDifferences(rows) {
    const now = new Set();
    for (const channel of runs[0].channels) {
      if (now.has(channel.part)) continue;
      const values = runs.map((run, i) => run.channel(channel.path)?.at(rows[i]));
      const all = runs.map((run) => run.channel(channel.path)).filter((c) => c);
      const range = Math.max(...all.map((c) => c.peak)) - Math.min(...all.map((c) => c.lowest));
      if (values.some((v) => v === undefined || Math.abs(v - values[0]) > 0.02 * range)) now.add(channel.part);
    }
    if (now.size === differing.size && [...now].every((name) => differing.has(name))) return;
    differing = now;
    for (const stage of stages) stage.mark(chosen, differing);
  }

  /** The moment behind an event, where its pieces have moved. */
  const momentOf = (run, event) => run.time[event.row];
  const player = new Player(end, runs.flatMap((run) => stopsOf(run.events).map((e) => momentOf(run, e))), show, calm);

  // What takes the focus is moved clear of the time, which lies on the page.
  new ResizeObserver(() => document.documentElement.style.setProperty('--time', `${at('time').offsetHeight}px`)).observe(at('time'));

  const speed = at('speed');
  for (const s of speedsFor(end)) speed.append(el('option', { value: s }, s < 1 ? `1/${Math.round(1 / s)}` : `${s} x`));
  // As it was; a long run in about half a minute.
  speed.value = speedsFor(end).find((s) => s >= 1 && end / s <= 40) ?? 1;
  player.speed = Number(speed.value);
  speed.addEventListener('change', () => {
    player.speed = Number(speed.value);
  });

  player.onState = () => {
    say(at('play'), player.playing ? 'Pause' : 'Play');
    describe();
  };
  at('play').addEventListener('click', () => player.toggle());
  at('next').addEventListener('click', () => step(1));
  at('previous').addEventListener('click', () => step(-1));
  scrub.addEventListener('input', () => {
    player.pause();
    player.seek(Number(scrub.value));
  });

  /** Goes to the next or last event and says what it is. */
  function step(direction) {
    const t = player.step(direction);
    tell(t);
    bringIntoView();
  }

  /** Scrolls to the drawings, or to a part of one, where no drawing shows the chosen part. */
  function bringIntoView() {
    const pieces = stages.map((stage) => stage.pieces.get(chosen)?.group ?? stage.svg);
    const inSight = () => {
      const bar = at('time').getBoundingClientRect(); // it may lie on the drawings
      const floor = bar.top > 0 && bar.top < innerHeight ? bar.top : innerHeight;
      return pieces.some((piece) => {
        const box = piece.getBoundingClientRect();
        return box.top >= 0 && box.bottom <= floor + 1;
      });
    };
    if (!inSight()) at('stages').scrollIntoView();
    if (!inSight()) pieces[0].scrollIntoView();
  }

  function tell(t) {
    const here = t === null ? [] : runs.flatMap((run) => run.events.filter((e) => Math.abs(momentOf(run, e) - t) < 1e-7)
      .map((e) => `${run.name ? `${run.name}, ` : ''}${e.part ? `${plain(e.part)}: ` : ''}${e.text}${e.readings ? ` (${e.readings})` : ''}`));
    say(at('now'), here.length ? `At ${t.toFixed(3)} s: ${here.join('; ')}.` : t === null ? 'No further event.' : '');
    toldAt = player.t;
    if (t === null) return;
    const event = runs.map((run) => run.events.find((e) => Math.abs(momentOf(run, e) - t) < 1e-7)).find((e) => e);
    if (!event?.part || !runs.some((run) => run.part(event.part))) return;
    choose(event.part);
    reveal(event.part);
  }

  function goTo(event) {
    const run = runs.find((r) => r.events.includes(event));
    player.pause();
    player.seek(momentOf(run, event));
    tell(momentOf(run, event));
  }

  /** Rows are the smallest steps there are. */
  function byRows(n) {
    const { time } = runs[0];
    const row = runs[0].rowAt(player.t) + n;
    player.pause();
    player.seek(time[Math.min(time.length - 1, Math.max(0, row))]);
  }

  document.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const { target } = event;
    const typing = target.matches('select, input, textarea');
    const pressing = target.matches('button, summary, a');
    const rows = event.shiftKey ? 20 : 1;
    const keys = {
      ' ': () => player.toggle(),
      ArrowRight: () => byRows(rows),
      ArrowLeft: () => byRows(-rows),
      // Of themselves they would move the slider by a hundredth of the run.
      ...(target === scrub && { ArrowUp: () => byRows(rows), ArrowDown: () => byRows(-rows) }),
      n: () => step(1),
      p: () => step(-1),
      Home: () => player.seek(0),
      End: () => player.seek(end),
    };
    const act = keys[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (!act || (typing && target !== scrub) || (pressing && event.key === ' ')) return;
    event.preventDefault();
    act();
  });

  const suit = () => legend.suit(stages.map((stage) => stage.row), 'in this step');
  const lesson = new Lesson(at('lesson'), runs[0], {
    jump(t, part) {
      player.pause();
      player.seek(t);
      choose(part);
      reveal(part);
      suit();
    },
    // On the way there the scale of the whole run shows how pressures fall.
    playTo(t) {
      legend.end(legend.all);
      player.playTo(t, suit);
    },
  });

  const first = runs[0].events.find((e) => runs[0].part(e.part))?.part ?? runs[0].parts[0].name;
  choose(first);
  player.seek(0);
  lesson.show();
  lesson.stand(); // words and drawing are of one moment from the start

  /** For paper, and for the screen again. */
  function redraw() {
    plots.draw();
    numbers.show(stages.map((stage) => stage.row));
  }

  return { runs, player, stages, redraw };
}
