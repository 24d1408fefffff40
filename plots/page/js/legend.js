// The colour scale of the drawings, and where it ends.
import { svg, el, say, put } from './dom.js';
import { pressureColour } from './colour.js';

const lower = [1e6, 3e5, 1e5]; // Pa, ends of the scale for what is left in a line
const alike = 0.1; // of the scale, below which colours can hardly be told apart

export class Legend {
  /** `again()` draws all of it with the new colours. */
  constructor(runs, scales, again) {
    this.runs = runs;
    this.scales = scales;
    this.again = again;
    this.all = scales.limit;
    this.limits = [this.all, ...lower.filter((p) => p < this.all)];
    this.channel = runs[0].channels.find((c) => c.dimension === 'pressure');
    const stops = Array.from({ length: 9 }, (_, i) =>
      svg('stop', { offset: i / 8, 'stop-color': pressureColour(i / 8) }));
    this.texts = [0, 0.5, 1].map((share) => svg('text', { x: 4 + 232 * share, y: 34, 'text-anchor': ['start', 'middle', 'end'][share * 2] }));
    const picture = svg('svg', { viewBox: '0 0 240 40', class: 'scale', role: 'img', 'aria-label': 'Colours of pressure, from dark for none to yellow for the largest' },
      svg('defs', {}, svg('linearGradient', { id: 'scale' }, ...stops)),
      svg('rect', { x: 4, y: 4, width: 232, height: 14, fill: 'url(#scale)' }), ...this.texts);
    this.select = el('select', { class: 'limit' }, ...this.limits.map((pa) =>
      el('option', { value: pa }, pa === this.all ? `all, to ${this.shown(pa)}` : `low ones, to ${this.shown(pa)}`)));
    this.select.addEventListener('change', () => this.end(Number(this.select.value)));
    this.fitting = el('button', { type: 'button', class: 'fitting' }, 'Let them fit');
    this.fitting.addEventListener('click', () => {
      this.suit(this.rows);
      this.select.focus();
    });
    this.words = el('span');
    this.told = el('span', { 'aria-live': 'polite' }); // that something else than the reader has moved the end
    this.why = '';
    this.hint = el('p', { class: 'hint fits' }, this.words, this.told, ' ', this.fitting);
    this.element = el('div', { class: 'legend' }, picture, el('label', {}, 'Colours for pressures: ', this.select), this.hint);
    this.write();
  }

  shown(pa) {
    const value = (pa - this.channel.zero) / this.channel.slope;
    return `${value >= 100 ? Math.round(value) : Number(value.toPrecision(3))} ${this.channel.unit}`;
  }

  write() {
    this.texts.forEach((text, i) => say(text, this.shown((this.scales.limit * i) / 2)));
  }

  /** `why`: what has asked for that end, where it was not the reader. */
  end(pa, why = '') {
    this.why = pa === this.all ? '' : why;
    if (pa !== this.scales.limit) {
      this.scales.limit = pa;
      this.select.value = pa;
      this.write();
      this.again();
    }
    if (this.rows) this.show(this.rows);
  }

  /** The end of the scale that lets what is there at a moment be told apart: the lowest that holds all of it, where that
   * lies far below the largest pressure of the run. */
  fitFor(rows) {
    const largest = Math.max(...this.runs.map((run, i) => run.largestAt(rows[i])));
    return largest > alike * this.all ? this.all : this.limits.findLast((pa) => pa >= largest);
  }

  suit(rows, why) {
    this.end(this.fitFor(rows), why);
  }

  /** Says where colours tell nothing at this moment. */
  show(rows) {
    this.rows = rows;
    const { limit } = this.scales;
    const largest = Math.max(...this.runs.map((run, i) => run.largestAt(rows[i])));
    const over = largest > 1.005 * limit;
    const under = largest < alike * limit && this.fitFor(rows) < limit;
    if (over) say(this.words, `Above ${this.shown(limit)} all is yellow now.`);
    else if (under) say(this.words, `All below ${this.shown(alike * limit)} now, which looks alike.`);
    const told = this.why !== '' && !over && !under;
    if (told) say(this.words, '');
    say(this.told, told ? `Colours end at ${this.shown(limit)} ${this.why}.` : '');
    this.fitting.hidden = told;
    put(this.hint, 'data-off', !over && !under && !told);
  }
}
