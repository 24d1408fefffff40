// Where everything of a car is drawn, from its hardware: the pedal on the left, the wheels on the
// right. Each wheel brake has a row; what leads to several rows stands half-way between them.

import { textWidth, inLines } from './dom.js';
import { plain } from './data.js';

const rowHeight = 150;
const boreTop = 56; // room over the first row
const boreLeast = boreTop + 1.55 * rowHeight; // so that the reservoirs stand clear of the lamps
const circuitsApart = 200; // of circuits with few wheels: bore and words of the cylinder stand between them

const widths = {
  line: 66,
  hose: 62,
  residual_valve: 112,
  hold_off_valve: 179,
  proportioning_valve: 153,
  pressure_switch: 84,
};
const pointed = ['bleeder', 'leak', 'air_pocket']; // stand at a point and take no room
const forkRoom = 18;
const wheelRoomLeast = 303;
export const wheelTextAt = 136; // px from where a brake begins to the words beside it
const leakRoom = 76; // a stretch of pipe of its own, before a brake
const sensingRoom = 126; // so that a line which feels a pressure leaves clear of the words beside a pressure switch

const isBrake = (part) => part.like === 'disc_caliper' || part.like === 'drum_brake';

const nameless = ['line', 'hose', 'pressure_switch']; // or with their name elsewhere

/** Room of a part along its way; a valve has its name below it. */
function roomOf(part) {
  const least = widths[part.like] ?? 90;
  return nameless.includes(part.like) ? least : Math.max(least, Math.ceil(textWidth(plain(part.name), 15)) + 8);
}

/** The words over a hole in lines, and the stretch of pipe below them that bears nothing else. */
function leakWords(part) {
  const name = plain(part.name);
  const lines = inLines(/\bleak/i.test(name) ? name : `leak: ${name}`, 14, 124);
  return { lines, room: Math.max(leakRoom, Math.ceil(Math.max(...lines.map((line) => textWidth(line, 14)))) + 12) };
}

/** Room that parts take along their way, up to one of a kind: { length, met }. */
function along(run, names, kind) {
  let length = 0;
  let clear = 0; // px of pipe or hose that end here, with nothing over them
  let passed = false;
  for (const name of names) {
    const part = run.part(name);
    if (kind && part?.like === kind) return { length, met: true };
    if (name.includes('.')) {
      length += sensingRoom;
      clear = 0;
    } else if (part?.kind === 'leak') {
      const needs = leakWords(part).room;
      const more = passed ? Math.max(0, needs - clear) : needs;
      length += more;
      clear = passed ? clear + more : 0;
    } else if (part && isBrake(part)) passed = true;
    else if (part && !pointed.includes(part.kind)) {
      length += roomOf(part);
      clear = part.like === 'line' || part.like === 'hose' ? clear + roomOf(part) : 0;
    }
  }
  return { length, met: false };
}

/** Room that a way takes from the left to where its brakes stand. */
function lengthOf(run, way) {
  return along(run, way.parts).length + (way.branches.length ? forkRoom + Math.max(...way.branches.map((b) => lengthOf(run, b))) : 0);
}

function rowsOf(way) {
  return way.branches.length ? way.branches.reduce((sum, b) => sum + rowsOf(b), 0) : 1;
}

/** Room to the first part of a kind, or null if the way has none before its branches. */
function lengthTo(run, way, kind) {
  const { length, met } = along(run, way.parts, kind);
  return met ? length : null;
}

/**
 * Places of all parts of the circuits: { items, right, wheelRoom, height, outlets, boreY }. An item has what it shows
 * (`kind` of item or part), its part, its place x, y, its room w, and the nodes before and behind it.
 */
export function layOut(run, left) {
  const items = [];
  const sensing = [];
  // The secondary circuit leaves the cylinder at its end and so runs above.
  const circuits = [...run.circuits].sort((a, b) => (a.outlet < b.outlet ? 1 : -1));
  const cylinder = run.parts.find((p) => p.like === 'tandem_master');

  const brakes = run.parts.filter(isBrake);
  const wheelRoom = Math.max(wheelRoomLeast, ...brakes.map((part) => wheelTextAt + Math.ceil(textWidth(plain(part.name), 15, 600)) + 16));

  const toSwitch = circuits.map((c) => lengthTo(run, c.run, 'pressure_switch'));
  const switchAt = left + Math.max(0, ...toSwitch.filter((l) => l !== null));
  let brakesAt = 0;
  circuits.forEach((c, i) => {
    const gap = toSwitch[i] === null ? 0 : switchAt - left - toSwitch[i];
    brakesAt = Math.max(brakesAt, left + gap + lengthOf(run, c.run));
  });

  // The bore lies half-way between its circuits: the pipe of the secondary chamber goes up from its end, that of the
  // primary one down, and never back over the cylinder.
  const rows = circuits.map((c) => rowsOf(c.run));
  const all = rows.reduce((sum, n) => sum + n, 0);
  const pushed = Math.max(0, circuitsApart / rowHeight - all / 2); // in rows
  const before = rows.map((n, i) => (i === 0 ? 0 : rows[0] + pushed));
  const middle = rowHeight * (rows[0] / 2 + (all / 2 + pushed) / 2);
  const top = Math.max(boreTop, boreLeast - middle);

  function lay(way, x, row, node, outlet) {
    const rows = rowsOf(way);
    const y = top + rowHeight * (row + rows / 2);
    let slack = way.branches.length ? 0 : brakesAt - x - lengthOf(run, way);
    const first = items.length;
    let of = null; // the brake that has been passed
    for (const name of way.parts) {
      if (name.includes('.')) {
        items.push({ kind: 'gap', x, y, w: sensingRoom, node });
        x += sensingRoom;
        sensing.push({ name: name.split('.')[0], x: x - 6, y, node });
        continue;
      }
      const part = run.part(name);
      if (!part) continue;
      if (isBrake(part)) {
        if (x < brakesAt) items.push({ kind: 'gap', x, y, w: brakesAt - x, node });
        slack = 0;
        x = brakesAt;
        items.push({ kind: part.like, part, x, y, w: wheelRoom, node });
        of = part.like;
      } else if (part.kind === 'leak' && !of) {
        const words = leakWords(part);
        items.push({ kind: 'gap', x, y, w: words.room, node }, { kind: 'leak', part, x: x + words.room / 2, y, node, ...words });
        x += words.room;
      } else if (part.kind === 'leak') {
        items.push({ kind: 'leak', part, x, y, node, of, ...leakWords(part) });
      } else if (pointed.includes(part.kind)) {
        items.push({ kind: part.kind, part, x, y, node, of });
      } else if (part.like === 'pressure_switch') {
        if (x < switchAt) items.push({ kind: 'gap', x, y, w: switchAt - x, node });
        x = switchAt;
        items.push({ kind: 'gap', x, y, w: widths.pressure_switch, node });
        const known = items.find((i) => i.kind === 'pressure_switch' && i.part === part);
        if (known) known.ends.push({ y, node });
        else items.push({ kind: 'pressure_switch', part, x, y, w: widths.pressure_switch, ends: [{ y, node }] });
        x += widths.pressure_switch;
      } else {
        let w = roomOf(part);
        if (slack > 0 && part.like === 'line') {
          w += slack;
          slack = 0;
        }
        const [before, behind] = Object.values(part.ports);
        items.push({ kind: part.like, part, x, y, w, before, behind });
        node = behind;
        x += w;
      }
    }
    if (!way.branches.length) {
      if (!items.slice(first).some((i) => i.part && isBrake(i.part)))
        items.push({ kind: 'end', x, y, node });
      return y;
    }
    let at = row;
    const ys = [];
    for (const branch of way.branches) {
      ys.push(lay(branch, x + forkRoom, at, node, outlet));
      at += rowsOf(branch);
    }
    items.push({ kind: 'fork', x, y, ys, node });
    return y;
  }

  const outlets = {};
  circuits.forEach((c, i) => {
    const node = cylinder?.ports[c.outlet] ?? -1;
    outlets[c.outlet] = { y: lay(c.run, left, before[i], node, c.outlet), node };
  });
  for (const s of sensing) {
    const target = items.find((i) => i.part?.name === s.name);
    if (!target) continue;
    target.sensed = true;
    items.unshift({ kind: 'sensing', ...s, to: target });
  }
  return { items, right: brakesAt, wheelRoom, height: top + rowHeight * (all + pushed), outlets, boreY: top + middle };
}
