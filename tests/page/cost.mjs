// What a frame of a page costs: node cost.mjs MODULES PEDALBENCH
// 5 s at 1 kHz with 40 recorded channels of the demo car, played in a real browser; the time that the page's script
// takes for each frame, by the browser's own clock. Depends on the machine, and so is no part of the tests.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { start, open } from './browser.mjs';

const [modules, command] = process.argv.slice(2);
const scenarios = join(dirname(fileURLToPath(import.meta.url)), '..', '..', 'scenarios');
const wheels = ['front_left', 'front_right', 'rear_left', 'rear_right'];
const record = [
  'pedal.force', 'pedal.travel', 'pedal.rod_force', 'pedal.stop_lamps', 'lamp.lit', 'switch.position', 'switch.contact',
  'master.primary.pressure', 'master.secondary.pressure', 'master.primary_travel', 'master.secondary_travel',
  'hold_off.inlet.pressure', 'hold_off.outlet.pressure', 'hold_off.rod_travel', 'hold_off.plate_lift', 'hold_off.flow',
  'front_pipe.flow', 'rear_pipe.flow', 'left_hose.flow', 'right_hose.flow',
  ...wheels.flatMap((w) => ['pressure', 'torque', 'clearance', 'piston_travel', 'fluid_temperature'].map((q) => `${w}.${q}`)),
];
const folder = mkdtempSync(join(tmpdir(), 'pedalbench_cost_'));
const scenario = readFileSync(join(scenarios, 'lessons', 'ordinary_stop.yaml'), 'utf8')
  .replace('../hardware', join(scenarios, 'hardware'))
  .replace(/^record: \[[^\]]*\]/m, `record: [${record.join(', ')}]`);
writeFileSync(join(folder, 'stop.yaml'), scenario);
execFileSync(command, ['run', join(folder, 'stop.yaml'), '--page', '--plots', 'none', '--out', join(folder, 'out')], { stdio: 'pipe' });
const file = join(folder, 'out', 'page.html');

const browser = await start(modules);
const { page } = await open(browser, file);
const cost = await page.evaluate(async () => {
  const { player, runs } = window.pedalbench;
  player.speed = 0.5;
  player.work.length = 0;
  player.seek(0);
  player.play();
  await new Promise((done) => {
    player.onState = () => player.playing || done();
  });
  const work = [...player.work].sort((a, b) => a - b);
  const at = (share) => work[Math.floor(share * (work.length - 1))];
  return { frames: work.length, median: at(0.5), high: at(0.95), worst: at(1), rows: runs[0].time.length, channels: runs[0].recorded.length };
});
await browser.close();
console.log(`${cost.channels} recorded channels, ${cost.rows} rows, ${(statSync(file).size / 1e6).toFixed(2)} MB`);
console.log(`${cost.frames} frames of 5 s at half speed: ${cost.median.toFixed(1)} ms of script at the median ` +
  `(goal 8), ${cost.high.toFixed(1)} ms at the 95th percentile (goal 16), ${cost.worst.toFixed(1)} ms at most`);
rmSync(folder, { recursive: true });
process.exit(cost.median <= 8 && cost.high <= 16 ? 0 : 1);
