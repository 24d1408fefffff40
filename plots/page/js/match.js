// What a search answers: the verdict, the explanations with how far each misses each reading, what to read next, and
// what is ruled out. Every word and number comes from the answers; nothing is computed here.
import { el, wide } from './dom.js';
import { inWords, plain } from './data.js';
import { errorBars, errorDot, tableOf } from './chart.js';

const shownFirst = 8; // of what is ruled out, before the rest is asked for

function offText(off) {
  if (off === 0) return 'within'; // of a reading with one bound
  const text = off.toFixed(1).replace('-0.0', '0.0');
  return off > 0 && text !== '0.0' ? `+${text}` : text;
}

/** What it is, with its size; the car as it is needs no fault only where it explains. */
const nameOf = (e) => (e.faults.length || e.explains ? plain(e.text) : 'the car as it is');

function said(e) {
  return el('div', {}, el('strong', {}, nameOf(e)), ...e.help.map((text) => el('div', { class: 'hint' }, text)),
    e.misses ? el('div', { class: 'against' }, `${e.misses}.`) : null);
}

/** The readings beside what one explanation makes of them. */
function readingsTable(match, e) {
  const sound = match.as_it_is;
  const alone = e === sound;
  const head = ['reading', 'read on the car', ...(alone ? [] : ['with this fault', 'off', '']), 'the car as it is', 'off', ''];
  const cells = (x, i) => [x.readings[i].in_words, offText(x.readings[i].off_by_standard_errors), errorDot(x.readings[i].off_by_standard_errors, match.farthest)];
  return tableOf(`${nameOf(e)}, reading by reading; off: found less read, in standard errors; shaded: within two; ◆: more than chance`, head,
    match.readings.map((r, i) => [`${i + 1}. ${r.text}`, r.read, ...(alone ? [] : cells(e, i)), ...cells(sound, i)]));
}

/** The ranked list; choosing a line shows its readings below. */
function ranked(match) {
  const place = el('div', { id: 'readings', 'aria-live': 'polite' });
  const body = el('tbody');
  const choices = [...match.leaders];
  const sound = match.leaders.some((e) => !e.faults.length) ? null : match.as_it_is;
  if (sound) choices.push(sound);
  choices.forEach((e, i) => {
    if (i > 0 && (i === match.tied || e === sound))
      body.append(el('tr', {}, el('th', { colspan: '5', scope: 'colgroup', class: 'between' }, e === sound ? 'For comparison' : 'Next comes')));
    const radio = el('input', { type: 'radio', name: 'explanation', id: `explanation_${i}` });
    radio.checked = i === 0;
    radio.addEventListener('change', () => place.replaceChildren(readingsTable(match, e)));
    body.append(el('tr', {}, el('td', {}, radio, el('label', { for: `explanation_${i}` }, ` ${e === sound ? '' : i + 1}`,
      el('span', { class: 'unseen' }, ` readings of ${nameOf(e)}`))),
      el('td', { class: 'text' }, said(e)), el('td', {}, figureOf(e.misfit)), el('td', {}, overAllSizes(e)),
      el('td', {}, errorBars(e.readings.map((r) => r.off_by_standard_errors), match.farthest))));
  });
  place.append(readingsTable(match, choices[0]));
  const caption = 'Explanations, best over all sizes first; choose one to see its readings below';
  return [wide(caption,
    el('table', { class: 'ranked' }, el('caption', {}, caption),
      el('thead', {}, el('tr', {}, ...['', 'explanation', 'misfit', 'over all sizes', 'off, by reading'].map((h) => el(h ? 'th' : 'td', h ? { scope: 'col' } : {}, h)))), body)), place];
}

/** Three figures, as in the report. */
function figureOf(misfit) {
  return String(Number(misfit.toPrecision(3)));
}

/** What is far off was run at some sizes only; an average over the others would not be one of runs. */
const overAllSizes = (e) => (e.looked_at_closely ? figureOf(e.averaged) : 'run nearby');

function readNext(match) {
  const heading = el('h3', {}, match.read_next_in_words.why);
  if (!match.read_next.length) return match.read_next_in_words.nothing ? [heading, el('p', {}, `${match.read_next_in_words.nothing}.`)] : [];
  return [heading, tableOf('What each explanation predicts for it', ['if it is', ...match.read_next.map((n) => n.reading)],
    match.leaders.map((e, i) => [`${i + 1}. ${nameOf(e)}`, ...match.read_next.map((n) => n.in_words[i])]))];
}

function ruledOut(match) {
  const out = match.singles.filter((e) => !e.explains && !e.leads);
  if (!out.length) return [];
  const rows = (list) => list.map((e) => [nameOf(e), el('div', { class: 'text' }, e.misses), figureOf(e.misfit), overAllSizes(e)]);
  const head = ['explanation', 'what speaks against it', 'misfit', 'over all sizes'];
  const more = out.slice(shownFirst);
  return [el('h3', {}, 'Ruled out by what was read, nearest first'), tableOf('Ruled out', head, rows(out.slice(0, shownFirst))),
    more.length ? el('details', {}, el('summary', {}, `and ${more.length} more`), tableOf('Ruled out as well', head, rows(more))) : null];
}

/** Kinds with their places, each kind once. */
function kinds(candidates) {
  const places = new Map();
  for (const { kind, at } of candidates) places.set(kind, [...(places.get(kind) ?? []), at]);
  return [...places].map(([kind, at]) => `${plain(kind)} (${at.map(inWords).join(', ')})`).join('; ');
}

export function showMatch(parent, match) {
  const [first] = match.leaders;
  parent.append(el('h2', {}, 'What the readings say'),
    ...match.verdict.map((text) => el('p', { class: 'verdict' }, text.endsWith('.') ? text : `${text}.`)),
    match.as_it_is.explains ? '' : el('p', { class: 'verdict' },
      el('strong', {}, `${!match.explained ? 'Nearest' : match.tied > 1 ? 'First among them' : 'The first'}: ${nameOf(first)}.`)),
    ...ranked(match), ...readNext(match));
  parent.append(...ruledOut(match).filter((x) => x));
  for (const [heading, text] of [
    ['Ruled out beforehand', match.ruled_out_beforehand.map(inWords).join(', ')],
    ['Not shown by these readings, so neither found nor ruled out', kinds(match.not_shown)],
    ['Cannot be in this car', kinds(match.impossible)],
  ]) if (text) parent.append(el('h3', {}, heading), el('p', {}, text));
  parent.append(el('p', { class: 'hint' }, match.misfit_means));
}

/** What is played back below, and what it is not. */
export function beforePlayback(parent, { match, runs, sentences }) {
  parent.append(el('h2', {}, runs.length > 1 ? `Played back: ${plain(match.leaders[0].text)}, beside the car as it is` : 'Played back: the car as it is'));
  if (runs.length > 1)
    parent.append(el('p', {}, 'The first explanation is a place to look, not a finding. Compare what moves, and where, with what you see on the car.'));
  if (sentences.length) parent.append(el('h3', {}, 'What differs'), el('ul', {}, ...sentences.map((text) => el('li', {}, text))));
}
