// Unpacks the page's data and carries what its parts tell each other. Texts of the data reach the page as text only.
'use strict';
const polewright = (() => {
  const settings = JSON.parse(document.getElementById('settings').textContent);
  const bus = new EventTarget();
  const page = { settings, poles: 0, columns: {}, ready: false, shown: new Int32Array(0), rank: null, chosen: -1, more: null };

  page.on = (name, then) => bus.addEventListener(name, (event) => then(event.detail));
  page.tell = (name, detail) => bus.dispatchEvent(new CustomEvent(name, { detail }));

  // An element with attributes and children; a text becomes a text node, never markup.
  page.element = (name, attributes = {}, ...children) => {
    const made = document.createElement(name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    made.append(...children);
    return made;
  };
  page.svg = (name, attributes = {}, ...children) => {
    const made = document.createElementNS('http://www.w3.org/2000/svg', name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    made.append(...children);
    return made;
  };

  async function unpack(id) {
    const holder = document.getElementById(id);
    const letters = atob(holder.textContent);
    holder.remove();
    const bytes = new Uint8Array(letters.length);
    for (let place = 0; place < bytes.length; place += 1) bytes[place] = letters.charCodeAt(place);
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'));
    return new Response(stream).json();
  }

  // Whole numbers from the steps between them; what is not known is NaN.
  page.fromSteps = (packed, scale = 1) => {
    const numbers = new Float64Array(packed.steps.length);
    let at = 0;
    packed.steps.forEach((step, place) => {
      if (step === null) numbers[place] = NaN;
      else { at += step; numbers[place] = at / scale; }
    });
    return numbers;
  };

  // What a column holds in a row: a text, a number, or null.
  page.reader = (column) => {
    if (!column) return () => null;
    if (column.list) return (row) => column.list[row];
    return (row) => (column.at[row] < 0 ? null : column.words[column.at[row]]);
  };
  page.read = (name) => page.reader(page.columns[name]);

  async function start() {
    if (typeof DecompressionStream === 'undefined') {
      document.body.prepend(page.element('p', { class: 'caution' }, 'This browser is too old for the map and the list of this page: open it in a newer one, or use schedule.csv.'));
      return;
    }
    const first = await unpack('first-packet');
    page.poles = first.poles;
    page.columns = first.columns;
    page.x = page.fromSteps(first.x, 1e6);
    page.y = page.fromSteps(first.y, 1e6);
    page.rank = Int32Array.from(first.columns.rank.list);
    // Poles from the most urgent on.
    page.byRank = new Int32Array(page.poles);
    page.rank.forEach((rank, pole) => { page.byRank[rank - 1] = pole; });
    page.shown = page.byRank;
    document.documentElement.dataset.ready = 'yes';
    page.ready = true;
    page.tell('ready');
    performance.mark('polewright-first-picture');
    // The picture first, then what stories and searches need.
    await new Promise((then) => { setTimeout(then, 0); });
    const second = await unpack('second-packet');
    page.columns.reason = second.reason;
    page.columns.years_to_limit = second.years_to_limit;
    const starts = new Int32Array(page.poles + 1);
    second.inspections.counts.forEach((count, pole) => { starts[pole + 1] = starts[pole] + count; });
    page.more = {
      starts,
      days: page.fromSteps(second.inspections.day),
      verdict: page.reader(second.inspections.verdict),
      text: page.reader(second.inspections.text),
      curve: { years: second.curve.years, of: second.curve.columns.map(page.reader) },
      value: { names: second.value.names, of: second.value.parts.map(page.reader), otherwise: page.reader(second.value.otherwise) },
      packages: second.packages,
    };
    page.tell('more');
    performance.mark('polewright-whole');
  }

  function views() {
    const buttons = [...document.querySelectorAll('.views [data-to]')];
    document.querySelector('.views').hidden = false;
    const show = (view) => {
      document.documentElement.dataset.view = view;
      for (const button of buttons) button.setAttribute('aria-pressed', String(button.dataset.to === view));
      page.tell('view', view);
    };
    for (const button of buttons) button.addEventListener('click', () => show(button.dataset.to));
    document.getElementById('print').addEventListener('click', () => window.print());
    show(location.hash === '#supplier' ? 'supplier' : 'owner');
  }

  document.addEventListener('click', (event) => {
    const pole = event.target.closest('[data-pole]');
    if (pole && page.ready) page.tell('open', Number(pole.dataset.pole));
    const packet = event.target.closest('[data-package]');
    if (packet && page.more) page.tell('package', Number(packet.dataset.package));
  });
  document.addEventListener('DOMContentLoaded', () => { views(); start(); });
  return page;
})();
