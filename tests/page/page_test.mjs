// What a page must do in a real browser:
//   node page_test.mjs MODULES PEDALBENCH SCENARIO.yaml ... [--without-faults SCENARIO.yaml ...] [--drawn SCENARIO.yaml ...]
// Each scenario is run with --page, and its page is opened from disk at three widths. Those that follow
// --without-faults are compared with themselves without their faults; of those that follow --drawn only the drawing is
// looked at, once.
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { start, open } from './browser.mjs';
import { accessible, agrees, check, closedToTheOutside, compareTwo, counted, here, largeEnough, makePage, overlaps, readsAsWords, readTrace, widths } from './checks.mjs';
import { clearOfTime, eventsByKeys, hearParts, onceForARamp, onPaper, stayOnTheLastStep, tellThisMoment, withRamps } from './access.mjs';
import { examineDrawing, examineGaps, examineLamps, goSideways, groupedEvents, lowColours, oneScreen, walkThroughParts } from './use.mjs';

const [modules, command, ...files] = process.argv.slice(2);
const after = (option) => {
  const list = files.includes(option) ? files.slice(files.indexOf(option) + 1) : [];
  const next = list.findIndex((word) => word.startsWith('--'));
  return next < 0 ? list : list.slice(0, next);
};
const [compared, drawn] = [after('--without-faults'), after('--drawn')];
const options = files.findIndex((word) => word.startsWith('--'));
const scenarios = options < 0 ? files : files.slice(0, options);
if (!files.length) throw new Error('usage: page_test.mjs MODULES PEDALBENCH SCENARIO.yaml ...');

async function compareNumbers(page, trace) {
  await page.locator('#numbers summary').click();
  const rows = await page.evaluate(() => window.pedalbench.runs[0].time.length);
  const moments = Array.from({ length: 15 }, (_, i) => Math.round(((rows - 1) * i) / 14));
  let compared = 0;
  for (const row of moments) {
    const shown = await page.evaluate((r) => {
      const { player, runs } = window.pedalbench;
      player.seek(runs[0].time[r]);
      const cells = [...document.querySelectorAll('#numbers tbody tr')].map((tr) => [tr.cells[0].dataset.path, tr.cells[1].textContent]);
      const key = [...document.querySelectorAll('#plots .key .number')].map((e) => e.textContent);
      return { time: runs[0].time[r], cells, key };
    }, row);
    const at = trace.time.indexOf(shown.time);
    check('a row of the page is a row of trace.csv', at >= 0, shown.time);
    if (at < 0) continue;
    const all = shown.cells.map(([, text]) => text);
    for (const [path, text] of shown.cells) {
      const wanted = trace.columns.get(path)?.[at];
      if (wanted === null) continue;
      check(`${path} at ${shown.time} s is that of trace.csv, ${wanted}`, agrees(text, wanted), text);
      compared += 1;
    }
    for (const text of shown.key) check('a value beside a plot is one of the table', all.includes(text), text);
  }
  check('numbers were compared', compared >= 15 * (trace.columns.size - 1), compared);
  await page.locator('#numbers summary').click();
}

/** What is on or off has a plot of its own, which says so, and every heading begins as one. */
async function examinePlots(page) {
  const plots = await page.locator('#plots .plot').evaluateAll((all) => all.map((plot) => ({
    title: plot.querySelector('figcaption').textContent, values: [...plot.querySelectorAll('.key .number')].map((e) => e.textContent) })));
  for (const { title, values } of plots) {
    check(`"${title}" begins with a capital`, /^[A-Z]/.test(title));
    const switched = values.filter((value) => /^(lit|dark|open|closed)$/.test(value)).length;
    check(`"${title}" holds what it says`, switched === (title.startsWith('On (up) and off (down)') ? values.length : 0), values.join(', '));
  }
}

async function time(page) {
  return page.evaluate(() => window.pedalbench.player.t);
}

async function useKeys(page, run) {
  const end = await page.evaluate(() => window.pedalbench.player.end);
  await page.keyboard.press('Home');
  check('Home goes to the start', (await time(page)) === 0);
  await page.keyboard.press('Space');
  check('Space plays', (await page.locator('#play').textContent()) === 'Pause');
  await page.waitForFunction(() => window.pedalbench.player.t > 0);
  await page.keyboard.press('Space');
  const stopped = await time(page);
  check('Space pauses', (await page.locator('#play').textContent()) === 'Play');
  await page.waitForTimeout(100);
  check('paused, time stands', (await time(page)) === stopped);
  await page.keyboard.press('End');
  check('End goes to the end', (await time(page)) === end);
  await page.keyboard.press('Home');

  const events = run.events.filter((e) => e.time > 0);
  if (events.length) {
    await page.keyboard.press('n');
    check('N goes to the first event', Math.abs((await time(page)) - events[0].time) < 1e-6, await time(page));
    check('and says what it is', (await page.locator('#now').textContent()).includes(events[0].text));
    const rod = await time(page);
    await page.keyboard.press('ArrowRight');
    check('an arrow goes on by a row', (await time(page)) > rod);
    await page.keyboard.press('p');
    check('P goes back to the event', Math.abs((await time(page)) - events[0].time) < 1e-6, await time(page));
  }
  const buttons = page.locator('#happened .events button');
  check('every event has a line', (await buttons.count()) === run.events.length, await buttons.count());
  const last = run.events.length - 1;
  if (last >= 0) {
    await page.evaluate(() => document.querySelectorAll('#happened details').forEach((d) => {
      d.open = true;
    }));
    await buttons.nth(last).click();
    check('the line of an event goes to its moment', Math.abs((await time(page)) - run.events[last].time) < 1e-6, await time(page));
    check('and is marked', (await buttons.nth(last).getAttribute('aria-current')) === 'true');
  }
}

/** The slider takes the same keys as the page: an arrow is a row, never a share of the run. */
async function moveSlider(page) {
  const scrub = page.locator('#scrub');
  await scrub.focus();
  await page.keyboard.press('Home');
  let row = 0;
  for (const [key, rows] of [['ArrowRight', 1], ['ArrowUp', 1], ['Shift+ArrowRight', 20], ['ArrowLeft', -1], ['ArrowDown', -1], ['Shift+ArrowLeft', -20]]) {
    await page.keyboard.press(key);
    row += rows;
    const found = await page.evaluate(() => {
      const { runs, player } = window.pedalbench;
      return { row: runs[0].rowAt(player.t), t: player.t, value: Number(document.getElementById('scrub').value) };
    });
    check(`${key} on the slider goes ${rows} rows`, found.row === row, found.row);
    check('and the slider stands there', Math.abs(found.value - found.t) < 1e-9, found.value);
  }
  await page.evaluate(() => document.activeElement.blur());
}

async function turnToParts(page) {
  const pieces = page.locator('.circuit .piece');
  const count = await pieces.count();
  check('the drawing has pieces', count > 10, count);
  for (let i = 0; i < count; i++) {
    const label = await pieces.nth(i).getAttribute('aria-label');
    const name = await pieces.nth(i).getAttribute('data-part');
    await pieces.nth(i).focus();
    check(`${name} has a label`, label?.length > 3);
    check(`${name} in focus is the part that is told of`, (await page.locator('#part select').inputValue()) === name);
  }
  await point(page, pieces.first());
  const words = await page.locator('#part .mode').first().textContent();
  check('its mode is said in words', words.length > 5, words);
  check('its numbers are told', (await page.locator('#part tbody tr').count()) > 0);
}

/** A pointer that moves over a piece turns to its part, without a click. */
async function point(page, piece) {
  const name = await piece.getAttribute('data-part');
  await piece.scrollIntoViewIfNeeded();
  const spot = await piece.evaluate((group) => {
    for (const shape of group.querySelectorAll('*')) {
      const box = shape.getBoundingClientRect();
      const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
      if (document.elementFromPoint(x, y)?.closest('.piece') === group) return { x, y };
    }
    return null;
  });
  check(`${name} can be pointed at`, spot !== null);
  if (!spot) return;
  await page.mouse.move(spot.x - 1, spot.y);
  await page.mouse.move(spot.x, spot.y);
  check(`${name} under the pointer is the part that is told of`, (await page.locator('#part select').inputValue()) === name);
}

async function teach(page) {
  const steps = await page.evaluate(() => window.pedalbench.runs[0].lesson);
  check('a lesson is shown where there is one', (await page.locator('#lesson').isVisible()) === steps.length > 0);
  if (!steps.length) return;
  for (const [i, step] of steps.entries()) {
    if (i > 0) await page.getByRole('button', { name: 'Next step' }).click();
    check(`step ${i + 1} says its text`, (await page.locator('#lesson .say').textContent()) === step.say);
    if (i > 0 && step.time !== null) {
      check(`step ${i + 1} is at its moment`, Math.abs((await time(page)) - step.time) < 1e-6, await time(page));
      check(`step ${i + 1} shows its part`, (await page.locator('#part select').inputValue()) === step.part);
    }
    check(`step ${i + 1} has come in this run`, step.time !== null);
    const answer = page.getByText(step.answer || 'no answer', { exact: true });
    check(`the answer of step ${i + 1} is hidden`, !(await answer.isVisible()));
    if (!step.ask) continue;
    await page.locator('#lesson summary').click();
    check(`and shown when asked for`, await answer.isVisible());
  }
  check('the last step is the last', await page.getByRole('button', { name: 'Next step' }).isDisabled());
}

/** Two runs on one page. */
async function examineTwo(browser, scenario) {
  const folder = mkdtempSync(join(tmpdir(), 'pedalbench_page_'));
  try {
    here(`${basename(scenario)}, compared`);
    const file = makePage(command, folder, ['compare', scenario, '--without', 'all']);
    check('the page is smaller than 3 MB', statSync(file).size < 3e6);
    const { page, troubles, context } = await open(browser, file, { viewport: { width: 1920, height: 1000 } });
    const [first, second] = await page.evaluate(() => window.pedalbench.runs.map((run) => run.name));
    const heading = await page.locator('h1').textContent();
    check('the heading says what is compared', heading.includes(`: ${first}, and ${second}`), heading);
    check('there are two drawings', (await page.locator('.circuit').count()) === 2);
    check('what differs is said', (await page.locator('#about li').count()) > 0);
    await compareTwo(page, join(folder, 'out'));
    check('at the end something differs', (await page.locator('.piece.differs').count()) > 0);
    await readsAsWords(page);
    await groupedEvents(page);
    await lowColours(page);
    await hearParts(page);
    await eventsByKeys(page);
    await onPaper(page);
    await examineDrawing(page);
    await page.evaluate(() => window.pedalbench.player.seek(0));
    check('no request, no message, no error', troubles.length === 0, troubles.join('; '));
    await accessible(page, modules);
    await context.close();
    for (const [width, height] of [[390, 844], [1024, 900], [1440, 900], [1920, 1000]]) {
      here(`${basename(scenario)}, compared, ${width} px`);
      const small = await open(browser, file, { viewport: { width, height } });
      check('nothing is wider than the page', await small.page.evaluate(() => document.scrollingElement.scrollWidth <= innerWidth));
      for (const text of await small.page.evaluate(overlaps)) check('no text lies on another', false, text);
      await largeEnough(small.page);
      await clearOfTime(small.page);
      await oneScreen(small.page, width);
      await goSideways(small.page);
      check('no message, no error', small.troubles.length === 0, small.troubles.join('; '));
      await small.context.close();
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
}

async function examine(browser, scenario) {
  const folder = mkdtempSync(join(tmpdir(), 'pedalbench_page_'));
  try {
    here(basename(scenario));
    const file = makePage(command, folder, ['run', scenario]);
    const trace = readTrace(join(folder, 'out', 'trace.csv'));
    const size = statSync(file).size;
    check('the page is smaller than 3 MB', size < 3e6, size);
    for (const [width, height] of widths)
      for (const colorScheme of width === 1024 ? ['light', 'dark'] : ['light']) {
        here(`${basename(scenario)}, ${width} px, ${colorScheme}`);
        const { page, troubles, context } = await open(browser, file, { viewport: { width, height }, colorScheme });
        const run = await page.evaluate(() => ({ end: window.pedalbench.player.end,
          events: window.pedalbench.runs[0].events.map((e) => ({ time: e.time, text: e.text })) }));
        check('the caution is there', await page.getByText('does not prove that a car is safe to drive').first().isVisible());
        check('nothing is wider than the page', await page.evaluate(() => document.scrollingElement.scrollWidth <= innerWidth));
        for (const share of [0, 0.2, 0.4, 0.6, 0.8, 1]) {
          await page.evaluate((t) => window.pedalbench.player.seek(t), run.end * share);
          for (const text of await page.evaluate(overlaps)) check(`no text lies on another at ${share} of the run`, false, text);
        }
        await readsAsWords(page);
        await largeEnough(page);
        await goSideways(page);
        if (colorScheme === 'light') await useKeys(page, run);
        if (colorScheme === 'light') await moveSlider(page);
        if (width === 1024 && colorScheme === 'light') {
          await compareNumbers(page, trace);
          await examinePlots(page);
          await turnToParts(page);
          await walkThroughParts(page);
          await examineGaps(page);
          await examineLamps(page);
          await hearParts(page);
          await tellThisMoment(page);
          await examineDrawing(page);
          await teach(page);
          await stayOnTheLastStep(page);
        }
        if (width !== 1024) await clearOfTime(page);
        if (width === 1024) {
          await eventsByKeys(page);
          await onPaper(page);
        }
        check('no request, no message, no error', troubles.length === 0, troubles.join('; '));
        await accessible(page, modules);
        if (width === 1024 && colorScheme === 'light') await closedToTheOutside(page);
        await context.close();
      }
    here(`${basename(scenario)}, with ramps`);
    const ramps = await open(browser, withRamps(file));
    await groupedEvents(ramps.page);
    await onceForARamp(ramps.page);
    await eventsByKeys(ramps.page);
    check('a ramp and a chatter are a line each', (await ramps.page.locator('#happened .times').filter({ hasText: 'in turn' }).count()) >= 2);
    check('no message, no error', ramps.troubles.length === 0, ramps.troubles.join('; '));
    await ramps.context.close();
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Only what the drawing shows of a run. */
async function examineDrawn(browser, scenario) {
  const folder = mkdtempSync(join(tmpdir(), 'pedalbench_page_'));
  try {
    here(`${basename(scenario)}, its drawing`);
    const { page, troubles, context } = await open(browser, makePage(command, folder, ['run', scenario]));
    await examineDrawing(page);
    for (const text of await page.evaluate(overlaps)) check('no text lies on another', false, text);
    check('no request, no message, no error', troubles.length === 0, troubles.join('; '));
    await context.close();
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const browser = await start(modules);
for (const [scenario, look] of [...scenarios.map((s) => [s, examine]), ...compared.map((s) => [s, examineTwo]), ...drawn.map((s) => [s, examineDrawn])]) {
  const before = counted().failures;
  await look(browser, scenario);
  console.log(`${basename(scenario)}: ${counted().failures === before ? 'well' : `${counted().failures - before} failures`}`);
}
await browser.close();
const { checks, failures } = counted();
console.log(`${checks} checks, ${failures} failures`);
process.exit(failures ? 1 : 0);
