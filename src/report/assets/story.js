// A pole's story: why this pole, why now.
'use strict';
(() => {
  const page = polewright;
  const { element, svg } = page;
  const get = (id) => document.getElementById(id);
  // Columns told in sentences or of no use to a reader of one pole.
  const TOLD = new Set(['pole_id', 'caution', 'reason', 'years_to_limit', 'chance_now', 'chance_5y', 'value_of_visit',
    'p_below_limit_now', 'p_below_limit_5y', 'years_to_limit_p10', 'years_to_limit_p50', 'years_to_limit_p90', 'last_date', 'last_method', 'last_verdict']);
  const plain = (word) => String(word).replaceAll('_', ' ');
  let before = null;

  const dayOf = (number) => new Date(number * 86400000).toISOString().slice(0, 10);

  function curve(pole) {
    const { years, of } = page.more.curve;
    const chances = of.map((read) => read(pole)).filter((chance) => chance !== null);
    if (chances.length < 2) return [];
    const [wide, high, left, foot] = [320, 150, 46, 22];
    const last = years[chances.length - 1];
    const x = (place) => left + (wide - left - 20) * years[place] / last;
    const y = (chance) => 8 + (high - foot - 8) * (1 - chance);
    const said = chances.map((chance, place) => `${page.settings.first_year + years[place]}: ${chance}`).join(', ');
    const drawing = svg('svg', { class: 'chart small', viewBox: `0 0 ${wide} ${high}`, role: 'img', 'aria-label': `Probability of being below the limit when nothing is done: ${said}` });
    for (const [share, name] of [[0, '0'], [0.5, '1 in 2'], [1, '1']]) {
      drawing.append(svg('path', { class: 'grid', d: `M${left} ${y(share)}H${wide - 20}` }),
        svg('text', { class: 'axis', x: left - 4, y: y(share) + 4, 'text-anchor': 'end' }, name));
    }
    drawing.append(svg('path', { class: 'line', d: `M${chances.map((chance, place) => `${x(place)} ${y(chance)}`).join('L')}` }));
    chances.forEach((chance, place) => {
      drawing.append(svg('circle', { class: 'owners', cx: x(place), cy: y(chance), r: 3 }));
      if (years[place] % 10 === 0) drawing.append(svg('text', { class: 'axis', x: x(place), y: high - 6, 'text-anchor': 'middle' }, String(page.settings.first_year + years[place])));
    });
    return [element('figure', {}, element('figcaption', {}, 'Probability of being below the limit, when nothing is done'), drawing)];
  }

  // Set, inspections, plan and due date in the order of their days.
  function timeline(pole) {
    const read = (name) => page.read(name)(pole);
    const steps = [];
    const set = read('install_year');
    if (set !== null) steps.push([String(set), `set${read('install_year_source') === 'estimated' ? ' (estimated, only a mean)' : ''}`, 'set']);
    const { starts, days, verdict, text } = page.more;
    for (let seen = starts[pole]; seen < starts[pole + 1]; seen += 1) {
      steps.push([dayOf(days[seen]), text(seen), page.settings.rejects[verdict(seen)] ? 'reject' : 'seen']);
    }
    steps.push([page.settings.plan_from, 'this plan', 'plan']);
    if (read('due_date') !== null) steps.push([read('due_date'), 'due', 'due']);
    if (read('year') !== null) steps.push([String(read('year')), `planned: ${plain(read('action'))}`, 'due']);
    const order = steps.map((step, place) => [step, place]).sort((a, b) => {
      const [one, other] = [a[0][0], b[0][0]].map((day) => (day.length === 4 ? `${day}-12-31` : day));
      return one === other ? a[1] - b[1] : one < other ? -1 : 1;
    });
    return element('ol', { class: 'timeline' }, ...order.map(([[day, said, kind]]) => element('li', { class: kind }, element('time', {}, day), ' ', element('bdi', {}, said))));
  }

  function facts(pole) {
    const list = element('dl', { class: 'facts' });
    for (const name of Object.keys(page.columns)) {
      const value = page.read(name)(pole);
      if (TOLD.has(name) || value === null || value === undefined) continue;
      list.append(element('dt', {}, plain(name)), element('dd', {}, element('bdi', {}, ['action', 'method', 'status', 'priority', 'species', 'preservative', 'data_flags'].includes(name) ? plain(value).replaceAll(';', ', ') : String(value))));
    }
    return list;
  }

  // What a visit now would save and cost, part by part, for the poles of which the page has it.
  function value(pole) {
    const { names, of, otherwise } = page.more.value;
    const parts = of.map((read, place) => [read(pole), names[place]]).filter(([worth]) => worth !== null && worth !== 0);
    if (!parts.length) return [];
    const said = (worth) => `${worth > 0 ? '+' : '\u2212'}${Math.abs(worth).toLocaleString('en')}`;
    return [
      element('p', {}, `Going in ${page.settings.first_year} instead of only in ${otherwise(pole)}, in ${page.settings.money}:`),
      element('dl', { class: 'facts' }, ...parts.flatMap(([worth, name]) => [element('dt', { class: 'number' }, said(worth)), element('dd', {}, name)])),
    ];
  }

  function tell(pole) {
    const read = (name) => page.read(name)(pole);
    get('story-h').replaceChildren('Pole ', element('bdi', {}, String(read('pole_id'))));
    const body = [
      element('p', { class: 'why' }, element('bdi', {}, read('reason') ?? '')),
      element('p', { class: 'caution' }, read('caution') ?? page.settings.caution),
      element('h3', {}, 'Estimated condition at the groundline'),
      element('p', {}, `Probability of being below the limit: now ${read('chance_now')}, in five years ${read('chance_5y')}. ${read('years_to_limit') ?? ''}`),
    ];
    if (page.more) body.push(...curve(pole), element('h3', {}, 'What is recorded'), timeline(pole));
    body.push(element('h3', {}, 'Value of a visit'),
      element('p', {}, element('strong', {}, Number(read('value_of_visit') ?? 0).toLocaleString('en')), ` ${page.settings.money}. ${page.settings.value_of_visit}`),
      ...(page.more ? value(pole) : []),
      element('h3', {}, 'Facts'), facts(pole));
    const number = page.more ? page.more.packages.findIndex((one) => one.name === read('package')) : -1;
    if (number >= 0) body.push(element('p', {}, element('button', { type: 'button', 'data-package': number }, 'Its package on the map')));
    get('story-body').replaceChildren(...body);
  }

  function open(pole) {
    const story = get('story');
    page.chosen = pole;
    tell(pole);
    if (!story.open) {
      before = document.activeElement;
      story.show();
      document.body.classList.add('with-story');
    }
    story.scrollTop = 0;
    get('story-h').focus();
    page.tell('chosen', pole);
  }
  function close() {
    get('story').close();
    document.body.classList.remove('with-story');
    page.chosen = -1;
    page.tell('chosen', -1);
    if (before && before.isConnected) before.focus();
  }
  function turn(by) {
    const place = page.shown.indexOf(page.chosen);
    const next = page.shown[place + by];
    if (next !== undefined) open(next);
  }
  page.on('open', open);
  page.on('more', () => { if (page.chosen >= 0) tell(page.chosen); });
  page.on('ready', () => {
    get('story-close').addEventListener('click', close);
    get('story-before').addEventListener('click', () => turn(-1));
    get('story-after').addEventListener('click', () => turn(1));
    get('story-print').addEventListener('click', () => window.print());
    get('story-map').addEventListener('click', () => {
      const pole = page.chosen;
      if (window.matchMedia('(max-width: 800px)').matches) close();
      page.chosen = pole;
      page.tell('place', pole);
    });
    document.addEventListener('keydown', (event) => { if (event.key === 'Escape' && get('story').open) close(); });
  });
})();
