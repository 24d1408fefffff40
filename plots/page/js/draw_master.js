// The tandem master cylinder in section: two pistons in one bore, springs, ports, reservoirs; and the quick take-up kind,
// whose primary piston has a larger rear end.
import { svg, put, say, textWidth } from './dom.js';

const high = 56; // px, the bore
const piston = 38; // px, length of each
const spring = 28; // px, room that a spring keeps at least when it is pressed together
const strokes = 84; // px for both strokes together
const land = 9; // px, length of a piston's collar
const before = 38; // px, room for the rod
const outletBefore = 8; // px from the outlet of the primary chamber to the secondary piston at rest
const tankHeight = 62;

/** A coil spring between two places along the bore. */
function coil(from, to, y, turns = 7) {
  const step = (to - from) / turns;
  let d = `M${from.toFixed(1)} ${y}`;
  for (let i = 0; i < turns; i++)
    d += `L${(from + step * (i + 0.25)).toFixed(1)} ${y - 11}L${(from + step * (i + 0.75)).toFixed(1)} ${y + 11}`;
  return `${d}L${to.toFixed(1)} ${y}`;
}

/** The primary piston [px]. With a large rear end it is so long that this end goes both strokes before its bore ends. */
const pistonLength = (part) => (part?.ports.take_up === undefined ? piston : strokes + 42);

/** What the secondary piston has of both strokes. */
const secondaryShare = ({ fields: f }) => f.secondary_stroke / (f.primary_stroke + f.secondary_stroke);

/** Room that the primary spring keeps: the outlet of its chamber stands before the primary piston when that has gone both
 * strokes, and behind the secondary one at rest. */
const primarySpring = (share) => Math.max(spring, share * strokes + 16);

const beside = 10; // px from the pipe of the primary chamber to the words on both sides of it

/** Room along the bore, in px; the outlets' places are in the answer of drawMaster. */
export function masterRoom(run, part) {
  const share = part ? secondaryShare(part) : 0.5;
  const toEnd = spring + share * strokes; // from the secondary piston
  const channel = part && run.pressures.get(part.ports.secondary);
  const widest = channel ? Math.max(...[channel.peak, channel.lowest].map((v) => textWidth(wordsOf('secondary', channel.words(v)), 15))) : 0;
  const after = Math.max(52, widest + 10 - piston - outletBefore + beside - toEnd); // from the end of the bore to the lines
  return before + pistonLength(part) + primarySpring(share) + (1 - share) * strokes + piston + toEnd + Math.ceil(after);
}

const wordsOf = (name, pressure) => `${name} ${pressure}`;

/**
 * Draws it with its bore at boreY from x on; gives the places of its outlets and of what the push
 * rod meets. Sets stage.bore, the scale of all travel along it [px per m].
 */
export function drawMaster(stage, part, x, boreY) {
  const { run } = stage;
  const f = part.fields;
  const scale = strokes / (f.primary_stroke + f.secondary_stroke);
  stage.bore = scale;
  const top = boreY - high / 2;
  const long = pistonLength(part);
  const stepped = part.ports.take_up !== undefined;
  const group = stage.piece(part, { x: x - 20, y: top - tankHeight - 70, w: masterRoom(run, part) + 18, h: high + tankHeight + (stepped ? 130 : 112) }, {
    scale: `Measured by its bore, travel in it is drawn ${stage.times(scale, high / f.bore)} as large as it is.`,
  });

  // At rest, from the left: rod, primary piston, its chamber, secondary piston, its chamber.
  const home1 = x + before + long; // front of the primary piston
  const caged = primarySpring(secondaryShare(part));
  const home2 = home1 + caged + f.primary_stroke * scale + piston; // of the secondary
  const end = home2 + spring + f.secondary_stroke * scale;

  group.append(svg('rect', { x: x + 8, y: top - 7, width: end - x, height: high + 14, rx: 4, class: 'housing' }));
  const takeUp = stepped ? takeUpChamber(stage, group, part, x, home1, boreY) : null;
  const chamber1 = svg('rect', { y: top, height: high, class: 'fluid-area primary' });
  const chamber2 = svg('rect', { y: top, height: high, class: 'fluid-area secondary' });
  const behind = svg('rect', { y: top + 8, height: high - 16, class: 'reservoir-fluid' });
  group.append(chamber1, chamber2, behind);

  // A stem as long as the pressed spring meets the next piston, or the end of the bore.
  const pistons = ['primary', 'secondary'].map((name, i) => {
    const stem = svg('rect', { x: 0, y: boreY - 5, width: i === 0 ? caged : spring, height: 10, class: 'metal' });
    const body = svg('path', { d: takeUp && i === 0 ? takeUp.piston
      : `M0 ${top}h${-land}v8h-20v-8h${-land}v${high}h${land}v-8h20v8h${land}Z`, class: 'metal' });
    const cup = svg('path', { d: `M0 ${top + 1}q7 5 3 13v${high - 28}q4 8 -3 13Z`, class: 'rubber' });
    return svg('g', { class: `${name} piston` }, stem, body, cup);
  });
  const springs = [0, 1].map(() => svg('path', { class: 'spring in-fluid' }));
  group.append(...pistons, ...springs);

  const tanks = [['primary', home1, f.port_travel], ['secondary', home2, f.secondary_port_travel ?? f.port_travel]]
    .map(([name, front, travel]) => drawTank(stage, group, part, name, front, top, travel, scale, name === 'primary' && stepped ? 3 : 8));

  const x1 = (row) => run.si(part.name, 'primary_travel', row) * scale;
  const x2 = (row) => run.si(part.name, 'secondary_travel', row) * scale;
  stage.paint((row) => {
    const front1 = home1 + x1(row);
    const front2 = home2 + x2(row);
    const back2 = front2 - piston;
    put(pistons[0], 'transform', `translate(${front1.toFixed(2)} 0)`);
    put(pistons[1], 'transform', `translate(${front2.toFixed(2)} 0)`);
    span(chamber1, front1, back2);
    span(chamber2, front2, end);
    span(behind, back2 + land, front2 - land);
    put(chamber1, 'fill', stage.colour(part.ports.primary, row));
    put(chamber2, 'fill', stage.colour(part.ports.secondary, row));
    takeUp?.show(front1, row);
    put(springs[0], 'stroke', stage.inkOn(part.ports.primary, row));
    put(springs[1], 'stroke', stage.inkOn(part.ports.secondary, row));
    put(springs[0], 'd', coil(front1 + 3, back2, boreY));
    put(springs[1], 'd', coil(front2 + 3, end, boreY));
    for (const tank of tanks) tank(row);
  });
  const out1 = home2 - piston - outletBefore;
  // Each pressure on its chamber's side of the pipe that leaves between them.
  const pressures = [['primary', out1 - beside, 30, 'end'], ['secondary', out1 + beside, 30, 'start'], ['take_up', x + 2, 50, 'start']];
  for (const [name, at, below, anchor] of pressures) {
    const channel = run.pressures.get(part.ports[name]);
    if (!channel) continue;
    const text = svg('text', { x: at, y: top + high + below, class: 'value', 'text-anchor': anchor });
    group.append(text);
    stage.paint((row) => say(text, wordsOf(name.replace('_', '-'), channel.now(row))));
  }
  stage.rodTo = (row) => home1 - long + x1(row);

  return {
    primary: { x: out1, y: top + high + 6, down: true, bubble: [out1 - 8, boreY + 14] },
    secondary: { x: end + 6, y: boreY, down: false, bubble: [end - 12, boreY + 14] },
    right: end + 24,
  };
}

/**
 * The chamber round the stepped piston, between its large end and the step of the bore: it grows shorter as the piston
 * goes on. Beyond the step its fluid stands behind the primary cup, round a body that nearly fills the small bore.
 */
function takeUpChamber(stage, group, part, x, home1, boreY) {
  const top = boreY - high / 2;
  const large = (high * part.fields.large_bore) / part.fields.bore / 2; // px, half of the large bore
  const long = pistonLength(part);
  const step = home1 - long + land + strokes + 6;
  group.append(svg('rect', { x: x + 8, y: boreY - large - 7, width: step - x - 1, height: 2 * large + 14, rx: 4, class: 'housing' }),
    svg('rect', { x: step - 1, y: top - 6, width: 10, height: high + 12, fill: 'var(--housing)' }));
  const ring = svg('rect', { y: boreY - large, height: 2 * large, class: 'fluid-area take-up' });
  const behindCup = svg('rect', { y: top, height: high, class: 'fluid-area' });
  group.append(ring, behindCup);
  return {
    piston: `M0 ${top}h${-land}v8h-10v-5H${land - long}V${boreY - large}h${-land}v${2 * large}h${land}V${top + high - 3}H${-land - 10}v-5h10v8h${land}Z`,
    show(front, row) {
      span(ring, front - long + land, step);
      span(behindCup, step, front - land);
      for (const rect of [ring, behindCup]) put(rect, 'fill', stage.colour(part.ports.take_up, row));
    },
  };
}

function span(rect, from, to) {
  put(rect, 'x', from.toFixed(2));
  put(rect, 'width', Math.max(0, to - from).toFixed(2));
}

/** A reservoir with its level and its two holes into the bore: behind the cup, `deep` px into it, and just before it. */
function drawTank(stage, group, part, name, front, top, portTravel, scale, deep) {
  const { run } = stage;
  const width = 84;
  const x = front - 56;
  const y = top - tankHeight - 30;
  const fluid = run.channel(`${part.name}.${name}_reservoir.fluid`);
  const full = Math.max(part.fields.reservoir_volume ?? 0, fluid ? fluid.slope * (fluid.peak ?? 0) : 0) * 1.15 || 1;
  const level = svg('rect', { x: x + 3, width: width - 6, class: 'reservoir-fluid' });
  const hole = front + portTravel * scale + 1.5;
  const text = svg('text', { x: x + width / 2, y: y - 7, class: 'small', 'text-anchor': 'middle' });
  group.append(svg('text', { x: x + width / 2, y: y - 23, class: 'small', 'text-anchor': 'middle' }, name));
  const feed = svg('rect', { x: front - 26, y: y + tankHeight, width: 8, height: top - y - tankHeight + deep, class: 'reservoir-fluid' });
  const port = svg('rect', { x: hole - 1.5, y: y + tankHeight, width: 4, height: top - y - tankHeight, class: 'reservoir-fluid' });
  const mark = svg('circle', { cx: hole + 0.5, cy: top - 3, r: 4.5, class: 'port' });
  group.append(
    svg('path', { d: `M${x} ${y}v${tankHeight}h${width}v${-tankHeight}`, class: 'tank' }),
    level, feed, port, mark, text);
  const other = name === 'primary' ? 'primary_travel' : 'secondary_travel';
  return (row) => {
    const share = fluid ? Math.max(0, fluid.si(row)) / full : 0;
    const h = (tankHeight - 3) * Math.min(1, share);
    put(level, 'y', (y + tankHeight - h).toFixed(1));
    put(level, 'height', h.toFixed(1));
    const shut = run.si(part.name, other, row) >= portTravel;
    put(mark, 'class', shut ? 'port shut' : 'port');
    say(text, shut ? 'port shut' : 'port open');
  };
}
