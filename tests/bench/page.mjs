// Times report.html as its reader feels it: `node page.mjs PACKAGES REPORT.html...`, with puppeteer-core installed in
// PACKAGES/node_modules and Chromium on the path. Prints a row for each page and fails at nothing: times are another
// machine's elsewhere. Frames are from a request to draw until the next frame, the picture included.
import { createRequire } from 'node:module';
import { statSync } from 'node:fs';
import { join, resolve } from 'node:path';

const [packages, ...reports] = process.argv.slice(2).map((path) => resolve(path));
const puppeteer = createRequire(join(packages, 'x.js'))('puppeteer-core');
const browser = await puppeteer.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', headless: true, args: ['--no-sandbox'] });

async function measured(report) {
  const page = await browser.newPage();
  await page.setViewport({ width: 1280, height: 900 });
  await page.goto(`file://${report}`);
  await page.waitForFunction(() => performance.getEntriesByName('polewright-whole').length > 0, { timeout: 120_000 });
  await page.$eval('#map-part', (part) => part.scrollIntoView({ behavior: 'instant' }));
  return page.evaluate(async () => {
    const at = (name) => Math.round(performance.getEntriesByName(name)[0].startTime);
    const frame = () => new Promise((then) => { requestAnimationFrame(() => { const drawn = new MessageChannel(); drawn.port1.onmessage = then; drawn.port2.postMessage(0); }); });
    const timed = async (act) => { await frame(); const from = performance.now(); act(); await frame(); return performance.now() - from; };
    const many = async (times, act) => {
      const all = [];
      for (let time = 0; time < times; time += 1) all.push(await timed(() => act(time)));
      all.sort((a, b) => a - b);
      const part = (share) => Math.round(all[Math.min(all.length - 1, Math.floor(share * all.length))]);
      return `${part(0.5)} (${part(0.95)})`;
    };
    const map = polewright.map;
    const home = [map.getCenter(), map.getZoom()];
    const pan = await many(60, (time) => map.panBy(time % 40 < 20 ? [13, 7] : [-13, -7], { animate: false }));
    const zoom = await many(30, (time) => map.setZoom(home[1] + 0.5 * (time % 6), { animate: false }));
    map.setView(...home, { animate: false });
    const hover = await many(30, (time) => map.getContainer().dispatchEvent(new MouseEvent('mousemove', { bubbles: true, clientX: 200 + 20 * time, clientY: 300 })));
    const sort = await many(5, () => document.querySelector('#poles [data-sort=p_below_limit_now]').click());
    const form = document.getElementById('filters');
    const find = document.getElementById('find');
    const search = await many(5, (time) => { find.value = `rot ${time}`; form.dispatchEvent(new Event('submit', { cancelable: true })); });
    find.value = '';
    form.dispatchEvent(new Event('submit', { cancelable: true }));
    return { poles: polewright.poles, first: at('polewright-first-picture'), whole: at('polewright-whole'), pan, zoom, hover, sort, search };
  });
}

console.log('| poles | MB | first picture ms | whole ms | pan, median (95 %) | zoom | hover | sort | search |\n|---|---|---|---|---|---|---|---|---|');
for (const report of reports) {
  const seen = await measured(report);
  const size = (statSync(report).size / 1e6).toFixed(1);
  console.log(`| ${seen.poles} | ${size} | ${seen.first} | ${seen.whole} | ${seen.pan} | ${seen.zoom} | ${seen.hover} | ${seen.sort} | ${seen.search} |`);
}
await browser.close();
