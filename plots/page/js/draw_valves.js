// Valves in section with their moving pieces.
import { svg, put, say, shift, textWidth } from './dom.js';

const inner = 46; // px, height of the chambers

function box(stage, item, options) {
  const { x, y, w } = item;
  const h = options.h ?? inner;
  const group = stage.piece(item.part, { x: x + 1, y: y - h / 2 - (item.sensed ? 54 : 12), w: w - 2, h: h + 66 }, options);
  group.append(svg('rect', { x: x + 8, y: y - h / 2 - 7, width: w - 16, height: h + 14, rx: 5, class: 'housing' }));
  return group;
}

/** What a valve is doing, beside it. */
function caption(stage, group, item, h, words) {
  const y = item.sensed ? item.y - h / 2 - 36 : item.y + h / 2 + 23; // over it where a line comes from below
  const label = svg('text', { x: item.x + item.w / 2, y, class: 'label', 'text-anchor': 'middle' }, stage.label(item.part));
  const state = svg('text', { x: item.x + item.w / 2, y: y + 19, class: 'value', 'text-anchor': 'middle' });
  group.append(label, state);
  stage.paint((row) => say(state, words(row)));
}

function area(stage, group, node, attributes) {
  const rect = svg('rect', { ...attributes, class: 'fluid-area' });
  group.append(rect);
  stage.paint((row) => put(rect, 'fill', stage.colour(node, row)));
  return rect;
}

/** Free outward past its lip; on return the whole valve lifts off its seat at its holding pressure. */
export function drawResidual(stage, item) {
  const { x, y, w, part } = item;
  const h = 30;
  const group = box(stage, item, { h });
  area(stage, group, item.before, { x, y: y - h / 2, width: w / 2, height: h });
  area(stage, group, item.behind, { x: x + w / 2, y: y - h / 2, width: w / 2, height: h });
  const seat = svg('path', { d: `M${x + w / 2} ${y - h / 2}v7m0 ${h - 14}v7`, class: 'seat' });
  const plate = svg('path', { d: `M0 ${-h / 2 + 4}v${h - 8}`, class: 'moving' });
  const lip = svg('path', { class: 'rubber line' });
  const valve = svg('g', {}, seat, plate, lip);
  group.append(valve);
  const fitted = () => part.fields.fitted !== 'no'; // a fault may put one in
  stage.paint((row) => {
    put(valve, 'visibility', fitted() ? 'visible' : 'hidden');
    const mode = residualMode(stage.run, part, row);
    shift(plate, x + w / 2 + (mode === 'back' ? -6 : 3), y);
    const bend = mode === 'out' ? 9 : 2;
    put(lip, 'd', `M${x + w / 2 + 4} ${y - 6}q${bend} 6 ${bend} 0M${x + w / 2 + 4} ${y + 6}q${bend} -6 ${bend} 0`);
  });
  const texts = { out: 'open outward', back: 'lets fluid back', shut: 'shut' };
  caption(stage, group, item, h, (row) => (fitted() ? texts[residualMode(stage.run, part, row)] : 'not fitted'));
}

export function residualMode(run, part, row) {
  const above = run.si(part.name, 'held_back', row); // line above cylinder
  if (above < -(part.fields.crack ?? 0)) return 'out';
  return above > (part.fields.holding ?? Infinity) ? 'back' : 'shut';
}

/**
 * A rod that feels the inlet lets the check shut; a plate on a spring opens against the outlet. Both
 * move by tenths of a millimetre.
 */
export function drawHoldOff(stage, item) {
  const { x, y, w, part } = item;
  const f = part.fields;
  const rodScale = 14 / f.shut_travel; // px per m
  const plateScale = 14 / f.plate_lift;
  const body = inner / f.plate_diameter;
  const group = box(stage, item, {
    scale: `Its rod is drawn to move ${stage.times(rodScale, body)} and its plate ${stage.times(plateScale, body)} as far as they do.`,
  });
  const seatX = x + 84;
  area(stage, group, item.before, { x, y: y - inner / 2, width: seatX - x, height: inner });
  area(stage, group, item.behind, { x: seatX, y: y - inner / 2, width: x + w - seatX, height: inner });
  // The wall between inlet and outlet: the check above, the plate below.
  group.append(svg('path', { d: `M${seatX} ${y - inner / 2}v5m0 11v7m0 17v6`, class: 'seat' }));
  const check = svg('path', { d: 'M0 -7v14', class: 'moving' });
  const plate = svg('path', { d: 'M0 -10v20', class: 'moving' });
  const plateSpring = svg('path', { class: 'spring in-fluid' });
  const rod = svg('g', {},
    svg('path', { d: 'M0 0H-70', class: 'rod' }),
    svg('path', { d: 'M-40 -11v22', class: 'rubber line' }),
    svg('path', { d: 'M-70 -7v14', class: 'rod' }));
  group.append(plateSpring, check, plate, rod);
  const rodY = y - inner / 2 + 10;
  const plateY = y + inner / 2 - 15;
  stage.paint((row) => {
    const out = Math.min(26, stage.run.si(part.name, 'rod_travel', row) * rodScale);
    shift(rod, seatX + 12 - out, rodY);
    // The rod holds the check off its seat by what is left of its way.
    shift(check, seatX + 2 + Math.max(0, 14 - out), rodY);
    const lift = Math.min(18, Math.max(0, stage.run.si(part.name, 'plate_lift', row) * plateScale));
    shift(plate, seatX + 3 + lift, plateY);
    put(plateSpring, 'stroke', stage.inkOn(item.behind, row));
    put(plateSpring, 'd', zigzag(seatX + 4 + lift, x + w - 12, plateY));
  });
  caption(stage, group, item, inner, (row) => holdOffWords(stage.run, part, row).replace('shut, holds', 'holds')); // room for no more
}

function zigzag(from, to, y) {
  const step = (to - from) / 5;
  let d = `M${from.toFixed(1)} ${y}`;
  for (let i = 0; i < 5; i++) d += `l${(step / 2).toFixed(1)} -6l${(step / 2).toFixed(1)} 6`;
  return d;
}

const nearNothing = 2e4; // Pa: below it no brake does anything

export function holdOffWords(run, part, row) {
  const difference = run.si(part.name, 'difference', row);
  if (part.fields.rod === 'held') return 'rod held in by hand';
  if (part.fields.rod === 'wedged') return 'rod is WEDGED';
  if (part.fields.plate === 'stuck_open') return 'plate stuck open';
  if (run.si(part.name, 'rod_travel', row) < part.fields.shut_travel) return 'check held open';
  if (part.fields.plate === 'stuck_shut') return 'plate stuck shut';
  if (run.si(part.name, 'plate_lift', row) > 0) return difference > nearNothing ? 'plate open, holds back' : 'plate open';
  if (difference < -(part.fields.crack ?? 0)) return 'lets fluid back';
  const behind = run.pressures.get(part.ports.outlet);
  if (behind && behind.si(row) > nearNothing)
    return difference > nearNothing ? `shut, holds back ${run.channel(`${part.name}.difference`).now(row)}` : `shut, ${behind.now(row)} behind`;
  return difference > nearNothing ? 'shut: the discs wait' : 'shut';
}

/** A stepped piston moves toward shut as the outlet rises, and then lets through only a share. */
export function drawProportioning(stage, item) {
  const { x, y, w, part } = item;
  const f = part.fields;
  const scale = 12 / f.shut_travel; // px per m; what comes after the shut travel is drawn smaller
  const past = 10 / Math.max(1e-6, f.end_travel - f.shut_travel);
  const group = box(stage, item, {
    scale: `Its piston is drawn to move ${stage.times(scale, inner / f.head_diameter)} as far as it does.`,
  });
  const lip = x + w - 44;
  area(stage, group, item.before, { x, y: y - inner / 2, width: lip - x, height: inner });
  area(stage, group, item.behind, { x: lip, y: y - inner / 2, width: x + w - lip, height: inner });
  group.append(svg('path', { d: `M${lip} ${y - inner / 2}v13m0 20v13`, class: 'seat' }));
  const spring = svg('path', { class: 'spring in-fluid' });
  const piston = svg('path', { d: 'M0 -9h9v18h-9v-5h-40v-8h40Z', class: 'metal' });
  group.append(spring, piston);
  stage.paint((row) => {
    const travel = stage.run.si(part.name, 'piston_travel', row);
    const goes = Math.min(travel, f.shut_travel) * scale + Math.max(0, travel - f.shut_travel) * past;
    shift(piston, lip + 13 - goes, y);
    put(spring, 'stroke', stage.inkOn(item.before, row));
    put(spring, 'd', zigzag(x + 14, lip - 27 - goes, y));
  });
  caption(stage, group, item, inner, (row) => proportioningWords(stage.run, part, row));
}

export function proportioningWords(run, part, row) {
  const difference = run.si(part.name, 'difference', row);
  // While it meters, its head stands a hair's breadth out of the lip.
  if (run.si(part.name, 'piston_travel', row) < 0.98 * part.fields.shut_travel) return 'way open';
  if (difference < -(part.fields.crack ?? 0)) return 'lets fluid back';
  return difference > nearNothing ? 'holds the rear back' : 'about to shut';
}

/** The piston between the circuits: it goes toward the one that is lower. */
export function drawSwitch(stage, item) {
  const { part } = item;
  const ends = [...item.ends].sort((a, b) => a.y - b.y);
  const x = item.x + item.w / 2;
  const high = ends[0].y;
  const low = ends[ends.length - 1].y;
  const middle = (high + low) / 2;
  const scale = 26 / part.fields.end_travel;
  const bore = 24;
  const half = 52;
  const group = stage.piece(part, { x: x - 26, y: middle - half - 12, w: Math.max(176, 70 + textWidth(stage.label(part), 15)), h: 2 * half + 24 }, {
    scale: `Its piston is drawn to move ${stage.times(scale, bore / part.fields.bore)} as far as it does.`,
  });
  group.append(svg('rect', { x: x - bore / 2 - 6, y: middle - half - 6, width: bore + 12, height: 2 * half + 12, rx: 4, class: 'housing' }));
  const piston = svg('path', { d: `M${x - bore / 2} -26h${bore}v12h-9v28h9v12h${-bore}v-12h9v-28h-9Z`, class: 'metal' });
  const parts = ends.map((end, i) => {
    const up = i === 0;
    const edge = middle + (up ? -half : half);
    const pipe = svg('path', { d: `M${x} ${end.y}V${edge}`, class: 'wall', 'stroke-width': 8 });
    const fluid = svg('path', { d: `M${x} ${end.y}V${edge}`, class: 'fluid', 'stroke-width': 5 });
    stage.behind.append(pipe, fluid);
    const chamber = svg('rect', { x: x - bore / 2, width: bore, class: 'fluid-area' });
    group.append(chamber);
    return { end, up, chamber, fluid };
  });
  const contact = svg('circle', { cx: x + bore / 2 + 12, cy: middle, r: 6, class: 'bulb' });
  const pin = svg('path', { d: `M${x + bore / 2 - 8} ${middle}h14`, class: 'rod thin' });
  const label = svg('text', { x: x + 38, y: middle - 2, class: 'label' }, stage.label(part));
  const state = svg('text', { x: x + 38, y: middle + 17, class: 'value' });
  group.append(piston, pin, contact, label, state);
  // A position above zero means that the first circuit is higher: its end pushes the piston away.
  const firstIsUp = ends[0].node === part.ports.first;
  stage.paint((row) => {
    const goes = stage.run.si(part.name, 'position', row) * scale * (firstIsUp ? 1 : -1);
    shift(piston, 0, middle + goes);
    for (const p of parts) {
      const colour = stage.colour(p.end.node, row);
      put(p.fluid, 'stroke', colour);
      put(p.chamber, 'fill', colour);
      const from = p.up ? middle - half : middle + goes + 26;
      const to = p.up ? middle + goes - 26 : middle + half;
      put(p.chamber, 'y', from.toFixed(1));
      put(p.chamber, 'height', Math.max(0, to - from).toFixed(1));
    }
    const closed = stage.run.si(part.name, 'contact', row) > 0.5;
    put(contact, 'class', closed ? 'bulb lit' : 'bulb');
    say(state, closed ? 'contact closed' : 'contact open');
  });
}
