// The ranked list: filter, search, sort, pages, copy. What it shows is what the map shows.
'use strict';
(() => {
  const page = polewright;
  const ROWS = 50;
  const element = page.element;
  // Heads: name, column, what it is sorted by, whether it is a number, whether a small screen may leave it out.
  const HEADS = [
    ['Rank', 'rank', 'rank', true, false],
    ['Pole', 'pole_id', '', false, false],
    ['Line', 'line', 'line', false, true],
    ['To do', 'action', 'action', false, false],
    ['Year', 'year', 'year', true, false],
    ['Due', 'due_date', 'due_date', false, true],
    ['Days overdue', 'overdue_days', 'overdue_days', true, true],
    ['Below the limit now', 'chance_now', 'p_below_limit_now', false, false],
    ['Last inspected', 'last_date', 'last_date', false, true],
    ['Why', 'reason', '', false, true],
  ];
  const at = { sort: 'rank', down: false, page: 0, members: null };
  const get = (id) => document.getElementById(id);
  const plain = (word) => String(word).replaceAll('_', ' ');

  // A number to sort each row by: texts by the place of their word in the alphabet.
  const keys = new Map();
  function keyOf(name) {
    if (keys.has(name)) return keys.get(name);
    const column = page.columns[name];
    const key = new Float64Array(page.poles);
    if (!column) key.fill(Infinity);
    else if (column.at) {
      const order = column.words.map((_, place) => place).sort((a, b) => (column.words[a] < column.words[b] ? -1 : 1));
      const placed = new Float64Array(order.length);
      order.forEach((word, place) => { placed[word] = place; });
      column.at.forEach((word, row) => { key[row] = word < 0 ? Infinity : placed[word]; });
    } else {
      column.list.forEach((value, row) => { key[row] = typeof value === 'number' ? value : Infinity; });
    }
    keys.set(name, key);
    return key;
  }

  // A test of rows by a text: for columns of few words each word is looked at once.
  function holds(name, wanted) {
    const column = page.columns[name];
    if (!column) return () => false;
    const fits = (text) => text !== null && String(text).toLowerCase().includes(wanted);
    if (column.at) {
      const words = column.words.map(fits);
      return (row) => column.at[row] >= 0 && words[column.at[row]];
    }
    return (row) => fits(column.list[row]);
  }

  function choose() {
    const wanted = get('find').value.trim().toLowerCase();
    const [action, year, line] = ['by-action', 'by-year', 'by-line'].map((id) => get(id).value);
    const least = Number(get('by-chance').value);
    const unplaced = get('by-unplaced').checked;
    const tests = [];
    if (action) {
      const [does, stands] = [page.read('action'), page.read('status')];
      tests.push(action === 'deferred' ? (row) => stands(row) === 'deferred' : (row) => does(row) === action && stands(row) !== 'deferred');
    }
    if (year) { const of = page.read('year'); tests.push((row) => String(of(row) ?? 'none') === year); }
    if (line) { const of = page.columns.line; const word = Number(line); tests.push((row) => of.at[row] === word); }
    if (least > 0) { const of = page.read('p_below_limit_now'); tests.push((row) => of(row) >= least); }
    if (unplaced) tests.push((row) => Number.isNaN(page.x[row]));
    if (at.members) tests.push((row) => at.members.has(row));
    if (wanted) {
      const any = ['pole_id', 'line', 'package', 'reason'].map((name) => holds(name, wanted));
      tests.push((row) => any.some((test) => test(row)));
    }
    let shown = page.byRank;
    if (tests.length) shown = shown.filter((row) => tests.every((test) => test(row)));
    if (at.sort === 'pole_id') shown = Int32Array.from(shown).sort();
    else if (at.sort !== 'rank') {
      const [key, rank] = [keyOf(at.sort), page.rank];
      shown = Int32Array.from(shown).sort((a, b) => {
        if (key[a] === key[b]) return rank[a] - rank[b];
        if (key[a] === Infinity) return 1;
        if (key[b] === Infinity) return -1;
        return at.down ? key[b] - key[a] : key[a] - key[b];
      });
    }
    if (at.down && (at.sort === 'rank' || at.sort === 'pole_id')) shown = Int32Array.from(shown).reverse();
    page.shown = shown;
    at.page = 0;
    page.tell('shown');
    draw();
  }

  function cell(head, row) {
    const [, name, , number, spare] = head;
    const value = page.read(name)(row);
    const kind = [number ? 'number' : '', spare ? 'spare' : ''].join(' ').trim();
    if (name === 'pole_id') {
      return element('th', { scope: 'row' }, element('button', { type: 'button', class: 'link pole', 'data-pole': row }, element('bdi', {}, String(value))));
    }
    let text = value === null || value === undefined ? '' : String(value);
    if (name === 'action') {
      text = plain(text);
      if (page.read('status')(row) === 'deferred') text += ' (deferred)';
    }
    return element('td', kind ? { class: kind } : {}, name === 'line' || name === 'reason' ? element('bdi', {}, text) : text);
  }

  function draw() {
    const pages = Math.max(1, Math.ceil(page.shown.length / ROWS));
    at.page = Math.max(0, Math.min(at.page, pages - 1));
    const rows = [...page.shown.subarray(at.page * ROWS, (at.page + 1) * ROWS)];
    document.querySelector('#poles tbody').replaceChildren(...rows.map((row) => element('tr', {}, ...HEADS.map((head) => cell(head, row)))));
    get('how-many').textContent = `${page.shown.length.toLocaleString('en')} of ${page.poles.toLocaleString('en')} poles.`;
    get('which-page').textContent = `Page ${(at.page + 1).toLocaleString('en')} of ${pages.toLocaleString('en')}`;
    get('first-page').disabled = get('page-before').disabled = at.page === 0;
    get('last-page').disabled = get('page-after').disabled = at.page === pages - 1;
  }

  function heads() {
    const row = document.querySelector('#poles thead tr');
    row.replaceChildren(...HEADS.map(([name, column, by, number, spare]) => {
      const kind = [number ? 'number' : '', spare ? 'spare' : ''].join(' ').trim();
      const head = element('th', { scope: 'col', ...(kind ? { class: kind } : {}) });
      const key = column === 'pole_id' ? 'pole_id' : by;
      if (!key) { head.append(name); return head; }
      head.setAttribute('aria-sort', key === at.sort ? (at.down ? 'descending' : 'ascending') : 'none');
      const button = element('button', { type: 'button', class: 'sort', 'data-sort': key }, name);
      button.addEventListener('click', () => {
        if (at.sort === key) at.down = !at.down;
        else { at.sort = key; at.down = ['p_below_limit_now', 'overdue_days'].includes(key); }
        heads();
        document.querySelector(`#poles [data-sort="${key}"]`).focus();
        choose();
      });
      head.append(button);
      return head;
    }));
  }

  // Rows for a spreadsheet: no cell of the data may act as a formula there.
  const harmless = (text) => (/^[=+\-@'\t\r]/.test(text) && Number.isNaN(Number(text)) ? `'${text}` : text);
  function rowsAsText() {
    const names = [...HEADS.map((head) => head[1]), 'caution'];
    const readers = names.map(page.read);
    const lines = [names.join('\t')];
    for (const row of page.shown) {
      lines.push(readers.map((read) => harmless(String(read(row) ?? '').replace(/[\t\r\n]+/g, ' '))).join('\t'));
    }
    return lines.join('\n');
  }
  async function copy() {
    const text = rowsAsText();
    try {
      await navigator.clipboard.writeText(text);
    } catch {
      const box = element('textarea', { 'aria-hidden': 'true' });
      box.value = text;
      document.body.append(box);
      box.select();
      document.execCommand('copy');
      box.remove();
    }
    get('copied').textContent = `Copied ${page.shown.length.toLocaleString('en')} rows. ${page.settings.caution}`;
  }

  function options() {
    const fill = (id, entries) => get(id).append(...entries.map(([value, name]) => element('option', { value }, name)));
    const used = (name) => new Set(page.columns[name]?.at?.length ? page.columns[name].words : page.columns[name]?.list ?? []);
    fill('by-action', [...[...used('action')].sort().map((word) => [word, plain(word)]), ['deferred', 'deferred']]);
    fill('by-year', [...[...used('year')].filter((year) => year !== null).sort((a, b) => a - b).map((year) => [year, year]), ['none', 'not planned']]);
    const lines = page.columns.line;
    if (lines?.at) fill('by-line', lines.words.map((word, place) => [place, word]).sort((a, b) => (a[1] < b[1] ? -1 : 1)));
    else get('by-line').parentElement.hidden = true;
  }

  function start() {
    options();
    heads();
    let waiting = 0;
    get('filters').addEventListener('input', () => { clearTimeout(waiting); waiting = setTimeout(choose, 120); });
    get('filters').addEventListener('submit', (event) => { event.preventDefault(); choose(); });
    get('filters').addEventListener('reset', () => setTimeout(() => page.tell('package', -1), 0));
    const turn = (id, to) => get(id).addEventListener('click', () => { at.page = to(); draw(); });
    turn('first-page', () => 0);
    turn('page-before', () => at.page - 1);
    turn('page-after', () => at.page + 1);
    turn('last-page', () => Infinity);
    get('copy').addEventListener('click', copy);
    get('show-unplaced')?.addEventListener('click', () => {
      get('by-unplaced').checked = true;
      choose();
      get('list-part').scrollIntoView();
      get('by-unplaced').focus();
    });
    page.on('package', (number) => {
      at.members = number < 0 ? null : new Set(page.fromSteps(page.more.packages[number].poles));
      choose();
    });
    page.on('more', draw);
    page.rowsAsText = rowsAsText;
    draw();
  }
  page.on('ready', start);
})();
