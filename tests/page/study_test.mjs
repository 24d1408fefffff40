// What the page of a search or of a study must do in a real browser:
//   node study_test.mjs MODULES PEDALBENCH --match COMPLAINT.yaml ... --sweep STUDY.yaml ...
// Numbers are held against the files beside the page.
import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { start, open } from './browser.mjs';
import { accessible, agrees, check, closedToTheOutside, compareTwo, counted, here, largeEnough, makePage, overlaps, readCsv, readsAsWords, widths } from './checks.mjs';
import { onPaper } from './access.mjs';
import { nextEventInView } from './use.mjs';

const [modules, command, ...words] = process.argv.slice(2);
/** Names as the page says them. */
const plain = (text) => text.replaceAll('_', ' ').replace(/(?<=[a-z])\.(?=[a-z])/gi, ' ');

/** Whether a shown number is `wanted` to that many figures; "-" where there is none. */
function shows(text, wanted, figures) {
  if (wanted === null || wanted === undefined) return text.trim() === '-';
  const step = 10 ** (Math.floor(Math.log10(Math.abs(wanted) || 1)) + 1 - figures);
  const shown = parseFloat(text);
  return Number.isFinite(shown) && Math.abs(shown - wanted) <= 0.5 * step * (1 + 1e-9);
}

/** What the page calls an explanation. */
const nameOf = (e) => (e.faults.length || e.explains ? plain(e.text) : 'the car as it is');

/** The texts of a table, row by row. */
const cellsOf = (locator) => locator.evaluate((table) => [...table.tBodies[0].rows].map((row) => [...row.cells].map((cell) => cell.textContent)));

// ---------------------------------------------------------------- match

async function examineChoices(page, folder, summary) {
  const radios = page.locator('#found input[type=radio]');
  const sound = summary.leaders.some((e) => e.faults.length === 0) ? 0 : 1;
  check('every explanation has its line, and the car as it is', (await radios.count()) === summary.leaders.length + sound, await radios.count());
  const lines = await page.locator('#found table.ranked tbody tr:has(input)').evaluateAll((rows) => rows.map((r) => [...r.cells].map((c) => c.textContent)));
  const choices = [...summary.leaders, ...(sound ? [summary.as_it_is] : [])];
  const [head, ...read] = readCsv(join(folder, 'readings.csv'));
  for (const [i, e] of choices.entries()) {
    check(`line ${i + 1} says its explanation`, lines[i][1].startsWith(nameOf(e)), lines[i][1]);
    check(`misfit of line ${i + 1}`, shows(lines[i][2], e.misfit, 3) && (e.looked_at_closely ? shows(lines[i][3], e.averaged, 3) : lines[i][3] === 'run nearby'), lines[i].slice(2, 4).join(', '));
    if (i > 0 && i < summary.tied && e.looked_at_closely && choices[i - 1].looked_at_closely)
      check(`line ${i + 1} is in its place by what is shown`, Number(lines[i][3]) >= Number(lines[i - 1][3]), lines[i][3]);
    await radios.nth(i).check();
    const rows = await cellsOf(page.locator('#readings table'));
    check('every reading has its row', rows.length === summary.readings.length, rows.length);
    const name = e.faults.map((f) => f.kind).join(' ');
    // readings.csv holds the car as it is in columns 5 and 6, then the leaders with a fault, five at most.
    const place = summary.leaders.filter((l) => l.faults.length).indexOf(e);
    const columns = e.faults.length ? (place < 5 ? 7 + 2 * place : -1) : 5;
    if (e.faults.length && columns > 0) check('readings.csv has it', e.faults.every((f) => head[columns].includes(f.kind)), head[columns]);
    for (const [k, row] of rows.entries()) {
      check(`reading ${k + 1} says what was read`, row[0].endsWith(plain(summary.readings[k].text)) && row[1] === summary.readings[k].read, row.slice(0, 2).join(', '));
      if (columns > 0) checkReading(`${name}, reading ${k + 1}`, row.slice(2, 4), read[k].slice(columns, columns + 2));
      if (e.faults.length) checkReading(`the car as it is, reading ${k + 1}`, row.slice(5, 7), read[k].slice(5, 7));
    }
    // A diamond for what chance does not give, a dot for the rest.
    const far = await page.locator('#readings tbody tr').evaluateAll((all) => all.map((r) => r.querySelector('.strip').querySelector('.far') !== null));
    e.readings.forEach((r, k) => check(`mark of reading ${k + 1}`, far[k] === (Math.abs(r.off_by_standard_errors) > summary.farthest)));
  }
  await radios.first().check();
  await radios.first().focus();
  await page.keyboard.press('ArrowDown');
  check('an arrow key chooses the next line', await radios.nth(1).isChecked());
  check('and shows its readings', (await page.locator('#readings caption').textContent()).startsWith(nameOf(choices[1])));
}

function checkReading(what, [found, off], [wanted, wantedOff]) {
  if (wanted !== '' && /^-?[\d.]/.test(found)) check(`${what} is that of readings.csv, ${wanted}`, shows(found, Number(wanted), 3), found);
  check(`${what} is off as in readings.csv, ${wantedOff}`, off === 'within' ? Number(wantedOff) === 0 : agrees(off, Number(wantedOff)), off);
}

async function examineWords(page, summary) {
  const text = await page.locator('#found').innerText();
  for (const sentence of summary.verdict) check('the verdict is said', text.includes(plain(sentence)), sentence);
  const next = page.locator('#found .wide[aria-label^="What each explanation predicts"]');
  check('what to read next is told where there is something', (await next.count()) === (summary.read_next.length ? 1 : 0));
  if (summary.read_next.length)
    for (const [i, row] of (await cellsOf(next.locator('table'))).entries())
      summary.read_next.forEach((n, k) => {
        const [best, range] = row[k + 1].split(' (');
        check(`prediction ${i + 1} for ${n.reading}`, shows(best, n.predicted[i], 3), row[k + 1]);
        const ends = range?.split(' to ') ?? [best, best]; // no width that three figures show
        check(`its range for ${n.reading}`, shows(ends[0], n.predicted_least[i], 3) && shows(ends[1], n.predicted_most[i], 3), row[k + 1]);
      });
  const out = summary.singles.filter((e) => !e.explains && !e.leads);
  const rows = await page.locator('#found .wide[aria-label^="Ruled out"] tbody tr').evaluateAll((all) => all.map((r) => [...r.cells].map((c) => c.textContent)));
  check('all that is ruled out is told, and by what', rows.length === out.length && out.every((e, i) => rows[i][1] === plain(e.misses) && rows[i][0] === nameOf(e)), rows.length);
  // What was run at some sizes only has no figure over all of them, however near its average is.
  out.forEach((e, i) => check(`${nameOf(e)}, ruled out, has its misfit and over all sizes ${e.looked_at_closely ? e.averaged : 'none'}`,
    shows(rows[i][2], e.misfit, 3) && (e.looked_at_closely ? shows(rows[i][3], e.averaged, 3) : rows[i][3] === 'run nearby'), rows[i].slice(2).join(', ')));
  for (const closely of [true, false])
    check(`something ruled out was ${closely ? '' : 'not '}looked at closely`, out.some((e) => e.looked_at_closely === closely));
}

/** Who has asked for less motion gets five pictures a second at most. */
async function examineCalm(browser, file) {
  const { page, context } = await open(browser, file, { reducedMotion: 'reduce' });
  const { pictures, seconds } = await page.evaluate(async () => {
    const { player } = window.pedalbench;
    player.seek(0);
    player.work.length = 0;
    player.speed = 5;
    player.play();
    await new Promise((done) => {
      player.onState = () => player.playing || done();
    });
    return { pictures: player.work.length, seconds: player.end / player.speed };
  });
  check('with less motion there are five pictures a second at most', pictures >= 1 && pictures <= 5 * seconds + 2, `${pictures} in ${seconds} s`);
  await context.close();
}

async function examineMatch(browser, file, folder, summary, size) {
  const { page, troubles, context, first } = await look(browser, file, size);
  check('the answers of a search are there, those of a study are not', await page.locator('#found').isVisible() && !(await page.locator('#spread').isVisible()));
  const { leaders } = summary;
  check('the first explanation is played back beside the car as it is', (await page.locator('.circuit').count()) === (leaders[0].faults.length ? 2 : 1));
  if (first) {
    await examineWords(page, summary);
    await examineChoices(page, folder, summary);
    if (leaders[0].faults.length) await compareTwo(page, folder);
    await closedToTheOutside(page);
    troubles.splice(0); // the refusal that was just asked for
  }
  await nextEventInView(page);
  await finish(page, troubles, context);
}

// ---------------------------------------------------------------- sweep

async function examineSpread(page, summary) {
  const rows = await cellsOf(page.locator('#spread .wide[aria-label="How the answers spread"] table'));
  check('every answer has its row', rows.length === summary.answers.length, rows.length);
  for (const [i, a] of summary.answers.entries()) {
    const at = (q) => a.quantiles.find((x) => x.share === q).value;
    [a.as_it_is, a.mean, a.deviation, at(0.05), at(0.5), at(0.95)].forEach((wanted, k) =>
      check(`${a.text}, column ${k + 3} is ${wanted}`, shows(rows[i][k + 2], wanted, 5), rows[i][k + 2]));
    if (!a.limits) continue;
    const { limits } = a;
    check(`${a.text}: the share outside`, rows[i][9].startsWith(`${limits.outside} of ${limits.judged},`) && shows(rows[i][9].split(', ')[1], (100 * limits.outside) / limits.judged, 3), rows[i][9]);
    if (limits.confidence)
      [limits.share_low, limits.share_high].forEach((x, k) => check(`${a.text}: its interval`, shows(rows[i][10].split(' to ')[k], 100 * x, 3), rows[i][10]));
    check(`${a.text}: said in words`, (await page.locator('#spread').innerText()).includes(a.outside_in_words));
  }
}

/** Bars, and what they say when one goes through them, against histograms.csv; limits where they belong. */
async function examineHistogram(page, a, bins) {
  const frame = page.getByRole('slider', { name: `Histogram of ${a.text}`, exact: true });
  const drawn = await frame.evaluate((f) => ({
    bars: [...f.querySelectorAll('.bar-one')].map((r) => [r.x.baseVal.value, r.height.baseVal.value]),
    limits: [...f.querySelectorAll('line.limit')].map((l) => l.x1.baseVal.value),
  }));
  check(`${a.text}: a bar for each bin`, drawn.bars.length === bins.length, drawn.bars.length);
  const most = Math.max(...bins.map((b) => b.points));
  const highest = Math.max(...drawn.bars.map((b) => b[1]));
  bins.forEach((b, i) => check(`${a.text}: height of bar ${i + 1}`, Math.abs(drawn.bars[i][1] / highest - b.points / most) < 0.004, drawn.bars[i][1]));
  const scale = (drawn.bars.at(-1)[0] - drawn.bars[0][0]) / (bins.at(-1).from - bins[0].from);
  const limits = [a.limits?.low, a.limits?.high].filter((x) => x !== null && x !== undefined);
  for (const [i, x] of drawn.limits.entries())
    check(`${a.text}: a limit stands where it belongs`, limits.some((l) => Math.abs(drawn.bars[0][0] + scale * (l - bins[0].from) - x) < 1), i);
  await frame.focus();
  await page.keyboard.press('Home');
  for (const b of bins.slice(0, 12)) {
    const text = await frame.getAttribute('aria-valuetext');
    const [from, to] = text.split(' to ');
    check(`${a.text}: the keys say bin ${b.from}`, shows(from, b.from, 5) && shows(to, b.to, 5) && text.endsWith(`: ${b.points} points`), text);
    check('and the same stands below', (await frame.locator('xpath=..').locator('.told').textContent()) === text);
    await page.keyboard.press('ArrowRight');
  }
}

/** Names are whole, without the part where all have the same one, and numbers enough to read a scale from. */
async function readTornado(page, a) {
  const { names, numbers, title } = await page.getByRole('slider', { name: `What moves ${a.text}`, exact: true }).evaluate((f) => ({
    names: [...f.querySelectorAll('text[text-anchor="end"]')].map((t) => t.textContent).join(' '),
    numbers: [...f.querySelectorAll('text')].filter((t) => /^-?[\d.]+$/.test(t.textContent)).length,
    title: f.parentElement.querySelector('figcaption').textContent,
  }));
  const paths = a.moved_by.slice(0, 12).map((m) => m.path);
  const parts = [...new Set(paths.map((path) => path.split('.')[0]))];
  const wanted = parts.length === 1 ? paths.map((path) => path.slice(parts[0].length + 1)) : paths;
  check(`${a.text}: the names of what moves it are whole`, names === wanted.map(plain).join(' '), names);
  if (parts.length === 1) check(`${a.text}: their part is said above`, title.includes(`field of ${plain(parts[0])} `), title);
  check(`${a.text}: three numbers along the scale at least`, numbers >= 3, numbers);
}

async function examineTornado(page, a, fields) {
  const frame = page.getByRole('slider', { name: `What moves ${a.text}`, exact: true });
  await frame.focus();
  await page.keyboard.press('Home');
  for (const row of fields.slice(0, 12))
    for (const [end, field, value] of [['lower', row[4], row[6]], ['upper', row[5], row[7]]]) {
      if (value === '') continue;
      const text = await frame.getAttribute('aria-valuetext');
      const [, own, found] = text.match(/end, (\S+)[^:]*: (\S+)/);
      check(`${a.text}: ${row[3]} at its ${end} end`, text.startsWith(`${plain(row[3])} at its ${end} end`) && shows(own, Number(field), 5) && shows(found, Number(value), 5), text);
      await page.keyboard.press('ArrowRight');
    }
}

/** Dots against points.csv, by key, by pointer, and with another field. */
async function examineScatter(page, a, summary, points) {
  const [head, ...rows] = points;
  const byNumber = new Map(rows.map((row) => [row[0], row]));
  const holds = async (frame, field) => {
    const text = await frame.getAttribute('aria-valuetext');
    const row = byNumber.get(text.match(/^Row (\d+)/)?.[1]);
    check(`${a.text} against ${field}: a row of points.csv`, row !== undefined && text.includes(plain(row[1])), text);
    if (!row) return;
    const names = [...summary.varied.map((v) => v.path), ...summary.answers.map((x) => x.text)].map(plain);
    names.forEach((name, k) => {
      const values = text.slice(text.indexOf(': ') + 2); // the row's own name may hold a field's
      const shown = values.slice(values.indexOf(`${name} `) + name.length + 1);
      check(`row ${row[0]}: ${head[k + 2]} is ${row[k + 2]}`, shows(shown, row[k + 2] === '' ? null : Number(row[k + 2]), 5), shown.slice(0, 20));
    });
  };
  const paths = [a.moved_by[0].path, a.moved_by.at(-1).path];
  for (const path of paths) {
    const frame = page.getByRole('slider', { name: `${a.text} against ${plain(path)}`, exact: true });
    if (path !== paths[0]) await page.locator('.scatter', { has: page.getByRole('slider', { name: `${a.text} against ${plain(paths[0])}`, exact: true }) }).locator('select').selectOption(path);
    await frame.focus();
    for (const key of ['Home', 'ArrowRight', 'PageUp', 'End']) {
      await page.keyboard.press(key);
      await holds(frame, path);
    }
    const box = await frame.boundingBox();
    for (const share of [0.3, 0.6]) {
      await page.mouse.move(box.x + share * box.width, box.y + 0.45 * box.height);
      await holds(frame, path);
    }
  }
}

async function examineSweep(browser, file, folder, summary, size) {
  const { page, troubles, context, first } = await look(browser, file, size);
  for (const a of summary.answers.filter((x) => x.moved_by.length)) await readTornado(page, a);
  if (first) await onPaper(page);
  check('the answers of a study are there, nothing is played', await page.locator('#spread').isVisible() && !(await page.locator('#playback').isVisible()));
  if (first) {
    await examineSpread(page, summary);
    const bins = readCsv(join(folder, 'histograms.csv')).slice(1);
    const fields = readCsv(join(folder, 'sensitivity.csv')).slice(1);
    const points = readCsv(join(folder, 'points.csv'));
    for (const [i, a] of summary.answers.entries()) {
      const own = (rows) => rows.filter((row) => row[0] === String(i + 1));
      await examineHistogram(page, a, own(bins).map((row) => ({ from: Number(row[2]), to: Number(row[3]), points: Number(row[4]) })));
      await examineTornado(page, a, own(fields));
      await examineScatter(page, a, summary, points);
    }
    await closedToTheOutside(page);
    troubles.splice(0);
  }
  await finish(page, troubles, context);
}

// ---------------------------------------------------------------- both

async function look(browser, file, { width, height, colorScheme }) {
  const opened = await open(browser, file, { viewport: { width, height }, colorScheme });
  await opened.page.waitForFunction(() => [...document.querySelectorAll('.chart')].every((c) => c.childElementCount > 1));
  return { ...opened, first: width === 1024 && colorScheme === 'light' };
}

async function finish(page, troubles, context) {
  check('the caution is there', await page.getByText('does not prove that a car is safe to drive').first().isVisible());
  check('nothing is wider than the page', await page.evaluate(() => document.scrollingElement.scrollWidth <= innerWidth));
  for (const text of await page.evaluate(overlaps)) check('no text lies on another', false, text);
  check('no request, no message, no error', troubles.length === 0, troubles.join('; '));
  await readsAsWords(page);
  await largeEnough(page);
  await accessible(page, modules);
  // Opened, as for print.
  await page.evaluate(() => document.querySelectorAll('details').forEach((d) => {
    d.open = true;
  }));
  check('nothing is wider than the page with all of it open', await page.evaluate(() => document.scrollingElement.scrollWidth <= innerWidth));
  await context.close();
}

const browser = await start(modules);
let kind = null;
for (const word of words) {
  if (word.startsWith('--')) {
    kind = word.slice(2);
    continue;
  }
  const examineIt = { match: examineMatch, sweep: examineSweep }[kind];
  const before = counted().failures;
  const folder = mkdtempSync(join(tmpdir(), 'pedalbench_page_'));
  try {
    here(basename(word));
    const file = makePage(command, folder, [kind, word]);
    const out = join(folder, 'out');
    const summary = JSON.parse(readFileSync(join(out, 'summary.json'), 'utf8'));
    for (const a of summary.answers ?? []) a.text = plain(a.text);
    check('the page is smaller than 3 MB', statSync(file).size < 3e6, statSync(file).size);
    for (const [width, height] of widths)
      for (const colorScheme of width === 1024 ? ['light', 'dark'] : ['light']) {
        here(`${basename(word)}, ${width} px, ${colorScheme}`);
        await examineIt(browser, file, out, summary, { width, height, colorScheme });
      }
    if (kind === 'match') await examineCalm(browser, file);
  } finally {
    rmSync(folder, { recursive: true });
  }
  console.log(`${basename(word)}: ${counted().failures === before ? 'well' : `${counted().failures - before} failures`}`);
}
await browser.close();
const { checks, failures } = counted();
console.log(`${checks} checks, ${failures} failures`);
process.exit(failures || !checks ? 1 : 0);
