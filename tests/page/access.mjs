// What somebody needs who does not see the page, has no mouse, or holds it on paper.
import { readFileSync, writeFileSync } from 'node:fs';
import { check } from './checks.mjs';
import { comesAgain } from './use.mjs';

/** A part in focus says what it does and its first numbers; another one that is told of is said aloud, once. */
export async function hearParts(page) {
  const end = await page.evaluate(() => window.pedalbench.player.end);
  let numbers = 0;
  for (const share of [0.3, 0.6]) {
    await page.evaluate((t) => window.pedalbench.player.seek(t), end * share);
    const heard = await page.evaluate(() => window.pedalbench.stages.flatMap((stage, run) => [...stage.pieces.values()].map(({ group, part }) => {
      group.focus();
      const rows = [...document.querySelectorAll('#part tbody tr')].map((tr) => [tr.cells[0].textContent, tr.cells[1 + run].textContent]);
      const mode = document.querySelectorAll('#part .mode')[run].textContent;
      return { name: part.name, said: document.getElementById(group.getAttribute('aria-describedby'))?.textContent ?? '',
        mode: stage.run.name ? mode.replace(`${stage.run.name}: `, '') : mode, rows: rows.filter(([, text]) => text !== ''),
        others: document.querySelectorAll(`.circuit .piece[aria-describedby]`).length };
    })));
    const drawings = await page.locator('.circuit').count();
    for (const { name, said, mode, rows, others } of heard) {
      check(`${name} says its mode`, said.startsWith(mode) && said !== '', said);
      const told = rows.filter((row) => said.includes(row.join(' '))).length;
      check(`${name} says two of its numbers, where it has two`, told >= Math.min(2, rows.length), said);
      numbers += told;
      check('no part has the words of another', others <= drawings, others);
    }
  }
  check('parts say numbers', numbers > 20, numbers);

  const aloud = page.locator('#part [aria-live="polite"]');
  const names = await page.locator('#part select option').evaluateAll((all) => all.map((o) => [o.value, o.textContent]));
  await page.locator('#part select').focus();
  for (const [value, name] of names.slice(0, 4)) {
    await page.locator('#part select').selectOption(value);
    const mode = (await page.locator('#part .mode').first().textContent()).split(': ').at(-1);
    check(`${name}, chosen from the list, is said aloud`, (await aloud.textContent()).startsWith(`${name}. `) && (await aloud.textContent()).includes(mode), await aloud.textContent());
  }

  const changes = await page.evaluate(async () => {
    const { player } = window.pedalbench;
    const count = (selector) => {
      const found = { changes: 0, observer: new MutationObserver((list) => {
        found.changes += list.length;
      }) };
      for (const e of document.querySelectorAll(selector)) found.observer.observe(e, { childList: true, characterData: true, subtree: true });
      return found;
    };
    player.seek(0);
    await new Promise((done) => setTimeout(done));
    player.speed = player.end / 2;
    const [spoken, shown] = [count('#part [aria-live], #part .brief'), count('#part td, #clock')];
    player.play();
    await new Promise((done) => setTimeout(done, 600));
    const found = { said: spoken.changes, shown: shown.changes, playing: player.playing };
    spoken.observer.disconnect();
    shown.observer.disconnect();
    player.pause();
    return found;
  });
  check('while it plays nothing of a part is said aloud', changes.said === 0 && changes.shown > 10 && changes.playing, JSON.stringify(changes));
}

/** The line below the clock is about this moment or empty. */
export async function tellThisMoment(page) {
  const line = page.locator('#now');
  await page.evaluate(() => document.activeElement.blur());
  for (const key of ['ArrowRight', 'Home', 'End']) {
    await page.evaluate(() => window.pedalbench.player.seek(0));
    await page.keyboard.press('n');
    check('the next event is told', (await line.textContent()).startsWith('At '));
    await page.keyboard.press(key);
    check(`after ${key} it is not told any more`, (await line.textContent()) === '', await line.textContent());
  }
  await page.evaluate(() => window.pedalbench.player.seek(0));
  await page.keyboard.press('n');
  await page.evaluate(() => window.pedalbench.player.seek(window.pedalbench.player.end));
  check('nor at a moment gone to otherwise', (await line.textContent()) === '', await line.textContent());
}

/** Whoever presses the last step by key stays where he is. */
export async function stayOnTheLastStep(page) {
  if (!(await page.locator('#lesson').isVisible())) return;
  const next = page.getByRole('button', { name: 'Next step' });
  const heading = page.locator('#lesson h2').first();
  const back = page.getByRole('button', { name: 'Step back' });
  await back.focus();
  for (let i = 0; i < 12; i++) await page.keyboard.press('Enter');
  check('the first step is the first', (await heading.textContent()).startsWith('Lesson, step 1 of') && await back.isDisabled());
  check('the focus stays on Step back', await back.evaluate((b) => b === document.activeElement));
  await next.focus();
  for (let i = 0; i < 12; i++) await page.keyboard.press('Enter');
  const [, at, of] = (await heading.textContent()).match(/step (\d+) of (\d+)/);
  check('the last step is reached by key', at === of && await next.isDisabled(), `${at}, ${of}`);
  check('the focus stays on Next step', await next.evaluate((b) => b === document.activeElement));
}

/** What the Tab key reaches does not lie under the time. */
export async function clearOfTime(page) {
  await page.evaluate(() => {
    document.activeElement.blur();
    scrollTo(0, 0);
  });
  // From the top: a click on the heading tells the browser where to begin.
  await page.locator('h1').click();
  let seen = 0;
  for (let i = 0; i < 40; i++) {
    await page.keyboard.press('Tab');
    const found = await page.evaluate(() => {
      const e = document.activeElement;
      if (e === document.body) return null;
      const box = e.getBoundingClientRect();
      const bar = document.getElementById('time').getBoundingClientRect();
      const under = e.closest('#time') ? 0 : Math.min(box.bottom, bar.bottom) - Math.max(box.top, bar.top);
      return { what: e.dataset.part ?? e.textContent.slice(0, 30), under, room: innerHeight - bar.height, high: box.height, out: box.bottom < 0 || box.top > innerHeight };
    });
    if (!found) break;
    seen += 1;
    if (found.high < found.room) check(`"${found.what}" in focus is not covered by the time`, found.under <= 1 && !found.out, found.under);
  }
  check('the Tab key reaches something', seen > 8, seen);
}

/** Each list of events is one stop of the Tab key; arrows go through what is open; ramps are one stop of "next event". */
export async function eventsByKeys(page) {
  const lists = page.locator('#happened > .events');
  for (let r = 0; r < await lists.count(); r++) {
    const list = lists.nth(r);
    const stops = await list.evaluate((l) => [...l.querySelectorAll('button, summary, [tabindex]')].filter((e) => e.tabIndex >= 0 && e.checkVisibility()).length);
    check('a list of events is one stop of the Tab key', stops === 1, stops);
    await list.evaluate((l) => l.querySelectorAll('details').forEach((d, i) => {
      d.open = i === 0;
    }));
    const lines = await list.evaluate((l) => [...l.querySelectorAll('button, summary')].filter((e) => e.checkVisibility()).map((e) => e.textContent));
    await list.locator('[tabindex="0"]').focus();
    for (let i = 0; i < lines.length; i++) await page.keyboard.press('ArrowUp');
    const walked = [];
    const now = () => page.evaluate(() => document.activeElement.textContent);
    for (let i = 0; i < lines.length; i++) {
      walked.push(await now());
      await page.keyboard.press('ArrowDown');
    }
    check('arrows go from line to line', walked.join('|') === lines.join('|'), walked.length);
    check('and stop at the last', (await now()) === lines.at(-1));
    const t = await page.evaluate(() => document.activeElement.querySelector('.at')?.textContent);
    if (t) {
      await page.keyboard.press('Enter');
      check('Enter goes to the moment', Math.abs((await page.evaluate(() => window.pedalbench.player.t)) - parseFloat(t)) < 6e-4);
    }
    await page.keyboard.press('Tab');
    check('Tab leaves the list', await list.evaluate((l) => !l.contains(document.activeElement)));
    await list.evaluate((l) => l.querySelectorAll('details').forEach((d) => {
      d.open = false;
    }));
  }
}

/** A page like this one, in which two fields are led in turn from value to value in twelve steps, over the middle of the
 * run; and a valve chatters. */
export function withRamps(file) {
  const html = readFileSync(file, 'utf8');
  const other = file.replace(/\.html$/, '_ramps.html');
  writeFileSync(other, html.replace(/(<script type="application\/json" id="runs">)(.*?)(<\/script>)/s, (_, before, json, after) => {
    const data = JSON.parse(json);
    const [run] = data.runs;
    const parts = run.parts.slice(0, 2).map((p) => p.name);
    const last = run.events.at(-1).time;
    const told = (i, part, text) => ({ ...run.events.at(-1), time: last * (0.5 + 0.01 * i), part, text, readings: '' });
    const ramps = Array.from({ length: 24 }, (_x, i) => told(i >> 1, parts[i % 2], 'setting becomes'));
    const chatter = Array.from({ length: 8 }, (_x, i) => told(20 + i, parts[0], i % 2 ? 'flap shuts' : 'flap opens'));
    run.events = [...run.events.filter((e) => e.time < last * 0.5), ...ramps, ...chatter, ...run.events.filter((e) => e.time > last * 0.9)];
    return before + JSON.stringify(data).replaceAll('<', '\\u003c') + after;
  }));
  return other;
}

/** "Next event" stops at every event, and once where a field goes from value to value in many steps. */
export async function onceForARamp(page) {
  const events = await page.evaluate(() => window.pedalbench.runs[0].events.map(({ part, text, row }) => ({ part, text, time: window.pedalbench.runs[0].time[row] })));
  const wanted = new Set();
  for (let i = 0; i < events.length;) {
    const [n] = comesAgain(events, i);
    const group = events.slice(i, i + n);
    const ramp = group.every((e) => e.text.endsWith(' becomes'));
    for (const e of ramp ? group.slice(0, 1) : group) wanted.add(e.time);
    i += n;
  }
  wanted.delete(0);
  await page.evaluate(() => {
    document.activeElement.blur();
    window.pedalbench.player.seek(0);
  });
  const stops = [];
  for (let i = 0; i <= wanted.size; i++) {
    await page.keyboard.press('n');
    if ((await page.locator('#now').textContent()) === 'No further event.') break;
    stops.push(await page.evaluate(() => window.pedalbench.player.t));
  }
  check('next event stops at each event and once for a ramp', stops.join() === [...wanted].sort((a, b) => a - b).join(), `${stops.length} for ${wanted.size}`);
}

/** On paper: the moment, its numbers, the time in the plots, light colours, the whole lesson, and nothing cut off. */
export async function onPaper(page) {
  const played = await page.locator('#playback').isVisible();
  const viewport = page.viewportSize();
  const open = await page.evaluate(() => [...document.querySelectorAll('details')].map((d) => d.open));
  if (played) await page.evaluate(() => window.pedalbench.player.seek(window.pedalbench.player.end / 2));
  // A browser prints at once: what comes to the page later, such as the toggle of a part that opens, is too late.
  const numbers = await page.evaluate(() => {
    dispatchEvent(new Event('beforeprint'));
    const { runs, stages } = window.pedalbench;
    return [...document.querySelectorAll('#numbers table')].flatMap((table, run) => [...table.tBodies[0].rows].map((tr) =>
      ({ path: tr.cells[0].dataset.path, shown: tr.cells[1].textContent, wanted: runs[run].channel(tr.cells[0].dataset.path).now(stages[run].row) })));
  });
  for (const n of numbers) check(`${n.path} stands in the column "now"`, n.shown === n.wanted, n.shown);
  await page.emulateMedia({ media: 'print' });
  await page.setViewportSize({ width: 717, height: 1046 }); // A4 between margins of 1 cm
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => setTimeout(done, 50))));
  const cut = await page.evaluate(() => [document.documentElement, ...document.querySelectorAll('.wide, .scroll, .canvas')]
    .filter((e) => e.getBoundingClientRect().right > innerWidth + 1 || e.scrollWidth > e.clientWidth + 1).map((e) => e.getAttribute('aria-label') ?? e.tagName));
  check('on paper nothing is cut off', cut.length === 0, cut.join(', '));
  if (played) {
    const found = await page.evaluate(() => {
      const { player, runs, stages } = window.pedalbench;
      const plots = [...document.querySelectorAll('.canvas')].map((place) => {
        const box = place.querySelector('.u-over').getBoundingClientRect();
        const line = place.querySelector('.cursor');
        const canvas = place.querySelector('canvas');
        const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
        const has = (grey) => {
          for (let i = 0; i < data.length; i += 4) if (data[i + 3] === 255 && data[i] === grey && data[i + 1] === grey && data[i + 2] === grey) return true;
          return false;
        };
        return { share: (line.getBoundingClientRect().left + 1 - box.left) / box.width, border: parseFloat(getComputedStyle(line).borderLeftWidth), light: has(0xd8), dark: has(0x33) };
      });
      const t = Math.max(...stages.map((stage, i) => runs[i].time[stage.row]));
      return { plots, share: t / player.end, t, moment: document.querySelector('.moment').innerText, ink: document.querySelector('.swatch').style.borderTopColor,
        lesson: document.getElementById('lesson').innerText, steps: runs[0].lesson };
    });
    check('on paper the moment is said', found.moment.includes(`At ${found.t.toFixed(3)} s`) && await page.locator('.moment').isVisible(), found.moment);
    check('and all its numbers', numbers.length > 0, numbers.length);
    for (const p of found.plots) {
      check('the time is a line in each plot, no ground', Math.abs(p.share - found.share) < 0.01 && p.border >= 1, `${p.share}, ${p.border}`);
      check('plots have the colours of paper', p.dark && !p.light, `${p.dark}, ${p.light}`);
    }
    check('and so have their keys', found.ink === 'rgb(0, 114, 178)', found.ink);
    for (const step of found.steps)
      for (const text of [step.say, step.ask, step.answer, ...(step.time === null ? [] : [`${step.part.replaceAll('_', ' ')}, at `])])
        check('the whole lesson is on paper', found.lesson.includes(text), text);
  }
  await page.evaluate(() => dispatchEvent(new Event('afterprint')));
  await page.emulateMedia({ media: null });
  await page.setViewportSize(viewport);
  check('after printing all stands as before', (await page.evaluate(() => [...document.querySelectorAll('details')].map((d) => d.open))).join() === open.join());
}
