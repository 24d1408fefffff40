// One run's drawing: the car's hardware in section, from the pedal on the left to the wheels.
import { svg, put, say } from './dom.js';
import { plain } from './data.js';
import { pressureColour } from './colour.js';
import { layOut } from './layout.js';
import { drawPedal, drawBooster, drawLamp, drawStopLamps, pedalRoom, boosterRoom } from './draw_pedal.js';
import { drawMaster, masterRoom } from './draw_master.js';
import { drawResidual, drawHoldOff, drawProportioning, drawSwitch } from './draw_valves.js';
import { drawCaliper, drawDrum } from './draw_wheels.js';
import { drawGap, drawFork, drawOutlet, drawLine, drawHose, drawBubble, drawBleeder, drawLeak, drawSensing, drawEnd } from './draw_lines.js';
import { modeOf } from './words.js';

const drawers = {
  gap: drawGap,
  fork: drawFork,
  line: drawLine,
  hose: drawHose,
  residual_valve: drawResidual,
  hold_off_valve: drawHoldOff,
  proportioning_valve: drawProportioning,
  pressure_switch: drawSwitch,
  disc_caliper: drawCaliper,
  drum_brake: drawDrum,
  bleeder: drawBleeder,
  leak: drawLeak,
  sensing: drawSensing,
  end: drawEnd,
};

export class Stage {
  /**
   * `choose(part name)` is called when a reader turns to a part. `scales`: what all drawings of the page share, the end
   * of the colours `limit` [Pa] and of the bars `torque` [N m].
   */
  constructor(run, scales, choose, calm) {
    this.run = run;
    this.scales = scales;
    this.calm = calm;
    this.choose = choose;
    this.painters = [];
    this.pieces = new Map();
    this.row = -1;
    this.leastAir = 0.1; // cm3 at 1 atm; well-bled fluid holds less at any one point
    this.draw();
  }

  draw() {
    const { run } = this;
    const pedal = run.parts.find((p) => p.kind === 'pedal');
    const booster = run.parts.find((p) => p.kind === 'booster');
    const master = run.parts.find((p) => p.like === 'tandem_master');
    const lamp = run.parts.find((p) => p.kind === 'warning_lamp');
    const vehicle = run.parts.find((p) => p.kind === 'vehicle');

    const masterAt = pedalRoom + (booster ? boosterRoom : 20);
    const left = masterAt + masterRoom(run, master);
    const plan = layOut(run, left);
    const width = plan.right + plan.wheelRoom;
    const height = Math.max(plan.height, 560) + 8;
    this.grounds = svg('g'); // below the lines, whose colours mean pressures
    this.behind = svg('g');
    this.middle = svg('g');
    this.front = svg('g');
    this.svg = svg('svg', { viewBox: `0 0 ${width} ${height}`, class: 'circuit', role: 'group',
      'aria-label': `The brakes of ${run.car || 'the car'}, drawn from the hardware; arrows up and down go from part to part` }, this.grounds, this.behind, this.middle, this.front);

    const { boreY } = plan;
    if (master) {
      const out = drawMaster(this, master, masterAt, boreY);
      for (const [name, to] of Object.entries(plan.outlets)) {
        const from = out[name];
        if (!from) continue;
        const d = from.down ? `M${from.x} ${from.y}V${to.y}H${left}` : `M${from.x} ${from.y}H${out.right - 8}V${to.y}H${left}`;
        drawOutlet(this, d, to.node, name);
        drawBubble(this, to.node, ...from.bubble);
      }
    }
    if (booster) drawBooster(this, booster, pedalRoom - 8, boreY);
    if (pedal) drawPedal(this, pedal, boreY);
    for (const item of plan.items) {
      if (drawers[item.kind]) drawers[item.kind](this, item);
      else if (item.w) this.drawUnknown(item);
      if (item.behind !== undefined) drawBubble(this, item.behind, item.x + item.w - 12, item.y);
    }
    let x = 30;
    if (lamp) {
      drawLamp(this, lamp, x, 26);
      x += 206;
    }
    if (pedal) {
      drawStopLamps(this, pedal, x, 26);
      x += 170;
    }
    if (vehicle) this.drawSpeed(vehicle, x, 31);
  }

  /** A part that has no drawing of its own: a box with its name. */
  drawUnknown(item) {
    const group = this.piece(item.part, { x: item.x, y: item.y - 16, w: item.w, h: 32 });
    group.append(svg('rect', { x: item.x, y: item.y - 14, width: item.w, height: 28, class: 'housing' }),
      svg('text', { x: item.x + item.w / 2, y: item.y + 5, class: 'small', 'text-anchor': 'middle' }, this.label(item.part)));
  }

  drawSpeed(vehicle, x, y) {
    const speed = this.run.channel(`${vehicle.name}.speed`);
    if (!speed || !speed.values) return;
    const text = svg('text', { x, y, class: 'label' });
    this.front.append(text);
    this.paint((row) => say(text, `the car goes ${speed.now(row)}`));
  }

  label(part) {
    return plain(part.name);
  }

  /** "1.6 times": how much larger a movement is drawn than what it belongs to, both in px per m. */
  times(movement, body) {
    const factor = movement / body;
    return `${factor < 10 ? factor.toFixed(1) : Math.round(factor)} times`;
  }

  /** A group that a reader can turn to, with a frame that shows that it is chosen. */
  piece(part, frame, options = {}) {
    const group = svg('g', { class: 'piece', tabindex: this.pieces.size ? '-1' : '0', role: 'img', 'data-part': part.name,
      'aria-label': `${plain(part.name)}, ${plain(part.kind)}` });
    const box = { x: frame.x, y: frame.y, width: frame.w, height: frame.h, rx: 6 };
    group.append(svg('rect', { ...box, class: 'frame' }));
    const ground = svg('rect', { ...box, class: 'ground' });
    this.grounds.append(ground);
    const choose = () => this.choose(part.name);
    group.addEventListener('focus', choose);
    group.addEventListener('click', choose);
    group.addEventListener('keydown', (event) => this.walk(event, part.name));
    // A page that scrolls under a pointer at rest is no turning to a part.
    group.addEventListener('pointermove', (event) => {
      if (event.movementX || event.movementY) choose();
    });
    this.middle.append(group);
    this.pieces.set(part.name, { group, ground, part, scale: options.scale ?? '' });
    return group;
  }

  /** The drawing is one stop of the Tab key; arrows up and down go on from the part in focus. */
  walk(event, name) {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!step || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    const names = [...this.pieces.keys()];
    const next = names[(names.indexOf(name) + step + names.length) % names.length];
    this.pieces.get(next).group.focus();
  }

  paint(painter) {
    this.painters.push(painter);
  }

  /** On a small screen, moves the drawing along until a part is in sight. */
  reveal(name) {
    const piece = this.pieces.get(name)?.group.getBoundingClientRect();
    const frame = this.svg.parentElement;
    const box = frame.getBoundingClientRect();
    if (piece && (piece.left < box.left || piece.right > box.right))
      frame.scrollLeft += piece.left + piece.width / 2 - box.left - box.width / 2;
  }

  /** A line that can be seen on the fluid of a node. */
  inkOn(node, row) {
    return this.run.pressure(node, row) > 0.45 * this.scales.limit ? '#1d1f21' : '#f2f2f2';
  }

  colour(node, row) {
    return pressureColour(this.run.pressure(node, row) / this.scales.limit);
  }

  /** Marks the chosen part, and those in `differing`. */
  mark(name, differing) {
    const here = this.pieces.has(name);
    for (const [other, { group, ground }] of this.pieces) {
      if (here) put(group, 'tabindex', other === name ? 0 : -1);
      put(group, 'class', `piece${other === name ? ' chosen' : ''}${differing.has(other) ? ' differs' : ''}`);
      put(ground, 'class', differing.has(other) ? 'ground differs' : 'ground');
      put(group, 'aria-current', other === name);
    }
  }

  /** Draws the state of a row. */
  show(row, again = false) {
    if (row === this.row && !again) return;
    this.row = row;
    this.run.turnTo(row);
    for (const painter of this.painters) painter(row);
  }

  words(name, row) {
    return modeOf(this.run, this.run.part(name), row);
  }
}

/** The scales that the drawings of some runs share: to the largest pressure and torque of any of them. */
export function scalesOf(runs) {
  const torques = runs.flatMap((run) => run.channels.filter((c) => c.quantity === 'torque'))
    .map((c) => Math.max(Math.abs(c.peak ?? 0), Math.abs(c.lowest ?? 0)) * c.slope);
  return { limit: Math.max(...runs.map((run) => run.largestPressure)), torque: Math.max(1, ...torques) };
}
