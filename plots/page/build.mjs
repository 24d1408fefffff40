// Makes one HTML file of page.html, page.css, the modules in js/ and uPlot, and writes it as a C++
// source: node build.mjs FOLDER_WITH_NODE_MODULES OUTPUT.cpp
//
// Scripts and style stand in the file itself, and its content security policy names them by their
// SHA-256: nothing else may run, and nothing may be fetched.
import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const here = dirname(fileURLToPath(import.meta.url));
const [modules, output] = process.argv.slice(2);
const read = (...path) => readFileSync(join(...path), 'utf8');

// ---- our modules as one script: in the order in which they import each other, without the words
// import and export. Names at the top of a module must then be unique among all of them.
const order = [];
const texts = new Map();
function visit(name, from) {
  if (texts.has(name)) return;
  texts.set(name, '');
  let text;
  try {
    text = read(here, 'js', name);
  } catch {
    throw new Error(`${from} imports ${name}, which is not in js/`);
  }
  text = text.replace(/^import \{[^}]*\} from '\.\/([^']+)';\n/gm, (_, other) => {
    visit(other, name);
    return '';
  });
  if (/^import /m.test(text)) throw new Error(`${name}: write import { a, b } from './other.js';`);
  texts.set(name, text.replace(/^export /gm, ''));
  order.push(name);
}
visit('main.js', 'build.mjs');

const owner = new Map();
for (const name of order)
  for (const [, word] of texts.get(name).matchAll(/^(?:async )?(?:const|let|function|class) (\w+)/gm)) {
    if (owner.has(word)) throw new Error(`${word} stands at the top of ${owner.get(word)} and of ${name}`);
    owner.set(word, name);
  }
const own = '"use strict";\n' + order.map((name) => `// ${name}\n${texts.get(name)}`).join('\n');

const uplot = join(modules, 'node_modules', 'uplot');
const licence = `/*\n${read(uplot, 'LICENSE').trim()}\n*/\n`;
const plots = licence + read(uplot, 'dist', 'uPlot.iife.min.js').trim();
const style = `${licence}${read(uplot, 'dist', 'uPlot.min.css').trim()}\n${read(here, 'page.css').trim()}`;

const hash = (text) => `'sha256-${createHash('sha256').update(text).digest('base64')}'`;
const policy = [
  "default-src 'none'",
  `script-src ${hash(plots)} ${hash(own)}`,
  `style-src ${hash(style)}`,
  'img-src data:',
  "base-uri 'none'",
  "form-action 'none'",
].join('; ');

for (const [name, text] of Object.entries({ plots, own }))
  if (/<\/script|<!--/i.test(text)) throw new Error(`${name} holds </script or <!--, which would end it early`);

const parts = { policy, style, plots, own };
const page = read(here, 'page.html').replace(/<!--(\w+)-->/g, (all, word) => parts[word] ?? all);

// ---- as C++: raw strings of moderate length.
const pieces = page.match(/[\s\S]{1,12000}/g);
if (page.includes(')page"')) throw new Error('the page holds the end of a C++ raw string');
writeFileSync(
  output,
  '#include "runner/page_template.hpp"\n\nnamespace pedalbench::runner {\n\n' +
    'const std::string_view kPageTemplate =\n' +
    pieces.map((piece) => `R"page(${piece})page"`).join('\n') +
    ';\nconst std::string_view kNoPageTemplate = "";\n\n} // namespace pedalbench::runner\n',
);
