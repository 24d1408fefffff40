// Pipes, hoses, forks, and what stands at a point of them: bleed screws, leaks, bubbles of air.
import { svg, put, shift } from './dom.js';

export const lineWidth = 7;

/** A stretch of line: a dark edge and the fluid in it. `points` as for a path. */
function stretch(stage, parent, points, node, width = lineWidth) {
  parent.append(svg('path', { d: points, class: 'wall', 'stroke-width': width + 3 }));
  const fluid = svg('path', { d: points, class: 'fluid', 'stroke-width': width });
  parent.append(fluid);
  stage.paint((row) => put(fluid, 'stroke', stage.colour(node, row)));
  return fluid;
}

export function drawGap(stage, item) {
  const group = svg('g');
  stretch(stage, group, `M${item.x} ${item.y}h${item.w}`, item.node);
  stage.behind.append(group);
}

export function drawFork(stage, item) {
  const group = svg('g');
  stretch(stage, group, item.ys.map((y) => `M${item.x} ${item.y}h9V${y}h9`).join(''), item.node);
  stage.behind.append(group);
}

/** From an outlet of the cylinder to where its circuit begins. */
export function drawOutlet(stage, path, node, chamber) {
  const group = svg('g', { class: 'outlet', 'data-chamber': chamber });
  stretch(stage, group, path, node);
  stage.behind.append(group);
}

/** Pressures at both ends of a pipe differ while fluid runs: each half has its own colour. */
export function drawLine(stage, item) {
  const { x, y, w } = item;
  const group = stage.piece(item.part, { x, y: y - 12, w, h: 24 });
  stretch(stage, group, `M${x} ${y}h${w / 2}`, item.before);
  stretch(stage, group, `M${x + w / 2} ${y}h${w / 2}`, item.behind);
  arrow(stage, group, item.part, x + w / 2, y);
}

export function drawHose(stage, item) {
  const { x, y, w } = item;
  const group = stage.piece(item.part, { x, y: y - 14, w, h: 28 });
  const wave = (from, n) => {
    let d = `M${from} ${y}`;
    for (let i = 0; i < n; i++) d += `q${w / 8} ${i % 2 ? 9 : -9} ${w / 4} 0`;
    return d;
  };
  stretch(stage, group, wave(x, 2), item.before, 9);
  stretch(stage, group, wave(x + w / 2, 2), item.behind, 9);
  group.append(svg('path', { d: wave(x, 4), class: 'braid', 'stroke-width': 12 }));
  arrow(stage, group, item.part, x + w / 2, y);
}

/** Shows which way fluid runs, by a head whose size follows the flow. */
function arrow(stage, group, part, x, y) {
  const head = svg('path', { d: 'M-6 -7L7 0L-6 7Z', class: 'flow' });
  group.append(head);
  stage.paint((row) => {
    const flow = stage.run.si(part.name, 'flow', row) * 1e6; // cm3/s
    const size = Math.min(1, Math.sqrt(Math.abs(flow) / 10));
    put(head, 'transform', `translate(${x} ${y}) scale(${(flow < 0 ? -size : size).toFixed(2)} ${size.toFixed(2)})`);
    put(head, 'visibility', Math.abs(flow) < 0.05 ? 'hidden' : 'visible');
  });
}

/** A bubble at a node, as large as its air is under the pressure there. */
export function drawBubble(stage, node, x, y) {
  const air = stage.run.airs.get(node);
  if (!air) return;
  const bubble = svg('circle', { cx: x, cy: y, r: 0, class: 'bubble' });
  stage.front.append(bubble);
  stage.paint((row) => {
    const atRest = air.si(row) * 1e6; // cm3 at 1 atm
    const now = (atRest * 101325) / Math.max(5e3, 101325 + stage.run.pressure(node, row));
    put(bubble, 'r', atRest < stage.leastAir ? 0 : Math.min(16, 9 * Math.cbrt(now)).toFixed(1));
  });
}

/** A screw that stands further out while it is open; a jet while something passes it. */
export function drawBleeder(stage, item) {
  const [x, y] = item.of === 'drum_brake' ? [item.x + 29, item.y - 39] : [item.x + 20, item.y - 35];
  const group = stage.piece(item.part, { x: x - 11, y: y - 16, w: 22, h: 28 });
  const screw = svg('path', { d: `M${x - 5} ${y + 8}v-8h-2v-4h14v4h-2v8Z`, class: 'metal screw' });
  const d = `M${x} ${y - 10}q0 -12 14 -10`;
  const fluid = svg('path', { d, class: 'fluid', 'stroke-width': 4 });
  const jet = svg('g', { class: 'jet' }, svg('path', { d, class: 'wall', 'stroke-width': 6.5 }), fluid); // seen on any ground
  group.append(jet, screw);
  stage.paint((row) => {
    shift(screw, 0, item.part.fields.opening > 0 ? -6 : 0); // turned out
    const air = stage.run.drawsAir(item.part, row);
    const flow = stage.run.si(item.part.name, 'flow', row);
    put(jet, 'visibility', air || Math.abs(flow) > 1e-8 ? 'visible' : 'hidden');
    put(fluid, 'stroke', air ? '#ffffff' : stage.colour(item.node, row)); // as a bubble
  });
}

/** A hole from the moment that it is there; it drips while fluid leaves. */
export function drawLeak(stage, item) {
  const [x, y] = item.of ? [item.x - 3, item.y] : [item.x, item.y];
  const over = 20; // px from the pipe to the words: clear of the frame of a hose
  const high = 16 * item.lines.length;
  const group = stage.piece(item.part, { x: item.of ? x + 8 - item.room : x + 2 - item.room / 2, y: y - over - 2 - high, w: item.room - 4, h: over + high + 60 });
  const hole = svg('path', { d: `M${x - 6} ${y + 6}l12 0l-6 -7Z`, class: 'hole' });
  const drops = [0, 1, 2].map(() => svg('path', { d: 'M0 -6q5 8 0 9q-5 -1 0 -9', class: 'drop' }));
  const words = (at, text) => svg('text', { x: item.of ? x + 1 : x, y: at, class: 'small', 'text-anchor': item.of ? 'end' : 'middle' }, text);
  const texts = item.lines.map((line, i) => words(y - over - high + 16 * (i + 1), line));
  const state = words(y + 26, 'draws air');
  group.append(hole, ...drops, ...texts, state);
  stage.paint((row) => {
    const flow = stage.run.si(item.part.name, 'flow', row) * 1e6; // cm3/s
    const open = item.part.fields.hole > 0;
    put(hole, 'visibility', open ? 'visible' : 'hidden');
    for (const text of texts) put(text, 'visibility', open ? 'visible' : 'hidden');
    put(state, 'visibility', stage.run.drawsAir(item.part, row) ? 'visible' : 'hidden');
    drops.forEach((drop, i) => {
      put(drop, 'visibility', flow > 1e-3 ? 'visible' : 'hidden');
      const fallen = stage.calm ? i / 3 : (stage.run.time[row] * 1.5 + i / 3) % 1;
      shift(drop, x, y + 14 + 32 * fallen);
    });
  });
}

/** The point at which a valve feels another circuit. */
export function drawSensing(stage, item) {
  const { x, y, to } = item;
  const up = to.y < y ? 1 : -1;
  const end = to.y + 30 * up;
  stage.behind.append(svg('path', { d: `M${x} ${y}V${end + 18 * up}H${to.x + to.w / 2}V${end}`, class: 'sensing' }));
}

/** The end of a line that leads nowhere. */
export function drawEnd(stage, item) {
  stage.behind.append(svg('path', { d: `M${item.x} ${item.y - 8}v16`, class: 'wall', 'stroke-width': 4 }));
}
