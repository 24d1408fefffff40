// What a study answers: how each answer spreads, how many lie outside its limits, and what moves it.
import { el, svg } from './dom.js';
import { inWords } from './data.js';
import { around, chart, figure, tableOf } from './chart.js';

const bars = 12; // fields in a chart of what moves an answer; its table has them all

const unitOf = (u) => (u === '1' ? '' : u);
const labelled = (text, u) => (unitOf(u) ? `${text} [${u}]` : text);
const share = (x) => `${Number((100 * x).toPrecision(3))} %`;

function limitsOf(a) {
  const { limits, unit } = a;
  if (!limits) return '';
  if (limits.low !== null && limits.high !== null) return `${figure(limits.low)} to ${figure(limits.high, unit)}`;
  return limits.low !== null ? `at least ${figure(limits.low, unit)}` : `at most ${figure(limits.high, unit)}`;
}

function spreadTable(sweep) {
  const at = (a, q) => a.quantiles.find((x) => x.share === q)?.value;
  const limited = sweep.answers.some((a) => a.limits);
  const head = ['answer', 'unit', 'as it is', 'mean', 'deviation', '5 %', '50 %', '95 %', ...(limited ? ['limits', 'outside', 'at 95 % confidence'] : [])];
  return tableOf('How the answers spread', head, sweep.answers.map((a) => {
    const row = [a.text, unitOf(a.unit), figure(a.as_it_is), figure(a.mean), figure(a.deviation), ...[0.05, 0.5, 0.95].map((q) => figure(at(a, q)))];
    const l = a.limits;
    return limited ? [...row, limitsOf(a), l ? `${l.outside} of ${l.judged}, ${share(l.outside / l.judged)}` : '',
      l?.confidence ? `${share(l.share_low)} to ${share(l.share_high)}` : ''] : row;
  }));
}

/** A limit far from every value would squeeze what is to be seen. */
function inSight(a) {
  const span = a.most - a.least;
  return [a.limits?.low, a.limits?.high].filter((v) => v !== null && v !== undefined && v > a.least - 2 * span && v < a.most + 2 * span);
}

function lines(a) {
  const limits = inSight(a).map((x) => ({ x, name: 'limit', text: 'limit', row: 0 }));
  return a.as_it_is === null ? limits : [...limits, { x: a.as_it_is, name: 'sound', text: 'as it is', row: 1 }];
}

function histogram(a) {
  const highest = Math.max(...a.bins.map((b) => b.points));
  return chart({
    title: 'How many points',
    label: `Histogram of ${a.text}`,
    hint: 'Point at a bar, or go through them with the arrow keys.',
    height: 260,
    flat: true,
    x: { label: labelled(a.text, a.unit), range: around([a.least, a.most, ...inSight(a), a.as_it_is]) },
    y: { label: 'points', range: [0, 1.05 * highest] },
    marks: lines(a),
    draw: (p) => a.bins.map((b) => svg('rect', { x: p.x(b.from).toFixed(1), width: Math.max(0.5, p.x(b.to) - p.x(b.from) - 0.6).toFixed(1),
      y: p.y(b.points).toFixed(1), height: (p.bottom - p.y(b.points)).toFixed(1), class: 'bar-one' })),
    items: a.bins.map((b) => ({ at: (p) => [p.x((b.from + b.to) / 2), p.y(b.points)], words: `${figure(b.from)} to ${figure(b.to, a.unit)}: ${b.points} points` })),
  });
}

/** Each field alone at both its ends: the widest above. */
function tornado(a, fields) {
  const list = a.moved_by.slice(0, bars);
  const unitOfField = (path) => fields.find((f) => f.path === path).unit;
  // What all have in common is said once, above.
  const parts = new Set(list.map((m) => (m.path.includes('.') ? m.path.split('.')[0] : m.path)));
  const [part] = parts.size === 1 && list[0].path.includes('.') ? parts : [];
  const items = list.flatMap((m, i) => [['lower', m.field_low, m.at_low, 0.2], ['upper', m.field_high, m.at_high, -0.2]]
    .filter(([, , value]) => value !== null)
    .map(([end, field, value, dy]) => ({ at: (p) => [p.x(value), p.y(-i + dy)],
      words: `${inWords(m.path)} at its ${end} end, ${figure(field, unitOfField(m.path))}: ${figure(value, a.unit)}` })));
  return chart({
    title: `What moves it: each field${part ? ` of ${inWords(part)}` : ''} alone at its lower end (upper bar, blue) and its upper end (lower bar, orange)`,
    label: `What moves ${a.text}`,
    hint: 'Point at the end of a bar, or go through them with the arrow keys.',
    height: 34 * list.length + 90,
    x: { label: labelled(a.text, a.unit), range: around([a.as_it_is, ...list.flatMap((m) => [m.at_low, m.at_high])]) },
    y: { names: list.map((m) => inWords(part ? m.path.slice(part.length + 1) : m.path)), range: [-list.length + 0.4, 0.6] },
    marks: a.as_it_is === null ? [] : [{ x: a.as_it_is, name: 'sound', text: 'as it is', row: 0 }],
    draw: (p) => list.flatMap((m, i) => [[m.at_low, 0.38, 'bar-one'], [m.at_high, -0.02, 'bar-two']].filter(([v]) => v !== null)
      .map(([v, top, name]) => svg('rect', { x: Math.min(p.x(v), p.x(a.as_it_is)).toFixed(1), width: Math.max(1, Math.abs(p.x(v) - p.x(a.as_it_is))).toFixed(1),
        y: p.y(-i + top).toFixed(1), height: (p.y(0) - p.y(0.36)).toFixed(1), class: name }))),
    items,
  });
}

/** The answer against one field; the field may be chosen. */
function scatter(sweep, a, n) {
  const place = el('div');
  const { rows } = sweep;
  const values = rows.answers[n];
  const select = el('select', {}, ...a.moved_by.map((m) => el('option', { value: m.path }, inWords(m.path))));
  function draw() {
    const d = sweep.varied.findIndex((v) => v.path === select.value);
    const field = sweep.varied[d];
    const inputs = rows.inputs[d];
    const order = [...values.keys()].filter((i) => values[i] !== null && inputs[i] !== null).sort((i, j) => inputs[i] - inputs[j]);
    place.replaceChildren(chart({
      title: `Against ${inWords(field.path)}${rows.every > 1 ? `; one row in ${rows.every}` : ''}`,
      label: `${a.text} against ${inWords(field.path)}`,
      hint: 'Point at a dot, or go through them with the arrow keys, to see its row of points.csv.',
      height: 300,
      x: { label: labelled(inWords(field.path), field.unit), range: around(order.map((i) => inputs[i])) },
      y: { label: labelled(a.text, a.unit), range: around([...order.map((i) => values[i]), ...inSight(a)]) },
      marks: inSight(a).map((y) => ({ y, name: 'limit' })),
      draw: (p) => [svg('path', { class: order.length < 1000 ? 'dots large' : 'dots', d: order.map((i) => `M${p.x(inputs[i]).toFixed(1)} ${p.y(values[i]).toFixed(1)}h0`).join('') })],
      items: order.map((i) => ({ at: (p) => [p.x(inputs[i]), p.y(values[i])],
        words: `Row ${rows.number[i]}, ${rows.what[i]}: ${sweep.varied.map((v, k) => `${inWords(v.path)} ${figure(rows.inputs[k][i], v.unit)}`).join(', ')}; ` +
          sweep.answers.map((x, k) => `${x.text} ${figure(rows.answers[k][i], x.unit)}`).join(', ') })),
    }));
  }
  select.addEventListener('change', draw);
  draw();
  return el('div', { class: 'scatter' }, el('label', {}, 'Field: ', select), place);
}

function numbers(a) {
  const indices = a.moved_by.some((m) => m.first);
  const shareOf = (s) => (s && s.value !== null ? `${s.value.toFixed(3)} (${s.low.toFixed(2)} to ${s.high.toFixed(2)})` : '-');
  return el('details', {}, el('summary', {}, 'The charts as tables of numbers'),
    tableOf(`What moves it, ${a.text}${unitOf(a.unit) ? ` [${a.unit}]` : ''}`,
      ['field', 'at its lower end', 'at its upper end', 'per cent for one per cent', ...(indices ? ['share alone', 'share with others'] : [])],
      a.moved_by.map((m) => [inWords(m.path), figure(m.at_low), figure(m.at_high), m.per_cent === null ? '-' : m.per_cent.toFixed(3),
        ...(indices ? [shareOf(m.first), shareOf(m.total)] : [])])),
    tableOf(`How many points of ${a.text}`, ['from', 'to', 'points'], a.bins.map((b) => [figure(b.from), figure(b.to), String(b.points)])));
}

export function showSweep(parent, sweep) {
  parent.append(el('h2', {}, 'How the answers spread'), el('p', {}, sweep.points.in_words));
  if (sweep.points.lost_in_words) parent.append(el('p', { class: 'caution' }, sweep.points.lost_in_words));
  parent.append(spreadTable(sweep));
  sweep.answers.forEach((a, n) => {
    const charts = a.bins.length
      ? [el('div', { class: 'charts' }, histogram(a), ...(a.moved_by.length ? [tornado(a, sweep.varied), scatter(sweep, a, n)] : [])), numbers(a)]
      : [el('p', {}, 'Nothing that varies moves it.')];
    parent.append(el('h2', {}, a.text), a.outside_in_words ? el('p', {}, `${a.outside_in_words}.`) : '', ...charts);
  });
}
