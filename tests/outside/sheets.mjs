// Opens the pages of a plan that go to the field as a crew would: `node sheets.mjs PACKAGES PAGE.html...`, with puppeteer-core
// and axe-core installed in PACKAGES/node_modules and Chromium on the path. With PICTURES set, pictures of the first page
// are written there. Ends with 1 at the first thing that is not as it should be.
import assert from 'node:assert/strict';
import { mkdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { basename, join, resolve } from 'node:path';

const [packages, ...sheets] = process.argv.slice(2).map((path) => resolve(path));
const require = createRequire(join(packages, 'x.js'));
const puppeteer = require('puppeteer-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
const pictures = process.env.PICTURES;
let checks = 0;
const check = (holds, what) => { assert.ok(holds, what); checks += 1; };

const browser = await puppeteer.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', headless: true, args: ['--no-sandbox'] });
const DESK = { width: 1280, height: 900 };
const PHONE = { width: 360, height: 740, isMobile: true, hasTouch: true };

async function open(file, size, bypass = false) {
  const page = await browser.newPage();
  page.wrong = [];
  page.on('console', (said) => { if (said.type() === 'error') page.wrong.push(said.text()); });
  page.on('pageerror', (fault) => page.wrong.push(fault.message));
  page.on('request', (asked) => { if (asked.url() !== `file://${file}`) page.wrong.push(`asks for ${asked.url().slice(0, 80)}`); });
  await page.setViewport(size);
  // The checker of accessibility is a script of ours, which the page's own policy would not let run.
  if (bypass) await page.setBypassCSP(true);
  await page.goto(`file://${file}`);
  return page;
}

async function reads(file, size) {
  const page = await open(file, size);
  const seen = await page.evaluate(() => ({
    narrow: document.documentElement.scrollWidth <= window.innerWidth,
    poles: document.querySelectorAll('article').length,
    cautions: document.querySelectorAll('article .caution').length,
    boxes: document.querySelectorAll('article .form dt').length,
    styled: getComputedStyle(document.querySelector('.form')).display,
    first: document.querySelector('header .caution')?.textContent ?? '',
  }));
  check(seen.narrow, `${file}: sideways scrolling at ${size.width}`);
  check(seen.poles > 0 && seen.cautions === seen.poles, `${file}: each pole has its caution`);
  check(seen.boxes >= 8 * seen.poles, `${file}: there is room to write`);
  check(seen.styled === 'grid', `${file}: the policy lets the style in`);
  check(seen.first.includes('never clears a pole'), `${file}: the caution stands at the top`);
  check(page.wrong.length === 0, page.wrong.join('; '));
  return page;
}

async function accessible(file, size) {
  const page = await open(file, size, true);
  await page.evaluate(axe);
  const found = await page.evaluate(() => axe.run(document));
  check(found.passes.length > 8, 'axe looked at the page');
  const serious = found.violations.filter((one) => ['serious', 'critical'].includes(one.impact));
  check(serious.length === 0, JSON.stringify(serious.map((one) => [one.id, one.nodes[0].html])));
  await page.close();
}

try {
  assert.ok(sheets.length > 0, 'there is no page to open');
  for (const [place, file] of sheets.entries()) {
    for (const size of [DESK, PHONE]) {
      const page = await reads(file, size);
      if (pictures) {
        mkdirSync(pictures, { recursive: true });
        const name = join(pictures, `${basename(file, '.html')}-${size.width}`);
        await page.screenshot({ path: `${name}.png`, fullPage: place > 0 ? false : size === PHONE });
        if (size === DESK) await page.pdf({ path: `${name}.pdf`, format: 'A4' });
      }
      await page.close();
      await accessible(file, size);
    }
  }
  console.log(`${sheets.length} pages for the field: ${checks} checks passed`);
} finally {
  await browser.close();
}
