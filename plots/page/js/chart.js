// Charts as inline SVG. They are drawn at the width that they have, so that their letters keep their size, and their
// colours come from the style sheet: dark and print need no new drawing.
import { el, svg, say, wide } from './dom.js';

const edges = { left: 62, right: 44, top: 34, bottom: 46 };

const letter = 7.8; // pixels, at most

/** What has room in that many pixels: the end of a path or of a label with its unit tells more than its beginning. */
function shortened(text, pixels) {
  const most = Math.floor(pixels / letter);
  return text.length > most ? `…${text.slice(1 - most)}` : text;
}

/** Numbers along an axis, about n of them: multiples of 1, 2 or 5 times a power of ten. */
export function ticks(low, high, n) {
  const rough = (high - low) / Math.max(1, n);
  const decade = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((m) => m * decade).find((s) => s >= rough * 0.999);
  const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const list = [];
  for (let i = Math.ceil(low / step - 1e-9); i * step <= high + 1e-9 * step; i++) list.push({ value: i * step, text: (i * step + 0).toFixed(digits).replace(/^-(0(\.0*)?)$/, '$1') });
  return list;
}

/** The same, but no fewer than three where their texts have room: one number tells no scale. */
function scaleOf(low, high, pixels) {
  const usual = ticks(low, high, pixels / 75);
  for (let n = 2; usual.length < 3 && n < 20; n++) {
    const list = ticks(low, high, n);
    if (list.length >= 3) return list.every((t) => t.text.length * letter < pixels / list.length) ? list : usual;
  }
  return usual;
}

/** A name in lines that have room in that many pixels, two at most. */
function wrapped(text, pixels) {
  const lines = [''];
  for (const word of text.split(' ')) {
    const longer = `${lines.at(-1)} ${word}`.trim();
    if (lines.at(-1) === '' || longer.length * letter <= pixels || lines.length === 2) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines.map((words) => shortened(words, pixels));
}

/** Around all of the numbers, with some air. */
export function around(values) {
  const known = values.filter((v) => v !== null && v !== undefined);
  const low = Math.min(...known);
  const high = Math.max(...known);
  const air = high > low ? 0.04 * (high - low) : Math.max(1e-9, 0.01 * Math.abs(low));
  return [low - air, high + air];
}

/** Five figures, as the tables of the report have them. */
export function figure(value, unit = '') {
  if (value === null || value === undefined) return '-';
  return `${Number(value.toPrecision(5))}${unit && unit !== '1' ? ` ${unit}` : ''}`;
}

const line = (x1, y1, x2, y2, name) => svg('line', { x1: x1.toFixed(1), y1: y1.toFixed(1), x2: x2.toFixed(1), y2: y2.toFixed(1), class: name });
const words = (x, y, text, anchor = 'middle', extra = {}) => svg('text', { x: x.toFixed(1), y: y.toFixed(1), 'text-anchor': anchor, ...extra }, text);

/**
 * A chart with two axes, in a figure of its own.
 *   title, x: { label, range, ticks? }, y: the same ({ names: [...] } for rows with names instead of numbers), height
 *   marks: [{ x or y, name, row }] lines through the chart; `name` stands above, in its row
 *   draw(place) gives the shapes; place: { x(v), y(v), left, right, top, bottom }
 *   items: [{ at(place) => [x, y], words }] what can be pointed at, or reached with the arrow keys
 */
export function chart(c) {
  const told = el('p', { class: 'told' }, c.hint);
  const pointer = svg('circle', { r: 6, class: 'pointer', visibility: 'hidden' });
  const picture = svg('svg', { class: 'chart', height: c.height, 'aria-hidden': 'true' });
  // One can go through its items like through the values of a slider, and each is said in words.
  const frame = el('div', { class: 'explore', tabindex: '0', role: 'slider', 'aria-label': c.label, 'aria-valuemin': 1,
    'aria-valuemax': c.items.length, 'aria-valuenow': 1, 'aria-valuetext': c.items[0]?.words ?? '' }, picture);
  let place = null;
  let current = -1;
  let width = 0;

  function choose(i) {
    current = i;
    const [x, y] = c.items[i].at(place);
    pointer.setAttribute('cx', x.toFixed(1));
    pointer.setAttribute('cy', y.toFixed(1));
    pointer.setAttribute('visibility', 'visible');
    frame.setAttribute('aria-valuenow', i + 1);
    frame.setAttribute('aria-valuetext', c.items[i].words);
    say(told, c.items[i].words);
  }

  function render() {
    const left = c.y.names ? Math.min(220, Math.max(110, 0.36 * width)) : edges.left;
    place = { left, right: width - edges.right, top: edges.top, bottom: c.height - edges.bottom };
    place.x = (v) => place.left + ((v - c.x.range[0]) / (c.x.range[1] - c.x.range[0])) * (place.right - place.left);
    place.y = (v) => place.bottom - ((v - c.y.range[0]) / (c.y.range[1] - c.y.range[0])) * (place.bottom - place.top);
    const shapes = [];
    for (const t of scaleOf(...c.x.range, place.right - place.left))
      shapes.push(line(place.x(t.value), place.top, place.x(t.value), place.bottom, 'grid'), words(place.x(t.value), place.bottom + 17, t.text));
    if (c.y.names) {
      c.y.names.forEach((name, i) => wrapped(name, left - 8).forEach((text, k, all) =>
        shapes.push(words(left - 8, place.y(-i) + 4 + 15 * (k - (all.length - 1) / 2), text, 'end'))));
    } else {
      for (const t of ticks(...c.y.range, (place.bottom - place.top) / 45))
        shapes.push(line(place.left, place.y(t.value), place.right, place.y(t.value), 'grid'), words(place.left - 7, place.y(t.value) + 4, t.text, 'end'));
      const middle = (place.top + place.bottom) / 2;
      shapes.push(words(14, middle, shortened(c.y.label, c.height - 8), 'middle', { transform: `rotate(-90 14 ${middle})` }));
    }
    // Under the middle of the chart, as far as it then stays inside.
    const label = shortened(c.x.label, width - 8);
    const half = 0.5 * letter * label.length;
    shapes.push(words(Math.max(half + 4, Math.min(width - half - 4, (place.left + place.right) / 2)), c.height - 8, label));
    shapes.push(...c.draw(place));
    for (const m of c.marks) {
      if (m.x !== undefined) {
        const x = place.x(m.x);
        shapes.push(line(x, place.top - 2, x, place.bottom, m.name), words(x, place.top - (m.row ? 20 : 6), m.text, 'middle'));
      } else {
        shapes.push(line(place.left, place.y(m.y), place.right, place.y(m.y), m.name));
      }
    }
    picture.setAttribute('width', width);
    picture.setAttribute('viewBox', `0 0 ${width} ${c.height}`);
    picture.replaceChildren(...shapes, pointer);
    if (current >= 0) choose(current);
  }

  frame.addEventListener('pointermove', (event) => {
    const box = picture.getBoundingClientRect();
    let best = -1;
    let least = Infinity;
    c.items.forEach((item, i) => {
      const [x, y] = item.at(place);
      const away = Math.hypot(x - (event.clientX - box.left), (y - (event.clientY - box.top)) * (c.flat ? 0.05 : 1));
      if (away < least) [best, least] = [i, away];
    });
    if (best >= 0 && best !== current) choose(best);
  });
  frame.addEventListener('keydown', (event) => {
    const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 20, PageDown: -20, Home: -Infinity, End: Infinity }[event.key];
    if (!step || !c.items.length) return;
    event.preventDefault();
    event.stopPropagation();
    choose(Math.min(c.items.length - 1, Math.max(0, Math.max(current, 0) + step)));
  });
  frame.addEventListener('focus', () => choose(Math.max(current, 0)));
  new ResizeObserver(() => {
    if (frame.clientWidth === width || frame.clientWidth === 0) return;
    width = frame.clientWidth;
    render();
  }).observe(frame);
  return el('figure', { class: 'plot' }, el('figcaption', {}, c.title), frame, told);
}

/** A table with a head, that can be moved sideways on a small screen. */
export function tableOf(caption, head, rows) {
  return wide(caption,
    el('table', {}, el('caption', {}, caption), el('thead', {}, el('tr', {}, ...head.map((h) => (h ? el('th', { scope: 'col' }, h) : el('td'))))),
      el('tbody', {}, ...rows.map((cells) => el('tr', {}, ...cells.map((c, i) => el(i === 0 ? 'th' : 'td', i === 0 ? { scope: 'row' } : {}, c)))))));
}

const strip = 6; // standard errors that a strip shows

/** How far one reading is missed: a dot on a line of standard errors, the band of two to either side shaded. */
export function errorDot(off, farthest) {
  const x = (v) => 60 + Math.max(-strip, Math.min(strip, v)) * 9;
  const far = Math.abs(off) > farthest;
  return svg('svg', { class: 'strip', width: 120, height: 22, viewBox: '0 0 120 22', 'aria-hidden': 'true' },
    svg('rect', { x: x(-2), y: 3, width: x(2) - x(-2), height: 16, class: 'band' }),
    line(x(-strip), 11, x(strip), 11, 'grid'), line(x(0), 3, x(0), 19, 'axis'),
    far ? svg('path', { d: `M ${x(off)} 4 L ${x(off) + 7} 11 L ${x(off)} 18 L ${x(off) - 7} 11 Z`, class: 'far' }) : svg('circle', { cx: x(off).toFixed(1), cy: 11, r: 5, class: 'near' }));
}

/** All readings of one explanation: a bar each, up for more than was read, down for less. */
export function errorBars(offs, farthest) {
  const wide = Math.max(4, Math.min(12, 220 / offs.length));
  const y = (v) => 22 - (Math.max(-strip, Math.min(strip, v)) / strip) * 20;
  const width = wide * offs.length + 4;
  return svg('svg', { class: 'strip', width, height: 44, viewBox: `0 0 ${width} 44`, role: 'img',
    'aria-label': `Misses by reading, in standard errors: ${offs.map((o) => o.toFixed(1)).join(', ')}` },
    svg('rect', { x: 0, y: y(2), width, height: y(-2) - y(2), class: 'band' }), line(0, y(0), width, y(0), 'axis'),
    ...offs.map((o, i) => svg('rect', { x: (2 + i * wide + 1).toFixed(1), width: (wide - 2).toFixed(1), y: (Math.min(y(0), y(o)) - 0.75).toFixed(1),
      height: (Math.abs(y(o) - y(0)) + 1.5).toFixed(1), class: Math.abs(o) > farthest ? 'far' : 'near' })));
}
