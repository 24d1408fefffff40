// What the foot works: pedal and booster; and the lamps that the driver and those behind see.
import { svg, put, say, shift } from './dom.js';
import { plain } from './data.js';

const pin = 104; // px from the pivot down to the push rod
const pad = 168; // px from the pivot down to the pad
export const pedalRoom = 196;

/**
 * The arm turns so that its pin goes as far as the push rod drives the cylinder, by the scale of the
 * cylinder (`stage.bore`, px per m).
 */
export function drawPedal(stage, part, boreY) {
  const x = 78;
  const pivot = boreY - pin;
  const group = stage.piece(part, { x: 6, y: pivot - 20, w: pedalRoom - 22, h: pad + 100 });
  group.append(svg('path', { d: `M${x - 22} ${pivot - 14}h44`, class: 'mount' }));
  const arm = svg('g', {},
    svg('path', { d: `M${x} ${pivot}V${pivot + pad}`, class: 'arm' }),
    svg('rect', { x: x - 16, y: pivot + pad - 18, width: 9, height: 40, rx: 3, class: 'metal dark' }),
    svg('circle', { cx: x, cy: pivot + pin, r: 4, class: 'metal dark' }));
  group.append(arm, svg('circle', { cx: x, cy: pivot, r: 7, class: 'metal' }));
  const push = svg('path', { d: '', class: 'force' });
  const force = svg('text', { x: 12, y: pivot + pad + 46, class: 'value' });
  const travel = svg('text', { x: 12, y: pivot + pad + 66, class: 'value' });
  group.append(push, force, travel);
  const rod = svg('path', { d: '', class: 'rod' });
  group.append(rod);

  const forceChannel = stage.run.channel(`${part.name}.force`);
  const travelChannel = stage.run.channel(`${part.name}.travel`);
  const most = Math.max(1, forceChannel.slope * (forceChannel.peak ?? 0));
  const ratio = part.fields.ratio ?? 4;
  const freePlay = ((part.fields.free_play ?? 0) / ratio) * stage.bore;
  const rodLength = stage.rodTo(0) - freePlay - x;
  stage.paint((row) => {
    const goes = (travelChannel.si(row) / ratio) * stage.bore; // px at the pin
    const angle = -Math.asin(Math.min(0.8, goes / pin));
    put(arm, 'transform', `rotate(${((angle * 180) / Math.PI).toFixed(2)} ${x} ${pivot})`);
    const padX = x - 18 - Math.sin(angle) * pad;
    const padY = pivot + Math.cos(angle) * pad;
    const length = 46 * (forceChannel.si(row) / most);
    put(push, 'd', length < 2 ? '' : `M${(padX - length - 8).toFixed(1)} ${padY.toFixed(1)}h${length.toFixed(1)}m-1 -5l8 5l-8 5Z`);
    // Until the free play is used up the rod ends short of what it pushes.
    const end = Math.min(stage.rodTo(row), x + goes + rodLength);
    put(rod, 'd', `M${(x - Math.sin(angle) * pin).toFixed(1)} ${(pivot + Math.cos(angle) * pin).toFixed(1)}L${end.toFixed(1)} ${boreY}`);
    say(force, `foot ${forceChannel.now(row)}`);
    say(travel, `travel ${travelChannel.now(row)}`);
  });
}

export const boosterRoom = 128;

export function drawBooster(stage, part, x, boreY) {
  const h = 150;
  const group = stage.piece(part, { x: x - 4, y: boreY - h / 2 - 4, w: boosterRoom - 8, h: h + 50 });
  const w = boosterRoom - 16;
  group.append(svg('rect', { x, y: boreY - h / 2, width: w, height: h, rx: 34, class: 'shell' }));
  const plate = svg('path', { d: `M0 ${-h / 2 + 6}V${h / 2 - 6}`, class: 'plate' });
  const rod = svg('path', { d: '', class: 'rod' });
  const rear = svg('text', { x: x + w / 2, y: boreY + h / 2 + 37, class: 'value', 'text-anchor': 'middle' });
  group.append(plate, rod, rear, svg('text', { x: x + w / 2, y: boreY + h / 2 + 17, class: 'label', 'text-anchor': 'middle' }, 'booster'));
  const [input, output] = ['input', 'output'].map((name) => stage.run.channel(`${part.name}.${name}`));
  const pistonBack = stage.rodTo;
  stage.paint((row) => {
    const goes = stage.run.si(part.name, 'travel', row) * stage.bore;
    shift(plate, x + 30 + goes, boreY);
    put(rod, 'd', `M${(x + 30 + goes).toFixed(1)} ${boreY}H${pistonBack(row).toFixed(1)}`);
    say(rear, `helps: ${output.words(Math.max(0, output.at(row) - input.at(row)))}`);
  });
  /** What the pedal's rod pushes: the plunger in the middle of the power piston. */
  stage.rodTo = (row) => x + 26 + stage.run.si(part.name, 'travel', row) * stage.bore;
}

/** What may light the warning lamp: a reason in words for each contact. */
function reasonFor(contact) {
  if (contact.quantity === 'proof_contact') return 'the engine is cranked';
  if (contact.quantity === 'parking_contact') return 'parking brake pulled';
  const tank = contact.quantity.match(/^(primary|secondary)_contact$/);
  return tank ? `${tank[1]} reservoir low` : `${plain(contact.part)} contact closed`;
}

/** Up to that many lines below the lamp say why it is lit, or why it is not. */
const reasonLines = 3;

export function drawLamp(stage, part, x, y) {
  const group = stage.piece(part, { x: x - 22, y: y - 22, w: 204, h: 46 + 18 * reasonLines });
  const contacts = stage.run.channels.filter((c) => /contact$/.test(c.quantity));
  const lines = Array.from({ length: reasonLines }, (_, i) => svg('text', { x: x + 26, y: y + 23 + 18 * i, class: 'small' }));
  const glow = svg('circle', { cx: x, cy: y, r: 20, class: 'glow' });
  const bulb = svg('circle', { cx: x, cy: y, r: 11, class: 'bulb' });
  const text = svg('text', { x: x + 26, y: y + 5, class: 'label' });
  group.append(glow, bulb, svg('path', { d: `M${x} ${y - 6}v7m0 3v2`, class: 'sign' }), text, ...lines);
  stage.paint((row) => {
    const lit = stage.run.si(part.name, 'lit', row) > 0.5;
    put(glow, 'opacity', lit ? 0.5 : 0);
    put(bulb, 'class', lit ? 'bulb lit' : 'bulb');
    say(text, lit ? 'warning lamp: lit' : 'warning lamp: dark');
    const reasons = [...new Set(contacts.filter((c) => c.at(row) > 0.5).map((c) => reasonFor(c)))];
    if (part.fields.ignition === 'off') reasons.unshift('ignition off');
    if (reasons.length > reasonLines) reasons.splice(reasonLines - 1, Infinity, 'and more');
    lines.forEach((line, i) => say(line, reasons[i] ?? ''));
  });
}

/** The stop lamps are told by the pedal. */
export function drawStopLamps(stage, pedal, x, y) {
  const channel = stage.run.channel(`${pedal.name}.stop_lamps`);
  if (!channel) return;
  const lamp = svg('rect', { x: x - 12, y: y - 7, width: 24, height: 14, rx: 3, class: 'bulb' });
  const text = svg('text', { x: x + 20, y: y + 5, class: 'label' });
  stage.front.append(lamp, text);
  stage.paint((row) => {
    const lit = channel.at(row) > 0.5;
    put(lamp, 'class', lit ? 'bulb stop' : 'bulb');
    say(text, lit ? 'stop lamps: lit' : 'stop lamps: dark');
  });
}
