// A real browser for the tests of the page, and what a page must not do in it.
import { createRequire } from 'node:module';
import { existsSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

/** `modules`: the folder in which `npm ci` was run. */
export async function start(modules) {
  const require = createRequire(join(resolve(modules), 'package.json'));
  const { chromium } = require('playwright-core');
  const executablePath = ['/usr/bin/chromium', '/usr/bin/chromium-browser'].find((path) => existsSync(path));
  if (!executablePath) throw new Error('there is no chromium: .ci/install test');
  return chromium.launch({
    executablePath,
    args: ['--headless', '--no-sandbox', '--disable-gpu', '--no-first-run', '--disable-background-networking',
      '--disable-component-update', '--disable-sync'],
  });
}

/** Opens a file from disk; `troubles` fills with every request, every message on the console, every error. */
export async function open(browser, file, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1024, height: 900 }, ...options });
  const page = await context.newPage();
  const address = pathToFileURL(resolve(file)).href;
  const troubles = [];
  page.on('request', (request) => {
    if (request.url() !== address && !request.url().startsWith('data:')) troubles.push(`request: ${request.url()}`);
  });
  page.on('console', (message) => {
    if (['error', 'warning'].includes(message.type())) troubles.push(`console: ${message.text()}`);
  });
  page.on('pageerror', (error) => troubles.push(`error: ${error.stack}`));
  await page.goto(address);
  return { page, troubles, context };
}

/** axe-core's own text, to be run inside the page. */
export function axePath(modules) {
  return join(resolve(modules), 'node_modules', 'axe-core', 'axe.min.js');
}
