// What brakes a wheel: a caliper with pads and the edge of its disc, a drum with its shoes.
import { svg, put, say } from './dom.js';
import { wheelTextAt } from './layout.js';


/** Which pad of a disc brake touches alone, so that all of the gap is the other one's: what is recorded is the room of both
 * together, the force of the inner one and the torque of both. Null while both stand clear, or both touch. */
export function touchingPad(run, name, row) {
  if (run.si(name, 'clearance', row) <= 1e-7) return null;
  if (run.si(name, 'clamp', row) > 1) return 'inner';
  return Math.abs(run.si(name, 'torque', row)) > 0.05 ? 'outer' : null;
}

const gapOf = { inner: 'outer gap', outer: 'inner gap', null: 'gap in all' };

/** Name, pressure, torque and clearance beside a brake, and a bar for the torque. */
function figures(stage, group, item) {
  const { run } = stage;
  const { part } = item;
  const x = item.x + wheelTextAt;
  const y = item.y - 52;
  const name = svg('text', { x, y: y + 6, class: 'label strong' }, stage.label(part));
  const lines = [27, 46, 65, 84].map((dy) => svg('text', { x, y: y + dy, class: 'value' }));
  const frame = svg('rect', { x, y: y + 94, width: 140, height: 9, class: 'bar-frame' });
  const bar = svg('rect', { x, y: y + 94, width: 0, height: 9, class: 'bar' });
  group.append(name, ...lines, frame, bar);
  const wheel = run.wheels.find((w) => w.parts.includes(part.name));
  const rotor = wheel?.parts.find((p) => run.part(p)?.kind === 'rotor');
  const vehicle = run.parts.find((p) => p.kind === 'vehicle');
  const speed = wheel && vehicle ? run.channel(`${vehicle.name}.${wheel.name}_speed`) : null;
  const carSpeed = vehicle ? run.channel(`${vehicle.name}.speed`) : null;
  const temperature = rotor ? run.channel(`${rotor}.temperature`) : null;
  const pressure = run.pressures.get(item.node);
  const torque = run.channel(`${part.name}.torque`);
  const clearance = run.channel(`${part.name}.clearance`);
  stage.paint((row) => {
    say(lines[0], pressure ? pressure.now(row) : '');
    say(lines[1], torque ? `torque ${torque.now(row)}` : '');
    const gap = clearance ? clearance.si(row) : 0;
    const whose = part.like === 'drum_brake' ? 'gap' : gapOf[touchingPad(run, part.name, row)];
    say(lines[2], gap > 1e-7 ? `${whose} ${clearance.now(row)}` : part.like === 'drum_brake' ? 'shoes press on drum' : 'pads press on disc');
    const locked = speed && carSpeed && Math.abs(carSpeed.si(row)) > 1 && Math.abs(speed.si(row)) < 0.5;
    put(lines[3], 'class', locked ? 'value alarm' : 'value');
    // The room is for one of them; the temperature stands beside the drawing too.
    const warm = temperature ? temperature.now(row).replace(/ (?=[CF]$)/, ' °') : '';
    say(lines[3], locked ? 'WHEEL LOCKED' : part.fields.parking_brake > 0 ? 'parking brake pulled' : warm);
    const share = torque ? Math.abs(torque.si(row)) / stage.scales.torque : 0;
    put(bar, 'width', (140 * Math.min(1, share)).toFixed(1));
  });
}

/** How far apart a gap of that size [m] is drawn, at most 14 px. */
const gapScale = 7e4; // px per m
const drawnGap = (gap) => Math.min(14, Math.max(0, gap) * gapScale);

/** Seen along the disc: housing over its edge, piston on the left, pads on both sides. */
export function drawCaliper(stage, item) {
  const { part, y } = item;
  const x = item.x;
  const fixed = part.fields.mount === 'opposed';
  const group = stage.piece(part, { x: x + 2, y: y - 68, w: item.w - 10, h: 134 }, {
    scale: `Gaps between pads and disc are drawn ${stage.times(gapScale, 40 / part.fields.piston)} as wide as they are, half on each side unless one pad touches, and never wider than fits.`,
  });
  const disc = x + 84;
  const bridge = fixed
    ? `M${x + 6} ${y - 26}h44v10M${x + 118} ${y - 16}v-10M${x + 50} ${y - 38}h68`
    : `M${x + 6} ${y - 26}v52h42v-8h-30v-36h30v-12h70v56h-16v-44h-54v-8Z`;
  group.append(svg('rect', { x: disc - 6, y: y - 54, width: 12, height: 108, rx: 2, class: 'disc' }));
  group.append(svg('path', { d: fixed ? `M${x + 6} ${y - 26}h44v-14h68v54h-10v-42h-48v40h-54Z` : bridge, class: 'housing' }));
  const fluid = svg('rect', { x: x + 18, y: y - 18, width: 20, height: 36, class: 'fluid-area' });
  const piston = svg('rect', { y: y - 18, width: 20, height: 36, class: 'metal' });
  const pads = [0, 1].map(() => svg('rect', { y: y - 22, width: 12, height: 44, class: 'lining' }));
  const backs = [0, 1].map(() => svg('rect', { y: y - 22, width: 4, height: 44, class: 'metal dark' }));
  group.append(fluid, piston, ...pads, ...backs);
  stage.behind.append(svg('path', { d: `M${x} ${y}h20`, class: 'wall', 'stroke-width': 10 }));
  const feed = svg('path', { d: `M${x} ${y}h20`, class: 'fluid', 'stroke-width': 7 });
  stage.behind.append(feed);
  stage.paint((row) => {
    const gap = drawnGap(stage.run.si(part.name, 'clearance', row));
    const alone = touchingPad(stage.run, part.name, row);
    const inner = alone === 'inner' ? 0 : alone === 'outer' ? gap : gap / 2;
    const inside = disc - 6 - inner;
    put(pads[0], 'x', (inside - 12).toFixed(2));
    put(backs[0], 'x', (inside - 16).toFixed(2));
    put(piston, 'x', (inside - 36).toFixed(2));
    put(fluid, 'width', Math.max(2, inside - 36 - x - 18).toFixed(2));
    put(pads[1], 'x', (disc + 6 + gap - inner).toFixed(2));
    put(backs[1], 'x', (disc + 18 + gap - inner).toFixed(2));
    const colour = stage.colour(item.node, row);
    put(fluid, 'fill', colour);
    put(feed, 'stroke', colour);
  });
  figures(stage, group, item);
}

/** Seen along the axle: wheel cylinder on top, shoes that turn about their anchor below. */
export function drawDrum(stage, item) {
  const { part, y } = item;
  const x = item.x + 76;
  const r = 50;
  const group = stage.piece(part, { x: item.x + 2, y: y - 68, w: item.w - 10, h: 134 }, {
    scale: `Gaps between shoes and drum are drawn ${stage.times(gapScale / 7, r / part.fields.drum_radius)} as wide as they are, and never wider than fits.`,
  });
  group.append(svg('circle', { cx: x, cy: y, r: r + 4, class: 'drum' }), svg('circle', { cx: x, cy: y, r, class: 'drum-inside' }));
  const arc = (side, radius) => {
    const from = [x + side * radius * 0.28, y - radius * 0.96];
    const to = [x + side * radius * 0.28, y + radius * 0.96];
    return `M${from[0]} ${from[1]}A${radius} ${radius} 0 0 ${side > 0 ? 1 : 0} ${to[0]} ${to[1]}`;
  };
  const shoes = [-1, 1].map((side) => svg('g', {},
    svg('path', { d: arc(side, r - 4), class: 'lining-line' }),
    svg('path', { d: arc(side, r - 10), class: 'shoe' }),
    svg('path', { d: `M${x + side * 12} ${y - 31}l${side * 8} -3`, class: 'shoe' })));
  const cylinder = svg('rect', { x: x - 18, y: y - 38, width: 36, height: 14, rx: 2, class: 'housing' });
  const fluid = svg('rect', { y: y - 36, height: 10, class: 'fluid-area' });
  const pistons = [0, 1].map(() => svg('rect', { y: y - 36, width: 8, height: 10, class: 'metal' }));
  const back = svg('path', { class: 'spring' });
  group.append(...shoes, cylinder, fluid, ...pistons, back, svg('circle', { cx: x, cy: y + r - 12, r: 4, class: 'metal dark' }));
  const d = `M${item.x} ${y}h12q6 0 6 -6v-19q0 -6 6 -6h34`;
  stage.behind.append(svg('path', { d, class: 'wall', 'stroke-width': 9 }));
  const feed = svg('path', { d, class: 'fluid', 'stroke-width': 6 });
  group.append(svg('path', { d, class: 'wall', 'stroke-width': 9 }), feed);
  stage.paint((row) => {
    const gap = Math.min(9, (Math.max(0, stage.run.si(part.name, 'clearance', row)) * gapScale) / 7);
    // A shoe against the drum has turned out by the whole gap; the arcs are drawn 2 px inside it.
    const angle = ((gap - 1) / (1.9 * r)) * (180 / Math.PI);
    put(shoes[0], 'transform', `rotate(${angle.toFixed(2)} ${x} ${y + r - 12})`);
    put(shoes[1], 'transform', `rotate(${(-angle).toFixed(2)} ${x} ${y + r - 12})`);
    const out = 14 - gap;
    put(pistons[0], 'x', (x - 10 - out / 2 - 4).toFixed(2));
    put(pistons[1], 'x', (x + 10 + out / 2 - 4).toFixed(2));
    put(fluid, 'x', (x - 6 - out / 2).toFixed(2));
    put(fluid, 'width', (12 + out).toFixed(2));
    put(back, 'd', springBetween(x - 34 + gap, x + 34 - gap, y + 6));
    const colour = stage.colour(item.node, row);
    put(fluid, 'fill', colour);
    put(feed, 'stroke', colour);
  });
  figures(stage, group, item);
}

function springBetween(from, to, y) {
  const step = (to - from) / 8;
  let d = `M${from.toFixed(1)} ${y}`;
  for (let i = 0; i < 8; i++) d += `l${(step / 2).toFixed(2)} ${i % 2 ? 4 : -4}l${(step / 2).toFixed(2)} ${i % 2 ? -4 : 4}`;
  return d;
}
