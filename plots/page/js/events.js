// The events of the runs as lists: what comes again and again in one line, and one stop of the Tab key for each list.
import { el } from './dom.js';
import { plain } from './data.js';

const fewest = 3; // times that something comes before it becomes one line

const same = (a, b) => a.part === b.part && a.text === b.text;

/** Events in order as groups: { events, period }. Those that are told again and again with nothing else between them are
 * one group, of period 1; so are two that are told in turn, of period 2. */
function visits(events) {
  const groups = [];
  for (let i = 0; i < events.length;) {
    let taken = 1;
    let period = 1;
    for (const p of [1, 2]) {
      let n = p;
      while (i + n < events.length && same(events[i + n], events[i + n - p])) n += 1;
      n -= n % p;
      if (n < fewest * p || n <= taken) continue;
      taken = n;
      period = p;
    }
    groups.push({ events: events.slice(i, i + taken), period });
    i += taken;
  }
  return groups;
}

/** A field that a scenario takes from value to value, in many small steps. */
const isRamp = (group) => group.events.length > 1 && group.events.every((e) => e.text.endsWith(' becomes'));

/** The events at which "next event" stops: of a ramp the first one alone. */
export function stopsOf(events) {
  return visits(events).flatMap((group) => (isRamp(group) ? group.events.slice(0, 1) : group.events));
}

/** What a line says of those that it stands for. */
function moreOf({ events, period }) {
  if (events.length === 1) return '';
  const [first, second] = events;
  const times = `${events.length / period} times${period > 1 ? ' each' : ''} until ${events.at(-1).time.toFixed(3)} s`;
  if (period === 1) return times;
  const other = [first.part === second.part ? '' : plain(second.part), first.text === second.text ? '' : second.text].filter((x) => x).join(': ');
  return `and ${other}, in turn, ${times}`;
}

/** What happened, in order; each line goes to its moment. */
export class EventList {
  constructor(parent, runs, go) {
    this.runs = runs;
    this.go = go;
    parent.append(el('h2', {}, 'What happened'));
    this.lists = runs.map((run) => {
      const l = { list: el('ol', { class: 'events' }), entries: [], marked: null, stop: null };
      for (const group of visits(run.events)) this.add(l, group);
      this.walkable(l);
      if (runs.length > 1) parent.append(el('h3', {}, run.name));
      parent.append(run.events.length ? l.list : el('p', {}, 'Nothing worth telling.'));
      return l;
    });
  }

  line(event, more) {
    const button = el('button', { type: 'button', tabindex: '-1' }, el('span', { class: 'at' }, `${event.time.toFixed(3)} s`), ' ',
      el('span', {}, `${event.part ? `${plain(event.part)}: ` : ''}${event.text}`),
      event.readings ? el('span', { class: 'readings' }, ` (${event.readings})`) : null,
      more ? el('strong', { class: 'times' }, ` ${more}`) : null);
    button.addEventListener('click', () => this.go(event));
    return button;
  }

  add(l, group) {
    const [first, ...again] = group.events;
    const head = this.line(first, moreOf(group));
    const item = el('li', {}, head);
    l.list.append(item);
    l.entries.push({ event: first, button: head });
    if (!again.length) return;
    const inside = el('ol');
    const rest = el('details', {}, el('summary', { tabindex: '-1' }, `the ${again.length} that follow the first`), inside);
    item.append(rest);
    for (const event of again) {
      const button = this.line(event, '');
      inside.append(el('li', {}, button));
      l.entries.push({ event, button, head, rest });
    }
    // Open or shut, the mark stands where it is seen, and the stop where it can be reached.
    rest.addEventListener('toggle', () => {
      if (!rest.open && inside.contains(l.stop)) this.stopAt(l, head);
      if (this.rows) this.show(this.rows);
    });
  }

  /** Where the Tab key stops in a list. */
  stopAt(l, element) {
    if (element === l.stop) return;
    l.stop?.setAttribute('tabindex', '-1');
    l.stop = element;
    l.stop.setAttribute('tabindex', '0');
  }

  /** A list is one stop of the Tab key; arrows up and down go from line to line. */
  walkable(l) {
    if (l.entries.length) this.stopAt(l, l.entries[0].button);
    l.list.addEventListener('focusin', (event) => this.stopAt(l, event.target));
    l.list.addEventListener('keydown', (event) => {
      const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
      if (!step || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      const lines = [...l.list.querySelectorAll('button, summary')].filter((line) => line.matches('summary, .events > li > button, details[open] button'));
      lines[lines.indexOf(event.target) + step]?.focus();
    });
  }

  /** Marks the last event that has happened, and keeps it in sight. */
  show(rows) {
    this.rows = rows;
    this.lists.forEach((l, r) => {
      const current = l.entries.findLast(({ event }) => event.row <= rows[r]);
      const button = current?.rest && !current.rest.open ? current.head : current?.button ?? null;
      if (button === l.marked) return;
      l.marked?.removeAttribute('aria-current');
      l.marked = button;
      if (!button) return;
      button.setAttribute('aria-current', 'true');
      if (!l.list.contains(document.activeElement)) this.stopAt(l, button);
      l.list.scrollTop = button.offsetTop - l.list.clientHeight / 2;
    });
  }
}
