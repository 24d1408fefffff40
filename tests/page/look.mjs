// Pictures of a page for somebody to look at:
//   node look.mjs MODULES page.html OUT [seconds ...]
// at three widths, light and dark, at the given moments; and as it is printed.
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { start, open } from './browser.mjs';

const [modules, file, out, ...moments] = process.argv.slice(2);
mkdirSync(out, { recursive: true });
const browser = await start(modules);
for (const [width, colorScheme] of [[390, 'light'], [1024, 'light'], [1024, 'dark'], [1920, 'light']]) {
  const { page, troubles, context } = await open(browser, file, { viewport: { width, height: width < 500 ? 844 : 1000 }, colorScheme });
  for (const moment of moments.length ? moments : ['0']) {
    await page.evaluate((t) => window.pedalbench.player?.seek(t), Number(moment));
    await page.screenshot({ path: join(out, `${width}_${colorScheme}_${moment}.png`), fullPage: true });
  }
  for (const trouble of troubles) console.log(`${width} ${colorScheme}: ${trouble}`);
  await context.close();
}
const { page, context } = await open(browser, file);
await page.evaluate((t) => window.pedalbench.player?.seek(t), Number(moments[0] ?? 0));
await page.pdf({ path: join(out, 'printed.pdf'), format: 'A4' });
await context.close();
await browser.close();
