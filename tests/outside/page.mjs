// Opens report.html in a browser as a reader would: `node page.mjs PACKAGES REPORT.html`, with puppeteer-core and axe-core
// installed in PACKAGES/node_modules and Chromium on the path. Ends with 1 at the first thing that is not as it should be.
import assert from 'node:assert/strict';
import { createRequire } from 'node:module';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { gunzipSync, gzipSync } from 'node:zlib';

const [packages, report] = process.argv.slice(2).map((path) => resolve(path));
const require = createRequire(join(packages, 'x.js'));
const puppeteer = require('puppeteer-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
// What must never act in a page: markup, an end of a script, a turn of the writing, a formula, a sign beyond 16 bits.
const HOSTILE = '</script><img src=x onerror=document.title="acted">\u202e"\'=1+1\u{1f332}';
let checks = 0;
const check = (holds, what) => { assert.ok(holds, what); checks += 1; };

const browser = await puppeteer.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', headless: true, args: ['--no-sandbox'] });

async function open(file, size, bypass = false) {
  const page = await browser.newPage();
  page.wrong = [];
  page.on('console', (said) => { if (said.type() === 'error') page.wrong.push(said.text()); });
  page.on('pageerror', (fault) => page.wrong.push(fault.message));
  page.on('request', (asked) => { if (asked.url() !== `file://${file}`) page.wrong.push(`asks for ${asked.url().slice(0, 80)}`); });
  await page.setViewport(size);
  if (bypass) await page.setBypassCSP(true);
  await page.goto(`file://${file}`);
  await page.waitForFunction(() => performance.getEntriesByName('polewright-whole').length > 0);
  return page;
}
const DESK = { width: 1280, height: 900 };
const PHONE = { width: 360, height: 740, isMobile: true, hasTouch: true };
const text = (page, selector) => page.$eval(selector, (element) => element.textContent);
const press = (page, selector) => page.$eval(selector, (element) => element.click());
const settle = () => new Promise((then) => { setTimeout(then, 300); });

async function reads(page) {
  // How long it takes is for a measurement, not for a check.
  const pictures = await page.evaluate(() => performance.getEntriesByName('polewright-first-picture').length);
  check(pictures > 0, 'there is no first picture');
  const drawn = await page.$eval('#map canvas', (canvas) => {
    const colours = new Set(new Uint32Array(canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data.buffer));
    return colours.size;
  });
  check(drawn > 5, 'the map is blank');
}

async function list(page) {
  const all = await page.evaluate(() => polewright.poles);
  check((await page.$$('#poles tbody tr')).length === Math.min(50, all), 'the list shows its first page');
  await press(page, '#poles [data-sort=p_below_limit_now]');
  const [head, falls] = await page.evaluate(() => {
    const chance = polewright.read('p_below_limit_now');
    const shown = [...polewright.shown].map(chance);
    return [document.querySelector('th[aria-sort=descending]').textContent, shown.every((p, row) => row === 0 || p <= shown[row - 1])];
  });
  check(head === 'Below the limit now' && falls, 'the list is sorted by the chance');
  // By keyboard alone: the search, then the first pole of what it finds.
  const wanted = await page.evaluate(() => polewright.read('pole_id')(polewright.byRank[7]));
  await page.focus('#find');
  await page.keyboard.type(wanted);
  await page.keyboard.press('Enter');
  await settle();
  check((await page.$$('#poles tbody tr')).length >= 1 && (await text(page, '#poles tbody')).includes(wanted), 'the search finds an id');
  await page.focus('#poles tbody button.pole');
  await page.keyboard.press('Enter');
  check(await page.$eval('#story', (story) => story.open), 'Enter opens a story');
  check((await page.evaluate(() => document.activeElement.id)) === 'story-h', 'the story takes the focus');
  check((await text(page, '#story')).includes('never clears a pole'), 'the story has its caution');
  check((await text(page, '#story .why')).length > 10, 'the story says why');
  await page.keyboard.press('Escape');
  check(!(await page.$eval('#story', (story) => story.open)), 'Escape closes it');
  check(await page.evaluate(() => document.activeElement.classList.contains('pole')), 'the focus goes back');
  await press(page, '#filters [type=reset]');
  await settle();
  check((await page.evaluate(() => polewright.shown.length)) === all, 'Clear shows all poles');
}

async function map(page) {
  await page.$eval('#map-part', (part) => part.scrollIntoView({ behavior: 'instant' }));
  const before = await page.evaluate(() => polewright.map.getZoom());
  await press(page, '#zoom-in');
  check((await page.evaluate(() => polewright.map.getZoom())) > before, 'the button zooms');
  await page.focus('#map');
  const centre = () => page.evaluate(() => polewright.map.getCenter().lng);
  const west = await centre();
  await page.keyboard.press('ArrowRight');
  await settle();
  check((await centre()) > west, 'an arrow key moves the map');
  await press(page, '#zoom-all');
  const target = await page.evaluate(() => {
    const pole = polewright.byRank.find((one) => !Number.isNaN(polewright.x[one]));
    polewright.map.setView([polewright.y[pole], polewright.x[pole]], 19, { animate: false });
    const [x, y] = polewright.points.on(pole);
    const box = document.getElementById('map').getBoundingClientRect();
    return { x: box.x + x, y: box.y + y };
  });
  await page.mouse.click(target.x, target.y);
  check(await page.$eval('#story', (story) => story.open), 'a click on a pole opens its story');
  await press(page, '#story-close');
  for (const mode of ['now', 'later', 'due', 'action']) {
    await page.select('#colour', mode);
    const sum = await page.evaluate(() => polewright.points.counts.reduce((a, b) => a + b, 0));
    const placed = await page.evaluate(() => polewright.x.filter((x) => !Number.isNaN(x)).length);
    check(sum === placed, `the legend of ${mode} counts every pole`);
  }
}

async function views(page) {
  await press(page, '[data-to=supplier]');
  const shown = (id) => page.$eval(id, (part) => part.getBoundingClientRect().height > 0);
  check((await shown('#supplier-view')) && !(await shown('#owner-view')), 'the switch shows the supplier his part alone');
  await press(page, '[data-to=owner]');
  check((await shown('#owner-view')) && !(await shown('#supplier-view')), 'and the owner his');
}

// Puts hostile texts into every word of the packets, as if a list had held them.
function poisoned() {
  const spoil = (value) => {
    if (Array.isArray(value)) return value.map(spoil);
    if (value && typeof value === 'object') return Object.fromEntries(Object.entries(value).map(([key, part]) => [key, spoil(part)]));
    return typeof value === 'string' && !/^\d{4}-\d\d-\d\d$/.test(value) && !['planned', 'deferred', 'not_due', 'make_safe', 'replace', 'inspect'].includes(value) ? HOSTILE + value : value;
  };
  const page = readFileSync(report, 'utf8').replace(/(<script type="text\/plain" id="[a-z]+-packet">)([^<]*)/g, (whole, start, letters) =>
    start + gzipSync(JSON.stringify(spoil(JSON.parse(gunzipSync(Buffer.from(letters, 'base64')))))).toString('base64'));
  const file = join(mkdtempSync(join(tmpdir(), 'page-')), 'hostile.html');
  writeFileSync(file, page);
  return file;
}

async function hostile() {
  const page = await open(poisoned(), DESK);
  await press(page, '#poles tbody button.pole');
  check((await text(page, '#story-h')).includes('<img src=x'), 'hostile text is shown as text');
  check((await page.$$('img')).length === 0, 'and makes no element');
  check((await page.title()) !== 'acted', 'and does nothing');
  const copied = await page.evaluate(() => { polewright.columns.line = { list: new Array(polewright.poles).fill('=1+1') }; return polewright.rowsAsText().split('\n')[1]; });
  check(copied.includes("'=1+1"), 'a copied cell is no formula');
  check(page.wrong.length === 0, page.wrong.join('; '));
}

async function accessible(size, view) {
  const page = await open(report, size, true);
  await press(page, `[data-to=${view}]`);
  await page.evaluate(axe);
  const found = await page.evaluate(() => axe.run(document));
  check(found.passes.length > 15, 'axe looked at the page');
  const serious = found.violations.filter((one) => ['serious', 'critical'].includes(one.impact));
  check(serious.length === 0, JSON.stringify(serious.map((one) => [one.id, one.nodes[0].html])));
}

try {
  const desk = await open(report, DESK);
  await reads(desk);
  await list(desk);
  await map(desk);
  await views(desk);
  check(desk.wrong.length === 0, desk.wrong.join('; '));
  const phone = await open(report, PHONE);
  check(await phone.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth), 'a phone need not scroll sideways');
  check(phone.wrong.length === 0, phone.wrong.join('; '));
  await hostile();
  await accessible(DESK, 'owner');
  await accessible(PHONE, 'owner');
  await accessible(DESK, 'supplier');
  console.log(`${report}: ${checks} checks of the page passed`);
} finally {
  await browser.close();
}
