// Opens report.html in a browser as a reader would: `node page.mjs PACKAGES REPORT.html [HOSTILE.html [ESTIMATE.html]]`, with
// puppeteer-core and axe-core installed in PACKAGES/node_modules and Chromium on the path. HOSTILE.html is the report of a
// list with hostile text in every field (tests/hostile.rs writes one), ESTIMATE.html the page of `polewright estimate`. With
// PICTURES set, pictures at the sizes of a desk, a phone and paper are written there. Ends with 1 at the first thing that
// is not as it should be.
import assert from 'node:assert/strict';
import { createRequire } from 'node:module';
import { mkdirSync, mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { gunzipSync, gzipSync } from 'node:zlib';

const [packages, report, hostileReport, estimate] = process.argv.slice(2).map((path) => resolve(path));
const require = createRequire(join(packages, 'x.js'));
const puppeteer = require('puppeteer-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
// What must never act in a page: markup, an end of a script, a turn of the writing, a formula, a sign beyond 16 bits.
const HOSTILE = '</script><img src=x onerror=document.title="acted">\u202e"\'=1+1\u{1f332}';
const pictures = process.env.PICTURES;
if (pictures) mkdirSync(pictures, { recursive: true });
// Sheets of paper that a supplier's view may take.
const SUPPLIERS_SHEETS = 3;
let checks = 0;
const check = (holds, what) => { assert.ok(holds, what); checks += 1; };

const browser = await puppeteer.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', headless: true, args: ['--no-sandbox'] });

async function open(file, size, bypass = false, acts = true) {
  const page = await browser.newPage();
  page.wrong = [];
  page.on('console', (said) => { if (said.type() === 'error') page.wrong.push(said.text()); });
  page.on('pageerror', (fault) => page.wrong.push(fault.message));
  page.on('request', (asked) => { if (asked.url() !== `file://${file}`) page.wrong.push(`asks for ${asked.url().slice(0, 80)}`); });
  await page.setViewport(size);
  if (bypass) await page.setBypassCSP(true);
  await page.goto(`file://${file}`);
  if (acts) await page.waitForFunction(() => performance.getEntriesByName('polewright-whole').length > 0);
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
  // Its parts of the value of a visit, its time line and its chances in words.
  const told = await page.evaluate(() => {
    const worth = polewright.read('value_of_visit');
    const { of } = polewright.more.value;
    const pole = [...polewright.byRank].find((one) => of.some((part) => part(one)));
    if (pole === undefined) return null;
    polewright.tell('open', pole);
    const sum = of.reduce((all, part) => all + (part(pole) ?? 0), 0);
    return { sum, worth: worth(pole), text: document.getElementById('story-body').textContent, steps: document.querySelectorAll('#story .timeline li').length };
  });
  if (told) {
    check(told.text.includes('instead of only in'), 'the story says against what a visit is weighed');
    // Four parts and their sum, three figures each.
    check(Math.abs(told.sum - told.worth) <= 0.03 * Math.max(...[told.sum, told.worth].map(Math.abs)) + 5, `the parts add up: ${told.sum} ${told.worth}`);
    check(told.steps >= 2, 'the story has a time line');
    check(/about 1 in \d|about \d+ %|below 1 in 1,000|above 99 %/.test(told.text), 'chances are said in words');
  }
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

// Every thing that can be done is reached by the tabulator key alone, and shows that it is.
async function keyboard() {
  const page = await open(report, DESK);
  const met = new Set();
  for (let press = 0; press < 60; press += 1) {
    await page.keyboard.press('Tab');
    const own = await page.evaluate(() => {
      const one = document.activeElement;
      return { id: one.id || one.dataset.to || one.className, ring: getComputedStyle(one).outlineStyle !== 'none' };
    });
    check(own.ring, `${own.id} shows that it has the focus`);
    met.add(own.id);
  }
  for (const wanted of ['owner', 'supplier', 'print', 'colour', 'zoom-in', 'zoom-all', 'rounds', 'map', 'find', 'by-action', 'by-line', 'copy', 'link pole']) {
    check(met.has(wanted), `the keyboard reaches ${wanted}: ${[...met].join(' ')}`);
  }
  await page.focus('#rounds');
  await page.keyboard.press('Space');
  const walks = await page.evaluate(() => polewright.points.rounds?.length ?? 0);
  const packets = await page.evaluate(() => document.querySelectorAll('#packages .package').length);
  check(walks === packets, `the ways of the year's packages are on the map: ${walks} of ${packets}`);
  await page.keyboard.press('Space');
  if (packets > 0) {
    await page.focus('#packages .package');
    await page.keyboard.press('Enter');
    check(await page.evaluate(() => polewright.points.walk.length === polewright.shown.length), 'a package shows its poles on the map and in the list');
    await press(page, '#filters [type=reset]');
    await settle();
  }
  check(page.wrong.length === 0, page.wrong.join('; '));
  await page.close();
}

// Sheets of paper that a page takes: objects of the kind Page in the file.
async function sheets(page, name) {
  const file = Buffer.from(await page.pdf({ format: 'A4', ...(pictures ? { path: join(pictures, `${name}.pdf`) } : {}) }));
  return file.toString('latin1').match(/\/Type\s*\/Page(?![a-zA-Z])/g)?.length ?? 0;
}

async function paper(page) {
  await press(page, '[data-to=supplier]');
  const own = await sheets(page, 'supplier');
  check(own >= 1 && own <= SUPPLIERS_SHEETS, `the supplier's view takes ${own} sheets`);
  await press(page, '[data-to=owner]');
  const all = await sheets(page, 'owner');
  check(all > SUPPLIERS_SHEETS, `the owner's view takes ${all} sheets`);
  if (!estimate) return;
  const hour = await open(estimate, DESK, false, false);
  const one = await sheets(hour, 'estimate');
  check(one === 1, `the estimate takes ${one} sheets`);
  check(hour.wrong.length === 0, hour.wrong.join('; '));
}

async function pictured() {
  if (!pictures) return;
  for (const [name, size] of [['desk', DESK], ['phone', PHONE]]) {
    const page = await open(report, size);
    await page.screenshot({ path: join(pictures, `report-${name}.png`) });
    await page.screenshot({ path: join(pictures, `report-${name}-whole.png`), fullPage: true });
    await press(page, '#poles tbody button.pole');
    await settle();
    await page.screenshot({ path: join(pictures, `report-${name}-story.png`) });
    await page.close();
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

// The report of a list that is hostile itself: nothing acts, every story opens.
async function listed() {
  if (!hostileReport) return;
  const page = await open(hostileReport, DESK);
  const poles = await page.evaluate(() => {
    for (let pole = 0; pole < polewright.poles; pole += 1) polewright.tell('open', pole);
    return polewright.poles;
  });
  check(poles > 20, `a list of ${poles} poles`);
  check((await page.$$('img')).length === 0 && (await page.title()) !== 'acted', 'a hostile list makes no element and does nothing');
  check((await text(page, 'body')).includes('<img src=x'), 'and is there to be read');
  check(page.wrong.length === 0, page.wrong.join('; '));
  await page.close();
}

async function accessible(size, view, story = false) {
  const page = await open(report, size, true);
  await press(page, `[data-to=${view}]`);
  await page.evaluate(() => { for (const one of document.querySelectorAll('details')) one.open = true; });
  if (story) await press(page, '#poles tbody button.pole');
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
  await keyboard();
  await views(desk);
  await paper(desk);
  check(desk.wrong.length === 0, desk.wrong.join('; '));
  const phone = await open(report, PHONE);
  check(await phone.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth), 'a phone need not scroll sideways');
  check(phone.wrong.length === 0, phone.wrong.join('; '));
  await hostile();
  await listed();
  await pictured();
  await accessible(DESK, 'owner');
  await accessible(DESK, 'owner', true);
  await accessible(PHONE, 'owner');
  await accessible(DESK, 'supplier');
  console.log(`${report}: ${checks} checks of the page passed`);
} finally {
  await browser.close();
}
