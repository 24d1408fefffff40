// What somebody does with a page, beyond looking: both drawings on one screen, a small screen, the Tab key, small
// pressures, events that come again and again.
import { check, chosenInSight, examineAir } from './checks.mjs';

/** Two drawings and the time on one screen; where they stand beside each other, the beginning of the plots too. */
export async function oneScreen(page, width) {
  const letters = () => page.evaluate(() => Math.min(...[...document.querySelectorAll('.circuit')].flatMap((circuit) =>
    [...circuit.querySelectorAll('text')].map((text) => parseFloat(getComputedStyle(text).fontSize) * circuit.getScreenCTM().a))));
  check('the letters of two drawings can be read from the first', (await letters()) >= 9, await letters());
  const size = page.getByLabel('Drawings:');
  if (width >= 1920) check('beside each other where there is room', (await size.inputValue()) === '');
  await size.selectOption('');
  await page.locator('#stages').evaluate((stages) => stages.scrollIntoView());
  const found = await page.evaluate(() => {
    const box = (element) => element.getBoundingClientRect();
    const { top, bottom } = box(document.getElementById('time'));
    return { drawings: [...document.querySelectorAll('.circuit')].map((c) => ({ top: box(c).top, bottom: box(c).bottom, width: box(c).width })),
      top, bottom, plot: box(document.querySelector('#plots canvas')).top, height: innerHeight };
  });
  if (width >= 1024) {
    check('both drawings and the time stand on one screen', found.drawings.every((d) => d.top >= 0 && d.bottom <= found.top) &&
      found.bottom <= found.height, JSON.stringify(found));
    await size.selectOption('large');
    const large = await page.evaluate(() => [...document.querySelectorAll('.circuit')].map((c) => c.getBoundingClientRect().height));
    check('large makes them larger', large.every((h, i) => h > 1.2 * (found.drawings[i].bottom - found.drawings[i].top)), large.join(', '));
    await size.selectOption('');
  }
  if (width >= 1440) check('and the beginning of the plots', found.plot + 100 <= found.height, found.plot);
}

/** A drawing that is wider than its room says so, goes to its wheels, and to a part that is chosen. */
export async function goSideways(page) {
  const parts = await page.evaluate(() => {
    const { pieces, run } = window.pedalbench.stages[0];
    return { wheels: [...pieces.keys()].filter((name) => /caliper|drum/.test(run.part(name).like)), wide: document.querySelector('.scroll').scrollWidth > document.querySelector('.scroll').clientWidth + 1 };
  });
  const line = page.locator('.sideways').first();
  const says = await line.isVisible();
  check('a drawing that is wider than its room says so, and no other', says === parts.wide);
  if (!says || !parts.wide) return;
  // Of both drawings: the buttons of one that stands elsewhere have the other name.
  await page.locator('.scroll').evaluateAll((frames) => frames.forEach((frame) => {
    frame.scrollLeft = 0;
  }));
  const shown = () => page.evaluate((name) => {
    const box = document.querySelector(`.piece[data-part="${name}"]`).getBoundingClientRect();
    const frame = document.querySelector('.scroll').getBoundingClientRect();
    return box.left >= frame.left - 1 && box.right <= frame.right + 1;
  }, parts.wheels.at(-1));
  check('the wheels are out of sight', !(await shown()));
  await page.getByRole('button', { name: 'Go to the wheels' }).first().click();
  check('and are shown when asked for', await shown());
  await page.getByRole('button', { name: 'Go to the pedal' }).first().click();
  check('and so is the pedal', !(await shown()));
  await page.locator('#part select').selectOption(parts.wheels.at(-1));
  check('a chosen part moves into sight', await shown());
  await page.evaluate(() => document.activeElement.blur());
}

/** The drawing is one stop of the Tab key, and arrows go through its parts. */
export async function walkThroughParts(page) {
  const count = await page.locator('.circuit .piece').count();
  // Beside it stands a button where a drawing is wider than its room.
  const stops = await page.locator('.stage').evaluateAll((all) => all.map((stage) =>
    [...stage.querySelectorAll('[tabindex="0"], button, a[href]')]
      .filter((e) => e.checkVisibility() && !e.closest('.sideways')).length));
  check('each drawing is one stop of the Tab key', stops.every((n) => n === 1), stops.join(', '));
  await page.locator('.circuit .piece[tabindex="0"]').first().focus();
  const seen = new Set();
  for (let i = 0; i < count; i++) {
    await page.keyboard.press('ArrowDown');
    seen.add(await page.evaluate(() => document.activeElement.dataset.part));
  }
  check('arrow down goes through all parts', seen.size === count, seen.size);
  await page.keyboard.press('ArrowUp');
  const [focus, told] = [await page.evaluate(() => document.activeElement.dataset.part), await page.locator('#part select').inputValue()];
  check('the part in focus is told of', focus === told, `${focus}, ${told}`);
  await page.keyboard.press('Tab');
  check('Tab leaves the drawing', await page.evaluate(() => !document.activeElement.closest('.circuit')));
}

/** Whose gap is told beside a disc: of one pad while the other one presses. */
export async function examineGaps(page) {
  const found = await page.evaluate(() => {
    const { player, runs: [run], stages: [stage] } = window.pedalbench;
    const seen = {};
    const wrong = [];
    for (const part of run.parts.filter((p) => p.like === 'disc_caliper'))
      for (let row = 0; row < run.time.length; row += 7) {
        const gap = run.si(part.name, 'clearance', row) > 1e-7;
        const inner = run.si(part.name, 'clamp', row) > 1;
        const torque = Math.abs(run.si(part.name, 'torque', row)) > 0.05;
        const words = !gap ? 'pads press on disc' : inner ? 'outer gap' : torque ? 'inner gap' : 'gap in all';
        if ((seen[words] ?? 0) >= 5) continue;
        seen[words] = (seen[words] ?? 0) + 1;
        player.seek(run.time[row]);
        const texts = [...stage.pieces.get(part.name).group.querySelectorAll('text')].map((t) => t.textContent);
        if (!texts.some((text) => text.startsWith(words))) wrong.push(`${part.name} at ${run.time[row]}: ${texts.join(', ')}`);
      }
    player.seek(0);
    return { seen, wrong };
  });
  check('the gap of a disc brake is that of the pad which has it', found.wrong.length === 0, found.wrong.slice(0, 2).join('; '));
  // Pads that drag are never clear of the disc on both sides; those without pressure never touch it.
  const clear = found.seen['gap in all'] > 0;
  if (found.seen['pads press on disc']) check('one pad touches before the other', clear ? found.seen['outer gap'] > 0 : found.seen['inner gap'] > 0, JSON.stringify(found.seen));
}

/** Stop lamps are lit or dark, in words. */
export async function examineLamps(page) {
  await page.locator('#part select').selectOption('pedal');
  for (const [value, words] of [[1, 'lit'], [0, 'dark']]) {
    const shown = await page.evaluate((wanted) => {
      const { player, runs: [run] } = window.pedalbench;
      const channel = run.channel('pedal.stop_lamps');
      const row = [...run.time.keys()].find((r) => channel.at(r) === wanted);
      if (row === undefined) return null;
      player.seek(run.time[row]);
      return [...document.querySelectorAll('#part tbody tr')].find((tr) => tr.cells[0].textContent === 'stop lamps').cells[1].textContent;
    }, value);
    check(`stop lamps are told as ${words}`, shown === words || shown === null, shown);
  }
}

/** How many events from one on are the same, or two in turn, three times or more: [how many, 1 or 2]; [1, 1] if they are not. */
export function comesAgain(events, from) {
  const named = events.slice(from).map((e) => `${e.part}: ${e.text}`);
  for (const period of [1, 2]) {
    const end = named.findIndex((name, i) => name !== named[i % period]);
    const n = end < 0 ? named.length : end;
    if (n >= 3 * period) return [n - (n % period), period];
  }
  return [1, 1];
}

/** What comes again and again with nothing between is one line that opens; every event keeps its own line inside. */
export async function groupedEvents(page) {
  const lists = await page.evaluate(() => window.pedalbench.runs.map((run) => run.events.map((e) => ({ part: e.part, text: e.text, time: e.time, moment: run.time[e.row] }))));
  // But for its being taken out.
  const absent = await page.evaluate(() => window.pedalbench.runs.flatMap((run) => run.events.filter((e) => e.time === 0 && run.part(e.part)?.fields.fitted === 'no' && !e.text.startsWith('fitted')).map((e) => e.text)));
  check('nothing is told of a valve that is not fitted', absent.length === 0, absent.join(', '));
  for (const [r, events] of lists.entries()) {
    const list = page.locator('#happened > .events').nth(r);
    await list.evaluate((l) => l.querySelectorAll('details').forEach((d) => {
      d.open = false;
    }));
    check('every event has a line', (await list.locator('button').count()) === events.length);
    let groups = 0;
    for (let i = 0; i < events.length;) {
      const [n, period] = comesAgain(events, i);
      if (n > 1) {
        const item = list.locator('> li', { has: page.locator('details') }).nth(groups);
        groups += 1;
        if ((await item.count()) === 0) {
          check(`${events[i].part}: ${events[i].text}, ${n} times, is one line`, false);
          break;
        }
        const words = await item.locator('.times').textContent();
        check('a line says how often and until when', words.endsWith(` ${n / period} times${period === 2 ? ' each' : ''} until ${events[i + n - 1].time.toFixed(3)} s`), words);
        if (period === 2) {
          const other = ['part', 'text'].filter((k) => events[i][k] !== events[i + 1][k]).map((k) => events[i + 1][k].replaceAll('_', ' '));
          check('and what comes in turn', words.startsWith(` and ${other.join(': ')}, in turn, `), words);
        }
        const lines = item.locator('details button');
        check('the others stand inside, shut', (await lines.count()) === n - 1 && !(await lines.first().isVisible()));
        await page.evaluate((t) => window.pedalbench.player.seek(t), events[i + n - 1].time + 1e-6);
        check('shut, the line is marked', (await item.locator('> button').getAttribute('aria-current')) === 'true');
        await item.locator('summary').click();
        await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => setTimeout(done)))); // details tell later
        check('opened, the one that has come is marked', (await lines.last().getAttribute('aria-current')) === 'true');
        await lines.first().click();
        check('and each goes to its moment', Math.abs((await page.evaluate(() => window.pedalbench.player.t)) - events[i + 1].moment) < 1e-9);
        await item.locator('summary').click();
      }
      i += n;
    }
    check('no other line opens', (await list.locator('details').count()) === groups);
  }
}

/** A step about small pressures takes a scale on which they can be told apart, and says where the scale ends. */
export async function lowColours(page) {
  const limit = page.locator('.legend select.limit');
  const all = await limit.inputValue();
  const colours = () => page.evaluate(() => window.pedalbench.stages.map((stage) => {
    const name = window.pedalbench.runs[0].lesson[2].part;
    return stage.pieces.get(name).group.querySelector('.fluid-area').getAttribute('fill').match(/\d+/g).map(Number);
  }));
  const apart = ([a, b]) => Math.max(...a.map((v, i) => Math.abs(v - b[i])));
  const steps = await page.evaluate(() => window.pedalbench.runs[0].lesson.map((s) => s.time));
  if (steps.length < 3) return;
  await page.evaluate((t) => window.pedalbench.player.seek(t), steps[2]);
  check('on the scale of the whole run a small pressure looks like none', apart(await colours()) < 30, JSON.stringify(await colours()));
  const hint = page.locator('.fits');
  check('and the page says so', await hint.isVisible());
  await page.getByRole('button', { name: 'Let them fit' }).click();
  check('the button lets them be told apart', apart(await colours()) > 60, JSON.stringify(await colours()));
  check('then nothing needs to be said', !(await hint.isVisible()));
  await limit.selectOption(all);
  for (let i = 0; i < 2; i++) await page.getByRole('button', { name: 'Next step' }).click();
  check('a step about small pressures does so by itself', apart(await colours()) > 60 && (await limit.inputValue()) !== all, JSON.stringify(await colours()));
  const note = page.getByText('Colours end at 3 bar in this step.');
  check('and the page says that it has', await note.isVisible());
  check('the scale says where it ends', (await page.locator('.scale text').last().textContent()) === '3 bar');
  await page.evaluate((t) => window.pedalbench.player.seek(t), steps[0]);
  check('above its end the page says so', (await hint.textContent()).startsWith('Above 3 bar'));
  for (let i = 0; i < 2; i++) await page.getByRole('button', { name: 'Step back' }).click();
  check('a step about large ones goes back', (await limit.inputValue()) === all);
  check('and no end is told of', (await note.count()) === 0);
}

/** From anywhere on the page, the next event brings a drawing with its part into view. */
export async function nextEventInView(page) {
  for (const from of ['top', 'bottom', 'top']) {
    await page.evaluate((end) => scrollTo(0, end === 'top' ? 0 : document.body.scrollHeight), from);
    await page.keyboard.press('n');
    check(`from the ${from} of the page the next event is brought into view`, await chosenInSight(page));
  }
}

/** The cylinder: its pistons touch when they have met, a take-up chamber shrinks as the piston goes on, and each pressure
 * stands with its name at its own chamber. */
export async function examineCylinder(page) {
  const found = await page.evaluate(() => {
    const { player, runs: [run], stages: [stage] } = window.pedalbench;
    const part = run.parts.find((p) => p.like === 'tandem_master');
    const { group } = stage.pieces.get(part.name);
    const shape = (selector) => group.querySelector(selector);
    const at = (row) => player.seek(run.time[row]);
    const edges = (piston) => {
      const { x, width } = piston.getBBox();
      const moved = piston.transform.baseVal[0].matrix.e;
      return { left: x + moved, right: x + width + moved };
    };
    const travel = (row) => run.si(part.name, 'primary_travel', row);
    const wrong = [];
    const step = Math.max(1, Math.floor(run.time.length / 300));
    const ring = shape('.take-up');
    at(0);
    const atRest = ring && { width: ring.getBBox().width, end: ring.getBBox().x + ring.getBBox().width, travel: travel(0) };
    for (let row = 0; row < run.time.length; row += step) {
      at(row);
      const left = part.fields.primary_stroke - travel(row) + run.si(part.name, 'secondary_travel', row);
      const gap = edges(shape('.secondary.piston')).left - edges(shape('.primary.piston')).right;
      if (Math.abs(gap - left * stage.bore) > 1) wrong.push(`at ${run.time[row]} the pistons are ${gap} px apart, ${left} m`);
      if (!ring) continue;
      const { x, width } = ring.getBBox();
      if (Math.abs(atRest.width - width - (travel(row) - atRest.travel) * stage.bore) > 0.5 || Math.abs(x + width - atRest.end) > 0.5)
        wrong.push(`at ${run.time[row]} the take-up chamber is ${width} px long, ${travel(row)} m after ${atRest.width} px`);
    }
    at(0);
    const texts = [...group.querySelectorAll('text')];
    const box = (element) => element.getBoundingClientRect();
    const shared = (a, b) => Math.max(0, Math.min(a.right, b.right) - Math.max(a.left, b.left));
    for (const [name, other] of [['primary', 'secondary'], ['secondary', 'primary']]) {
      const text = texts.find((t) => t.textContent === `${name} ${run.pressures.get(part.ports[name]).now(0)}`);
      if (!text) wrong.push(`the ${name} pressure has no name: ${texts.map((t) => t.textContent).join(', ')}`);
      else if (shared(box(text), box(shape(`.fluid-area.${name}`))) < 10 + shared(box(text), box(shape(`.fluid-area.${other}`))))
        wrong.push(`the ${name} pressure does not stand at its chamber`);
    }
    return { wrong, stepped: part.ports.take_up !== undefined, ring: ring !== null };
  });
  check('the cylinder is drawn as it is', found.wrong.length === 0, found.wrong.slice(0, 2).join('; '));
  check('a take-up cylinder has its chamber', found.stepped === found.ring);
}

/** The pipe of each chamber starts at that chamber, wherever the pistons are, has its colour, and does not come back over the
 * cylinder. */
export async function examineOutlets(page) {
  const found = await page.evaluate(() => {
    const { player, runs: [run], stages: [stage] } = window.pedalbench;
    const { group } = stage.pieces.get(run.parts.find((p) => p.like === 'tandem_master').name);
    const housings = [...group.querySelectorAll('.housing')].map((e) => e.getBBox());
    const pipes = [...stage.svg.querySelectorAll('.outlet')].map((outlet) => ({ chamber: outlet.dataset.chamber, fluid: outlet.querySelector('.fluid') }));
    const wrong = new Set();
    for (const { chamber, fluid } of pipes) {
      const half = parseFloat(fluid.getAttribute('stroke-width')) / 2;
      for (let i = 10; i <= fluid.getTotalLength(); i += 1) {
        const { x, y } = fluid.getPointAtLength(i);
        if (housings.some((box) => x + half > box.x && x - half < box.x + box.width && y + half > box.y && y - half < box.y + box.height))
          wrong.add(`the pipe of the ${chamber} chamber goes over the cylinder`);
      }
      const { x, y } = fluid.getPointAtLength(0);
      for (let row = 0; row < run.time.length; row += Math.max(1, Math.floor(run.time.length / 300))) {
        player.seek(run.time[row]);
        const area = group.querySelector(`.fluid-area.${chamber}`);
        const box = area.getBBox();
        // The wall is 7 px thick.
        if (x < box.x - 1 || x > box.x + box.width + 8 || y < box.y || y > box.y + box.height + 8)
          wrong.add(`the pipe of the ${chamber} chamber starts elsewhere at ${run.time[row]}`);
        if (area.getAttribute('fill') !== fluid.getAttribute('stroke')) wrong.add(`the pipe of the ${chamber} chamber has another colour`);
      }
    }
    player.seek(0);
    return { count: pipes.length, wrong: [...wrong] };
  });
  check('each chamber has its pipe', found.count === 2, found.count);
  check('each pipe starts at its own chamber', found.wrong.length === 0, found.wrong.slice(0, 3).join('; '));
}

/** The hold-off valve lets the discs wait only while they have no pressure. */
export async function examineHoldOff(page) {
  const found = await page.evaluate(() => {
    const { player, runs: [run], stages: [stage] } = window.pedalbench;
    const part = run.parts.find((p) => p.kind === 'hold_off_valve');
    if (!part) return null;
    const wrong = [];
    for (let row = 0; row < run.time.length; row += Math.max(1, Math.floor(run.time.length / 400))) {
      player.seek(run.time[row]);
      const words = stage.words(part.name, row);
      if (!words.includes('shut') || words.includes('stuck')) continue;
      const behind = run.pressure(part.ports.outlet, row);
      const back = run.si(part.name, 'difference', row);
      const wanted = back > 2e4 ? (behind > 2e4 ? 'holds back' : 'wait') : behind > 2e4 ? 'behind' : 'shut.';
      if (!words.includes(wanted)) wrong.push(`${words} at ${run.time[row]} with ${behind} Pa behind and ${back} Pa more before it`);
      const drawn = stage.pieces.get(part.name).group.textContent;
      if (/wait/.test(drawn) !== (wanted === 'wait')) wrong.push(`${drawn} at ${run.time[row]}`);
    }
    return { wrong };
  });
  if (found) check('the hold-off valve says what it does', found.wrong.length === 0, found.wrong.slice(0, 2).join('; '));
}

/** A hole and its name stay from its moment on, where nothing covers them; only its drops come and go, and that it draws air. */
export async function examineLeak(page) {
  const found = await page.evaluate(() => {
    const { player, runs: [run], stages: [stage] } = window.pedalbench;
    const wrong = [];
    for (const part of run.parts.filter((p) => p.kind === 'leak')) {
      const { group } = stage.pieces.get(part.name);
      const hole = group.querySelector('.hole');
      const [state, ...texts] = [...group.querySelectorAll('text')].reverse();
      const name = part.name.replaceAll('_', ' ');
      const told = texts.reverse().map((t) => t.textContent).join(' ');
      const wanted = /\bleak/.test(name) ? name : `leak: ${name}`;
      // A very long one is cut.
      if (told !== wanted && !(told.endsWith('…') && told.length > 20 && wanted.startsWith(told.slice(0, -1)))) wrong.push(`${name} is called "${told}"`);
      for (let row = 0; row < run.time.length; row += Math.max(1, Math.floor(run.time.length / 200))) {
        player.seek(run.time[row]);
        const open = part.fields.hole > 0;
        const seen = [hole, ...texts].map((e) => e.getAttribute('visibility') !== 'hidden');
        const drops = [...group.querySelectorAll('.drop')].some((e) => e.getAttribute('visibility') !== 'hidden');
        if (seen.some((s) => s !== open)) wrong.push(`the hole at ${run.time[row]}: ${open ? 'hidden' : 'seen'}`);
        if (drops !== run.si(part.name, 'flow', row) > 1e-9) wrong.push(`its drops at ${run.time[row]}`);
        if ((state.getAttribute('visibility') !== 'hidden') !== run.drawsAir(part, row)) wrong.push(`what it draws at ${run.time[row]}`);
      }
      const others = [...stage.svg.querySelectorAll('text, .housing, .fluid-area, .rod')].filter((e) => !group.contains(e));
      for (let i = 0; i <= 20; i++) {
        player.seek((player.end * i) / 20);
        const boxes = others.map((other) => ({ other, b: other.getBoundingClientRect(), half: other.matches('.rod') ? 2 : 0 })) // half of its line
          .filter(({ b, half }) => (b.width && b.height) || half);
        for (const mine of [hole, ...texts, state]) {
          const a = mine.getBoundingClientRect();
          for (const { other, b, half } of boxes)
            if (Math.min(a.right, b.right + half) > Math.max(a.left, b.left - half) && Math.min(a.bottom, b.bottom + half) > Math.max(a.top, b.top - half))
              wrong.push(`${mine.textContent || 'the hole'} lies on ${other.textContent || other.getAttribute('class')} at ${player.t}`);
        }
      }
    }
    return wrong;
  });
  check('a leak and its name can be seen', found.length === 0, found.slice(0, 2).join('; '));
}

/** A bleed screw stands out while it is open, whether something passes it or not, and is told to be open. */
export async function examineScrews(page) {
  const found = await page.evaluate(() => {
    const { player, runs: [run], stages: [stage] } = window.pedalbench;
    const wrong = [];
    for (const part of run.parts.filter((p) => p.kind === 'bleeder')) {
      const { group } = stage.pieces.get(part.name);
      const [screw, jet] = ['.screw', '.jet'].map((which) => group.querySelector(which));
      player.seek(0);
      const shut = part.fields.opening > 0 ? null : screw.getBoundingClientRect().top;
      for (let row = 0; row < run.time.length; row += Math.max(1, Math.floor(run.time.length / 150))) {
        player.seek(run.time[row]);
        const open = part.fields.opening > 0;
        const words = stage.words(part.name, row);
        const out = shut !== null && shut - screw.getBoundingClientRect().top > 2;
        if (shut !== null && out !== open) wrong.push(`${part.name} at ${run.time[row]}, ${open ? 'open' : 'shut'}`);
        if (open === words.includes('shut')) wrong.push(`${part.name} at ${run.time[row]}: ${words}`);
        if ((jet.getAttribute('visibility') !== 'hidden') !== (Math.abs(run.si(part.name, 'flow', row)) > 1e-8 || run.drawsAir(part, row))) wrong.push(`its jet at ${run.time[row]}`);
      }
    }
    player.seek(0);
    return wrong;
  });
  // Its edge against the paper, whatever colour its pressure has (WCAG 2.2, 1.4.11).
  for (const colorScheme of ['dark', 'light']) {
    await page.emulateMedia({ colorScheme });
    const least = await page.evaluate(() => {
      const light = (colour) => colour.match(/[\d.]+/g).slice(0, 3).map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
        .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
      return Math.min(...[...document.querySelectorAll('.jet')].map((jet) => {
        const edge = light(getComputedStyle(jet.querySelector('path') ?? jet).stroke);
        const paper = light(getComputedStyle(jet.closest('.stage')).backgroundColor);
        return (Math.max(edge, paper) + 0.05) / (Math.min(edge, paper) + 0.05);
      }));
    });
    if (least < 3) found.push(`the edge of a jet has ${least.toFixed(1)} : 1 on a ${colorScheme} page`);
  }
  check('a bleed screw that is open can be seen', found.length === 0, found.slice(0, 3).join('; '));
}

/** No frame of a part and no dashed line goes through words. */
export async function nothingThroughWords(page) {
  const found = await page.evaluate(() => {
    const { player, stages: [stage] } = window.pedalbench;
    const wrong = new Set();
    for (const share of [0, 0.25, 0.5, 0.75, 1]) {
      player.seek(player.end * share);
      const texts = [...stage.svg.querySelectorAll('text')].filter((t) => t.textContent && t.getAttribute('visibility') !== 'hidden')
        .map((t) => ({ words: t.textContent, piece: t.closest('.piece'), box: t.getBBox() }));
      for (const [name, { group }] of stage.pieces) {
        const frame = group.querySelector('.frame').getBBox();
        for (const { words, box, piece } of texts) {
          // Half of the frame's line lies inside.
          const inside = box.x >= frame.x + 1 && box.x + box.width <= frame.x + frame.width - 1 && box.y >= frame.y + 1 && box.y + box.height <= frame.y + frame.height - 1;
          if (piece === group && !inside) wrong.add(`the frame of ${name} cuts "${words}"`);
        }
      }
      for (const path of stage.svg.querySelectorAll('.sensing'))
        for (let i = 0; i <= path.getTotalLength(); i += 2) {
          const { x, y } = path.getPointAtLength(i);
          const on = texts.find(({ box }) => x > box.x && x < box.x + box.width && y > box.y && y < box.y + box.height);
          if (on) wrong.add(`a dashed line through "${on.words}"`);
        }
    }
    return [...wrong];
  });
  check('nothing goes through words', found.length === 0, found.slice(0, 4).join('; '));
}

/** Degrees, the force of the booster, the contact behind a lit lamp, and the parking brake behind a wheel that is held. */
export async function examineReasons(page) {
  const found = await page.evaluate(() => {
    const { player, runs: [run], stages: [stage] } = window.pedalbench;
    const wrong = [];
    const textsOf = (name) => [...stage.pieces.get(name).group.querySelectorAll('text')].map((t) => t.textContent);
    const [booster, lamp] = ['booster', 'warning_lamp'].map((kind) => run.parts.find((p) => p.kind === kind));
    const words = { proof: 'the engine is cranked', parking: 'parking brake pulled', primary: 'primary reservoir low', secondary: 'secondary reservoir low' };
    for (let row = 0; row < run.time.length; row += Math.max(1, Math.floor(run.time.length / 150))) {
      player.seek(run.time[row]);
      const all = [...stage.svg.querySelectorAll('text')].map((t) => t.textContent);
      wrong.push(...all.filter((text) => /\d [CF]$/.test(text)));
      if (booster) {
        const [input, output] = ['input', 'output'].map((q) => run.si(booster.name, q, row));
        const told = textsOf(booster.name).find((text) => text.startsWith('helps: '));
        const newton = run.channel(`${booster.name}.output`).unit === 'N' && Math.abs(Number(told?.match(/ ([\d.]+) N$/)?.[1]) - Math.max(0, output - input)) <= 0.6;
        if (!newton) wrong.push(`the booster ${told} with ${input} N in and ${output} N out`);
      }
      for (const part of run.parts.filter((p) => p.fields.parking_brake > 0)) {
        if (!textsOf(part.name).includes('parking brake pulled')) wrong.push(`${part.name} does not tell of its parking brake at ${run.time[row]}`);
      }
      if (!lamp) continue;
      for (const contact of run.channels.filter((c) => c.quantity.endsWith('contact') && c.at(row) > 0.5)) {
        const wanted = words[contact.quantity.split('_')[0]] ?? `${contact.part.replaceAll('_', ' ')} contact closed`;
        if (!textsOf(lamp.name).includes(wanted)) wrong.push(`the lamp does not tell "${wanted}" at ${run.time[row]}: ${textsOf(lamp.name).join(', ')}`);
      }
    }
    return { wrong };
  });
  check('the drawing tells degrees, forces and reasons', found.wrong.length === 0, found.wrong.slice(0, 3).join('; '));
}

/** All of the drawing that a moment's look would miss. */
export async function examineDrawing(page) {
  await examineLeak(page);
  await nothingThroughWords(page);
  await page.evaluate(() => window.pedalbench.player.seek(0));
  await examineCylinder(page);
  await examineOutlets(page);
  await examineScrews(page);
  await examineAir(page);
  await examineReasons(page);
  await examineHoldOff(page);
  await page.evaluate(() => window.pedalbench.player.seek(0));
}
