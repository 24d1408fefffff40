// The page: what it holds decides what it shows, runs to be played back, the answers of a study, or both.
import { load } from './data.js';
import { about, differences } from './panels.js';
import { showMatch, beforePlayback } from './match.js';
import { showSweep } from './sweep.js';
import { playBack } from './playback.js';
import { onPaper } from './colour.js';

const place = (id) => {
  const element = document.getElementById(id);
  element.hidden = false;
  return element;
};
const data = load();

if (data.sentences.length && !data.match) differences(document.getElementById('about'), data.sentences);
about(document.getElementById('about'), data);
if (data.match) {
  showMatch(place('found'), data.match);
  beforePlayback(place('played'), data);
}
if (data.sweep) showSweep(place('spread'), data.sweep);

let playback = null;
if (data.runs.length) {
  place('playback');
  playback = playBack(data.runs, data.match?.readings ?? []);
}

// On paper everything is open, and the plots have a paper's colours.
let opened = [];
addEventListener('beforeprint', () => {
  onPaper(true);
  opened = [...document.querySelectorAll('details:not([open])')];
  for (const d of opened) d.open = true;
  playback?.redraw();
});
addEventListener('afterprint', () => {
  onPaper(false);
  for (const d of opened) d.open = false;
  playback?.redraw();
});

/** For whoever wants to look from outside: the data, the runs, the time, and what a frame costs. */
window.pedalbench = { data, ...playback };
