// What the pictures for print must keep to, looked at in a real browser:
//   node print.mjs MODULES PEDALBENCH FOLDER ... + COMMAND WORD ... + COMMAND WORD ...
// Every SVG picture in the folders, and in those that the commands (run, valve, sweep ...) write. Before that pictures
// are spoiled, to see that each fault is noticed.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { start, open } from './browser.mjs';
import { check, counted, here } from './checks.mjs';

const [modules, command, ...words] = process.argv.slice(2);
const groups = words.reduce((list, word) => (word === '+' ? [...list, []] : [...list.slice(0, -1), [...list.at(-1), word]]), [[]])
  .filter((group) => group.length);
if (!groups.length) throw new Error('usage: print.mjs MODULES PEDALBENCH FOLDER ... + COMMAND WORD ...');

/** What is wrong with the picture that the page shows. It is as large as its view box: one unit of it is one pixel, and
 * 480 of them are a column of 85 mm. */
function faults() {
  const found = [];
  const svg = document.documentElement;
  const [, , width, height] = svg.getAttribute('viewBox').split(' ').map(Number);
  // What stands in a white box is written before it and after it.
  const texts = [];
  for (const element of document.querySelectorAll('text')) {
    const { left, right, top, bottom } = element.getBoundingClientRect();
    const text = { element, group: element.parentElement, words: element.textContent.trim(), left, right, top, bottom };
    const again = texts.some((t) => t.words === text.words && Math.abs(t.left - left) < 0.5 && Math.abs(t.top - top) < 0.5);
    if (text.words !== '' && !again) texts.push(text);
  }
  if (!texts.length) found.push('there is no text');
  if (height > (width / 85) * 257) found.push(`${((height / width) * 85).toFixed(0)} mm high: no page of 297 mm with margins of 20 holds it`);

  texts.forEach((a, i) => texts.slice(i + 1).forEach((b) => {
    const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
    const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
    if (wide > 1 && high > 1) found.push(`"${a.words}" lies on "${b.words}" by ${wide.toFixed(1)} x ${high.toFixed(1)} px`);
  }));
  for (const t of texts) {
    if (t.left < 0 || t.top < 0 || t.right > width || t.bottom > height) found.push(`"${t.words}" leaves the picture`);
    const size = parseFloat(getComputedStyle(t.element).fontSize);
    // gnuplot's size 10 in a picture of that width, 6.3 points in print.
    if (size < 12.5 * (width / 480) - 0.01) found.push(`"${t.words}" is ${size} px high, 12.5 are the least`);
  }

  // A number stands behind the short line at which it belongs; a panel has two of its sides drawn.
  const points = (path) => [...(path.getAttribute('d') ?? '').matchAll(/[ML]\s*([-\d.]+),([-\d.]+)/g)].map((m) => [Number(m[1]), Number(m[2])]);
  const isNumber = (t) => /^-?\d[\d.e+-]*$/.test(t.words.replace('\u2212', '-'));
  const scale = { x: [], y: [] };
  for (const t of texts) {
    const line = t.group.previousElementSibling;
    const ends = line?.tagName === 'path' && !line.classList.contains('gridline') ? points(line) : [];
    if (ends.length !== 2) continue;
    const [dx, dy] = [Math.abs(ends[0][0] - ends[1][0]), Math.abs(ends[0][1] - ends[1][1])];
    if (dx === 0 && dy > 0 && dy < 12) scale.x.push({ ...t, at: ends[0] });
    if (dy === 0 && dx > 0 && dx < 12) scale.y.push({ ...t, at: ends[0] });
  }
  const grey = [...document.querySelectorAll('path[stroke="rgb(107, 107, 107)"]')].map(points).filter((p) => p.length === 5);
  const panels = [...new Map(grey.map(([from, corner, to]) => [String(from), { left: from[0], top: from[1], bottom: corner[1], right: to[0] }])).values()];
  if (!panels.length) found.push('there is no panel');
  const upright = (t) => t.group.getAttribute('transform').includes('rotate(-90)');
  for (const [i, panel] of panels.entries()) {
    const middle = (t) => [(t.left + t.right) / 2, (t.top + t.bottom) / 2];
    const inside = (low, x, high) => low - 1 <= x && x <= high + 1;
    const across = scale.x.filter((t) => Math.abs(t.at[1] - panel.bottom) < 1);
    const up = scale.y.filter((t) => Math.abs(t.at[0] - panel.left) < 1 && inside(panel.top, t.at[1], panel.bottom));
    if (!up.length) found.push(`panel ${i + 1} has neither numbers nor names upwards`);
    if (up.some(isNumber) && !texts.some((t) => upright(t) && t.right < Math.min(...up.map((n) => n.left)) && inside(panel.top, middle(t)[1], panel.bottom)))
      found.push(`panel ${i + 1} has numbers upwards and no label`);
    const foot = Math.max(...across.map((t) => t.bottom));
    // The label is centred below the panel, and close.
    if (across.length && !texts.some((t) => inside(foot - 6, t.top, foot + 16) && Math.abs(middle(t)[0] - (panel.left + panel.right) / 2) < 4))
      found.push(`panel ${i + 1} has numbers across and no label`);
    const next = Math.min(height, ...panels.map((p) => p.top).filter((top) => top > panel.bottom));
    if (!across.length && next === height) found.push(`panel ${i + 1}, the last one, has no numbers across`);
  }
  return found;
}

/** What somebody might do to a picture, and what must then be found. */
const spoilings = [
  ['a text lies on another', (texts) => texts[1].parentElement.setAttribute('transform', texts[0].parentElement.getAttribute('transform')), / lies on /],
  ['a text leaves the picture', (texts) => texts.at(-1).parentElement.setAttribute('transform', 'translate(470,20)'), / leaves the picture$/],
  ['letters are small', (texts) => texts[0].parentElement.setAttribute('font-size', '12.2'), / px high, /],
  ['no label upwards', (texts) => texts.filter((t) => t.parentElement.getAttribute('transform').includes('rotate')).forEach((t) => t.remove()), / has numbers upwards and no label$/],
  ['no label across', (texts) => texts.filter((t) => / \[\w+\]$/.test(t.textContent) && !t.parentElement.getAttribute('transform').includes('rotate')).forEach((t) => t.remove()), / has numbers across and no label$/],
];

async function show(browser, file) {
  const [, width, height] = readFileSync(file, 'utf8').match(/viewBox="0 0 (\d+) (\d+)"/).map(Number);
  return open(browser, file, { viewport: { width, height } });
}

/** A sound picture, spoiled: each fault is found. */
async function noticesFaults(browser, file) {
  for (const [what, spoil, wanted] of spoilings) {
    const { page, context } = await show(browser, file);
    here(`${basename(file)}, spoiled: ${what}`);
    const before = await page.evaluate(faults);
    check('it was not so before', !before.some((fault) => wanted.test(fault)), before.join('; '));
    await page.evaluate(`(${spoil})([...document.querySelectorAll('text')].filter((t) => t.textContent.trim() !== ''))`);
    const after = await page.evaluate(faults);
    check('it is noticed', after.some((fault) => wanted.test(fault)), after.join('; '));
    await context.close();
  }
}

let spoiled = false;
async function examine(browser, folder, name) {
  const files = readdirSync(folder).filter((file) => file.endsWith('.svg'));
  const before = counted().failures;
  here(name);
  check('there are pictures', files.length > 0);
  if (files.length && !spoiled) await noticesFaults(browser, join(folder, files[0]));
  spoiled = true;
  for (const file of files) {
    here(`${name}, ${file}`);
    const { page, troubles, context } = await show(browser, join(folder, file));
    const found = await page.evaluate(faults);
    check('the picture is sound', found.length === 0, found.join('; '));
    check('no request, no message, no error', troubles.length === 0, troubles.join('; '));
    await context.close();
  }
  console.log(`${name}, pictures ${files.length}: ${counted().failures === before ? 'well' : `${counted().failures - before} failures`}`);
}

const browser = await start(modules);
for (const group of groups) {
  if (statSync(group[0], { throwIfNoEntry: false })?.isDirectory()) {
    for (const folder of group) await examine(browser, folder, basename(folder));
    continue;
  }
  const folder = mkdtempSync(join(tmpdir(), 'pedalbench_print_'));
  try {
    execFileSync(command, [...group, '--out', join(folder, 'out')], { stdio: 'pipe' });
  } catch (error) {
    if (error.status !== 1) throw new Error(`${group.join(' ')}: ${error.stderr}`); // 1: an expectation failed
  }
  await examine(browser, join(folder, 'out'), group.map((word) => basename(word)).join(' '));
  rmSync(folder, { recursive: true });
}
await browser.close();
const { checks, failures } = counted();
console.log(`${checks} checks, ${failures} failures`);
process.exit(failures || !checks ? 1 : 0);
