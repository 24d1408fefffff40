// What the tests of the page have in common: counting, files, and what every page must keep to.
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { axePath } from './browser.mjs';

export const widths = [[390, 844], [1024, 900], [1920, 1000]];

let failures = 0;
let checks = 0;
let where = '';
/** Where the checks that follow are. */
export function here(place) {
  where = place;
}
export function check(what, holds, found = '') {
  checks += 1;
  if (holds) return;
  failures += 1;
  console.log(`FAILED ${where}: ${what}${found === '' ? '' : `: ${found}`}`);
}
export function counted() {
  return { checks, failures };
}

/** The cells of each line of a CSV file. */
export function readCsv(file) {
  return readFileSync(file, 'utf8').trimEnd().split('\n').map((line) =>
    [...`${line},`.matchAll(/(?:"((?:[^"]|"")*)"|([^,"]*)),/g)].map(([, quoted, bare]) => quoted?.replaceAll('""', '"') ?? bare));
}

/** trace.csv: { time: [...], columns: Map of path to numbers }. */
export function readTrace(file) {
  const [head, ...lines] = readCsv(file);
  const paths = head.map((cell) => cell.replace(/ \[.*$/, ''));
  const rows = lines.map((cells) => cells.map((cell) => (cell === '' ? null : Number(cell))));
  return { time: rows.map((row) => row[0]), columns: new Map(paths.map((path, i) => [path, rows.map((row) => row[i])])) };
}

const onOff = { lit: 1, dark: 0, closed: 1, open: 0 };

/** Whether a shown number, or "lit" for 1, is that of the file, rounded to the digits that are shown. A float, as the
 * page holds it, is off by 6e-8 of the value at most, twice: from SI and to the unit. */
export function agrees(shown, wanted) {
  const text = shown.trim().split(' ')[0];
  if (text in onOff) return onOff[text] === wanted;
  const digits = (text.split('.')[1] ?? '').length;
  return text !== '' && Math.abs(Number(text) - wanted) <= 0.5 * 10 ** -digits + 2.5e-7 * Math.abs(wanted) + 1e-12;
}

/** Texts of the drawing that lie on each other, by a third of a line or more. */
export function overlaps() {
  const found = [];
  for (const circuit of document.querySelectorAll('.circuit, .chart')) {
    const boxes = [...circuit.querySelectorAll('text')]
      .filter((text) => text.textContent !== '' && text.getAttribute('visibility') !== 'hidden')
      .map((text) => ({ text: text.textContent, box: text.getBoundingClientRect() }));
    boxes.forEach((a, i) => boxes.slice(i + 1).forEach((b) => {
      const wide = Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left);
      const high = Math.min(a.box.bottom, b.box.bottom) - Math.max(a.box.top, b.box.top);
      if (wide > 1 && high > 0.3 * Math.min(a.box.height, b.box.height)) found.push(`"${a.text}" on "${b.text}"`);
    }));
    const frame = circuit.getBoundingClientRect();
    for (const { text, box } of boxes)
      if (box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 1 || box.bottom > frame.bottom + 1)
        found.push(`"${text}" leaves the drawing`);
  }
  return found;
}

/** No name as a file has it, with an underscore or a dot inside, where a person reads or hears it; what stands before an
 * equals sign is there to be typed. */
export async function readsAsWords(page) {
  const [raw, bare] = await page.evaluate(() => {
    const texts = [];
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) if (!walk.currentNode.parentElement.closest('script, noscript')) texts.push(walk.currentNode.data);
    for (const element of document.querySelectorAll('[aria-label], [aria-valuetext]'))
      texts.push(element.getAttribute('aria-label') ?? '', element.getAttribute('aria-valuetext') ?? '');
    const names = texts.flatMap((text) => [...text.matchAll(/[a-z][\w.]*\w/gi)]
      .filter(({ 0: name, index }) => !/^["']?\s*=/.test(text.slice(index + name.length)))
      .map(([name]) => name).filter((name) => /_|[a-z]{2}\.[a-z]{2}/.test(name)));
    return [[...new Set(names)].filter((name) => !/\.(csv|yaml|json|html|md|h5)$/.test(name)),
      texts.filter((text) => /(?<!=.{0,12})\d [CF]\b|\[[CF]\]/.test(text) || /^[CF]$/.test(text.trim()))];
  });
  check('names read as words', raw.length === 0, raw.join(', '));
  check('degrees have their sign', bare.length === 0, bare.slice(0, 3).join(', '));
}

/** What can be hit is 24 px wide and high (WCAG 2.2, target size), the pieces of the drawing aside: the list of parts does
 * the same. */
export async function largeEnough(page) {
  const small = await page.evaluate(() => [...document.querySelectorAll('button, select, input, summary, a[href]')]
    .filter((element) => element.checkVisibility({ checkVisibilityCSS: true }))
    .map((element) => ({ element, box: element.getBoundingClientRect() }))
    .filter(({ box }) => box.width > 0 && (box.width < 24 || box.height < 24))
    .map(({ element, box }) => `${element.tagName} ${element.id || element.textContent} ${box.width.toFixed(0)} x ${box.height.toFixed(0)}`));
  check('what can be hit is 24 px wide and high', small.length === 0, small.slice(0, 3).join('; '));
}

/** Whether some drawing shows the chosen part whole: between the edges of its frame and clear of what lies on the page. */
export function chosenInSight(page) {
  return page.evaluate(() => {
    const bar = document.getElementById('time').getBoundingClientRect();
    const floor = bar.top > 0 ? Math.min(innerHeight, bar.top) : innerHeight;
    return [...document.querySelectorAll('.piece.chosen')].some((piece) => {
      const box = piece.getBoundingClientRect();
      const frame = piece.closest('.scroll').getBoundingClientRect();
      return box.top >= -1 && box.bottom <= floor + 1 && box.left >= frame.left - 1 && box.right <= frame.right + 1;
    });
  });
}

export async function closedToTheOutside(page) {
  const answer = await page.evaluate(async () => {
    const refused = new Promise((done) => {
      document.addEventListener('securitypolicyviolation', (e) => done(e.effectiveDirective), { once: true });
    });
    const fetched = fetch('https://localhost:1/').then(() => 'fetched', () => 'failed');
    return [await fetched, await Promise.race([refused, new Promise((done) => setTimeout(() => done('nothing'), 2000))])];
  });
  check('the policy lets nothing be fetched', answer[0] === 'failed' && answer[1] === 'connect-src', answer.join(', '));
}

export async function accessible(page, modules) {
  await page.evaluate(readFileSync(axePath(modules), 'utf8')); // past the page's policy
  const { violations, passes } = await page.evaluate(() => window.axe.run(document, { resultTypes: ['violations', 'passes'] }));
  check('axe had something to look at', passes.length > 10);
  for (const v of violations)
    check(`accessibility, ${v.id}: ${v.help}`, false, v.nodes.slice(0, 3).map((n) => n.target.join(' ')).join('; '));
}

/** Runs the command with --page in a folder of its own; gives the page's file. */
export function makePage(command, folder, words) {
  try {
    execFileSync(command, [...words, '--page', '--plots', 'none', '--out', join(folder, 'out')], { stdio: 'pipe' });
  } catch (error) {
    if (error.status !== 1) throw new Error(`${words.join(' ')}: ${error.stderr}`); // 1: an expectation failed
  }
  return join(folder, 'out', 'page.html');
}

/** Numbers of two runs on one page against trace_1.csv and trace_2.csv of a folder. */
export async function compareTwo(page, folder) {
  const traces = [1, 2].map((i) => readTrace(join(folder, `trace_${i}.csv`)));
  await page.locator('#numbers summary').click();
  const end = await page.evaluate(() => window.pedalbench.player.end);
  for (const share of [0.02, 0.07, 0.13, 0.3, 0.41, 0.6, 0.83, 1]) {
    const stands = await page.evaluate((t) => {
      const { player, runs, stages } = window.pedalbench;
      player.seek(t);
      return { clock: parseFloat(document.getElementById('clock').textContent), rows: stages.map((stage, i) => runs[i].time[stage.row]) };
    }, end * share);
    // Rows come every millisecond in a trace; a page that holds fewer holds those of the same moments in both runs.
    check('the clock shows the moment that is drawn', Math.abs(stands.clock - Math.max(...stands.rows)) < 6e-4, JSON.stringify(stands));
    check('both runs stand at the same moment', Math.max(...stands.rows) - Math.min(...stands.rows) < 1.5e-3, JSON.stringify(stands));
    for (const text of await page.evaluate(overlaps)) check('no text lies on another', false, text);
    for (const [i, trace] of traces.entries()) {
      const shown = await page.evaluate((run) => {
        const table = document.querySelectorAll('#numbers table')[run];
        const { runs, stages } = window.pedalbench;
        return { time: runs[run].time[stages[run].row], cells: [...table.tBodies[0].rows].map((tr) => [tr.cells[0].dataset.path, tr.cells[1].textContent]) };
      }, i);
      const at = trace.time.indexOf(shown.time);
      check('a row of the page is a row of its trace', at >= 0, shown.time);
      for (const [path, text] of shown.cells)
        if (at >= 0 && trace.columns.get(path)[at] !== null)
          check(`${path} of run ${i + 1} at ${shown.time} s`, agrees(text, trace.columns.get(path)[at]), text);
    }
  }
}

/** A leak or an open screw that lets air in is told to, and no other: somewhere if much came in, and nowhere while the line
 * there stands above the outside. */
export async function examineAir(page) {
  const found = await page.evaluate(() => {
    const { player, runs: [run], stages: [stage] } = window.pedalbench;
    const wrong = [];
    for (const part of run.parts.filter((p) => p.kind === 'leak' || p.kind === 'bleeder')) {
      const leak = part.kind === 'leak';
      const came = (row) => (leak ? -run.si(part.name, 'outside.air', row) : run.si(part.name, 'air_back', row));
      const fluid = (row) => Math.abs(run.si(part.name, 'flow', row));
      let told = 0;
      for (let row = 0; row < run.time.length; row += 1) {
        const words = stage.words(part.name, row);
        const draws = /draws air|drawn in/.test(words);
        told += draws;
        if (draws && fluid(row) < 1e-8 && run.pressure(part.ports.line, row) > 2e3) wrong.push(`${part.name} at ${run.time[row]}: ${words}`);
      }
      if (came(run.time.length - 1) > 0.05e-6 && told === 0) wrong.push(`${part.name} never draws air`);
      if (!leak || told === 0) continue;
      // In the drawing, too.
      const state = [...stage.pieces.get(part.name).group.querySelectorAll('text')].find((t) => t.textContent === 'draws air');
      const row = run.time.findIndex((t, i) => /drawn in/.test(stage.words(part.name, i)));
      player.seek(run.time[row]);
      if (state.getAttribute('visibility') === 'hidden') wrong.push(`${part.name} at ${run.time[row]}: not in the drawing`);
    }
    player.seek(0);
    return wrong;
  });
  check('air that comes in is told where it does', found.length === 0, found.slice(0, 3).join('; '));
}
