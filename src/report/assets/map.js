// The map: Leaflet moves it, one canvas layer of ours draws every pole at every frame, pixel by pixel.
'use strict';
(() => {
  const page = polewright;
  const EDGE = '#33475b';
  // One hue from light to dark; shape and size say the same again for eyes that tell no colours apart.
  const RAMP = ['#c3d9ee', '#9cc3e4', '#6ea6d8', '#4384c4', '#1f62a6', '#0b3c72'];

  const symbol = (label, shape, fill, grow = 0) => ({ label, shape, fill, grow });
  const CHANCES = [
    [0.01, symbol('below 1 in 100', 'circle', RAMP[0])],
    [0.05, symbol('1 in 100 to 1 in 20', 'circle', RAMP[1])],
    [0.1, symbol('1 in 20 to 1 in 10', 'circle', RAMP[2], 1)],
    [0.2, symbol('1 in 10 to 1 in 5', 'square', RAMP[3], 1)],
    [0.5, symbol('1 in 5 to 1 in 2', 'square', RAMP[4], 2)],
    [2, symbol('above 1 in 2', 'diamond', RAMP[5], 3)],
  ];

  function byAction() {
    const [action, status, year] = ['action', 'status', 'year'].map(page.read);
    const first = page.settings.first_year;
    const symbols = [
      symbol('not due in these years', 'dot', '#9aa5b1'),
      symbol('inspect later', 'circle', RAMP[1]),
      symbol(`inspect in ${first}`, 'circle', RAMP[4], 1),
      symbol('deferred: called for, no crew-days', 'ring', RAMP[4], 1),
      symbol('replace', 'square', RAMP[5], 2),
      symbol('make safe today', 'diamond', '#000000', 4),
    ];
    return { symbols, of: (pole) => {
      if (action(pole) === 'make_safe') return 5;
      if (action(pole) === 'replace') return 4;
      if (status(pole) === 'deferred') return 3;
      if (status(pole) === 'not_due') return 0;
      return year(pole) === first ? 2 : 1;
    } };
  }
  function byChance(name) {
    const chance = page.read(name);
    return { symbols: CHANCES.map((entry) => entry[1]), of: (pole) => CHANCES.findIndex((entry) => (chance(pole) ?? 0) < entry[0]) };
  }
  function byDue() {
    const due = page.read('due_date');
    const overdue = page.read('overdue_days');
    const first = page.settings.first_year;
    const symbols = [
      symbol('no date', 'dot', '#9aa5b1'),
      symbol(`after ${first + 9}`, 'circle', RAMP[0]),
      symbol(`${first + 5} to ${first + 9}`, 'circle', RAMP[1]),
      symbol(`${first + 2} to ${first + 4}`, 'circle', RAMP[2]),
      symbol(`${first + 1}`, 'square', RAMP[3], 1),
      symbol(`${first}`, 'square', RAMP[4], 1),
      symbol('overdue', 'diamond', RAMP[5], 2),
    ];
    return { symbols, of: (pole) => {
      if ((overdue(pole) ?? 0) > 0) return 6;
      const day = due(pole);
      if (day === null) return 0;
      const years = Number(day.slice(0, 4)) - first;
      return years <= 0 ? 5 : years < 2 ? 4 : years < 5 ? 3 : years < 10 ? 2 : 1;
    } };
  }
  const MODES = { action: byAction, now: () => byChance('p_below_limit_now'), later: () => byChance('p_below_limit_5y'), due: byDue };

  // The pixels of a shape: [across, down, whether it is the edge].
  function pixels(shape, radius) {
    const inside = (x, y, r) => {
      if (r < 0) return false;
      if (shape === 'square') return Math.max(Math.abs(x), Math.abs(y)) <= r;
      if (shape === 'diamond') return Math.abs(x) + Math.abs(y) <= r * 1.25;
      return x * x + y * y <= (r + 0.4) * (r + 0.4);
    };
    // Small symbols have no edge: it would drown their colour.
    const rim = shape === 'ring' ? Math.max(1, Math.round(radius / 4)) : radius < 4 ? 0 : Math.max(1, Math.round(radius / 6));
    const found = [];
    for (let y = -radius - 4; y <= radius + 4; y += 1) {
      for (let x = -radius - 4; x <= radius + 4; x += 1) {
        if (!inside(x, y, radius)) continue;
        const edge = !inside(x, y, radius - rim);
        if (shape === 'ring' && inside(x, y, radius - rim - 1)) continue;
        found.push([x, y, shape === 'ring' ? false : edge]);
      }
    }
    return found;
  }
  const packed = (colour) => {
    const value = parseInt(colour.slice(1), 16);
    return (0xff000000 | ((value & 255) << 16) | (value & 0xff00) | (value >> 16)) >>> 0;
  };

  const Points = L.Layer.extend({
    onAdd(map) {
      this.canvas = L.DomUtil.create('canvas', 'points', map.getPane('overlayPane'));
      this.canvas.setAttribute('aria-hidden', 'true');
      map.on('move moveend zoom zoomend viewreset resize', this.draw, this);
      this.draw();
    },
    // Where every pole is at zoom 0: done once.
    place() {
      const n = page.poles;
      this.px = new Float64Array(n);
      this.py = new Float64Array(n);
      for (let pole = 0; pole < n; pole += 1) {
        if (Number.isNaN(page.x[pole])) { this.px[pole] = NaN; this.py[pole] = NaN; continue; }
        const sine = Math.sin(Math.max(-85, Math.min(85, page.y[pole])) * Math.PI / 180);
        this.px[pole] = 256 * (0.5 + page.x[pole] / 360);
        this.py[pole] = 256 * (0.5 - Math.log((1 + sine) / (1 - sine)) / (4 * Math.PI));
      }
    },
    colour(mode) {
      const { symbols, of } = MODES[mode]();
      this.symbols = symbols;
      this.symbolOf = new Uint8Array(page.poles);
      for (let pole = 0; pole < page.poles; pole += 1) this.symbolOf[pole] = of(pole);
      this.order();
    },
    // The least marked first, so that what matters lies on top; within that the most urgent last.
    order() {
      const buckets = this.symbols.map(() => []);
      for (let place = page.shown.length - 1; place >= 0; place -= 1) {
        const pole = page.shown[place];
        if (!Number.isNaN(this.px[pole])) buckets[this.symbolOf[pole]].push(pole);
      }
      this.counts = buckets.map((bucket) => bucket.length);
      this.drawn = Int32Array.from(buckets.flat());
    },
    stamps(width, density, zoom) {
      const base = zoom < 11 ? 2 : zoom < 13 ? 3 : zoom < 15 ? 4 : zoom < 17 ? 6 : 8;
      const key = `${width} ${density} ${base} ${this.symbols.map((s) => s.label).join()}`;
      if (this.stampKey === key) return this.made;
      this.stampKey = key;
      this.made = this.symbols.map((s) => {
        const radius = Math.max(1, Math.round((s.shape === 'dot' ? base / 2 : base + Math.min(s.grow, base)) * density));
        const all = pixels(s.shape, radius);
        const [fill, edge] = [packed(s.fill), packed(s.shape === 'dot' ? s.fill : EDGE)];
        return { reach: radius + 5, offsets: Int32Array.from(all, ([x, y]) => y * width + x), colours: Uint32Array.from(all, (pixel) => (pixel[2] ? edge : fill)) };
      });
      return this.made;
    },
    draw() {
      const map = this._map;
      if (!map || !this.drawn) return;
      const size = map.getSize();
      const density = Math.min(window.devicePixelRatio || 1, 2);
      const [width, height] = [Math.round(size.x * density), Math.round(size.y * density)];
      if (!width || !height) return;
      const canvas = this.canvas;
      if (canvas.width !== width || canvas.height !== height) {
        canvas.width = width; canvas.height = height;
        canvas.style.width = `${size.x}px`; canvas.style.height = `${size.y}px`;
        this.image = null;
      }
      L.DomUtil.setPosition(canvas, map.containerPointToLayerPoint([0, 0]));
      const brush = canvas.getContext('2d');
      if (!this.image) {
        this.image = brush.createImageData(width, height);
        this.buffer = new Uint32Array(this.image.data.buffer);
      }
      this.splat(width, height, density);
      brush.setTransform(1, 0, 0, 1, 0, 0);
      brush.putImageData(this.image, 0, 0);
      brush.setTransform(density, 0, 0, density, 0, 0);
      this.route(brush);
      brush.globalCompositeOperation = 'destination-over';
      this.graticule(brush, size);
      brush.globalCompositeOperation = 'source-over';
      this.scaleBar(brush, size);
    },
    splat(width, height, density) {
      const { buffer, px, py, symbolOf } = this;
      const stamps = this.stamps(width, density, this._map.getZoom());
      const scale = 2 ** this._map.getZoom() * density;
      const corner = this._map.getPixelBounds().min.multiplyBy(density);
      buffer.fill(0);
      for (const pole of this.drawn) {
        const stamp = stamps[symbolOf[pole]];
        const x = (px[pole] * scale - corner.x) | 0;
        const y = (py[pole] * scale - corner.y) | 0;
        if (x < stamp.reach || y < stamp.reach || x >= width - stamp.reach || y >= height - stamp.reach) continue;
        const at = y * width + x;
        const { offsets, colours } = stamp;
        for (let pixel = 0; pixel < offsets.length; pixel += 1) buffer[at + offsets[pixel]] = colours[pixel];
      }
    },
    on(pole) {
      const scale = 2 ** this._map.getZoom();
      const corner = this._map.getPixelBounds().min;
      return [this.px[pole] * scale - corner.x, this.py[pole] * scale - corner.y];
    },
    // The walking order of one package.
    way(brush, poles) {
      let drawn = false;
      for (const pole of poles) {
        if (Number.isNaN(this.px[pole])) continue;
        const [x, y] = this.on(pole);
        if (drawn) brush.lineTo(x, y); else brush.moveTo(x, y);
        drawn = true;
      }
    },
    // The walking order of a chosen package or of all of the year, and a ring around the chosen pole.
    route(brush) {
      const walks = this.walk ? [this.walk] : this.rounds ?? [];
      if (walks.length) {
        brush.strokeStyle = '#0b3c72';
        brush.lineWidth = 1.5;
        brush.setLineDash([6, 4]);
        brush.beginPath();
        for (const poles of walks) this.way(brush, poles);
        brush.stroke();
        brush.setLineDash([]);
      }
      if (page.chosen >= 0 && !Number.isNaN(this.px[page.chosen])) {
        const [x, y] = this.on(page.chosen);
        for (const [colour, wide] of [['#ffffff', 6], ['#000000', 2.5]]) {
          brush.strokeStyle = colour;
          brush.lineWidth = wide;
          brush.beginPath();
          brush.arc(x, y, 14, 0, 7);
          brush.stroke();
        }
      }
    },
    graticule(brush, size) {
      const map = this._map;
      const bounds = map.getBounds();
      const wide = (bounds.getEast() - bounds.getWest()) / Math.max(2, size.x / 180);
      const step = [0.0005, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 30].find((s) => s >= wide) || 45;
      const digits = step < 1 ? Math.ceil(-Math.log10(step)) : 0;
      const named = (value, plus, minus) => `${Math.abs(value).toFixed(digits)}° ${value < 0 ? minus : plus}`;
      brush.strokeStyle = '#d5dbe1';
      brush.fillStyle = '#51606f';
      brush.font = '11px sans-serif';
      brush.lineWidth = 1;
      for (let west = Math.ceil(bounds.getWest() / step) * step; west < bounds.getEast(); west += step) {
        const x = Math.round(map.latLngToContainerPoint([bounds.getSouth(), west]).x) + 0.5;
        brush.fillText(named(west, 'E', 'W'), x + 3, 12);
        brush.beginPath(); brush.moveTo(x, 0); brush.lineTo(x, size.y); brush.stroke();
      }
      for (let south = Math.ceil(bounds.getSouth() / step) * step; south < bounds.getNorth(); south += step) {
        const y = Math.round(map.latLngToContainerPoint([south, bounds.getWest()]).y) + 0.5;
        brush.fillText(named(south, 'N', 'S'), 3, y - 3);
        brush.beginPath(); brush.moveTo(0, y); brush.lineTo(size.x, y); brush.stroke();
      }
    },
    scaleBar(brush, size) {
      const map = this._map;
      const metres = map.distance(map.containerPointToLatLng([0, size.y / 2]), map.containerPointToLatLng([100, size.y / 2]));
      const feet = page.settings.feet;
      const units = feet ? [[1609.344, 'mi'], [0.3048, 'ft']] : [[1000, 'km'], [1, 'm']];
      const [unit, name] = metres >= units[0][0] ? units[0] : units[1];
      const most = metres / unit;
      const ten = 10 ** Math.floor(Math.log10(most));
      const round = [5, 2, 1].map((n) => n * ten).find((n) => n <= most) || ten;
      const long = 100 * round / most;
      brush.fillStyle = 'rgba(255,255,255,0.85)';
      brush.fillRect(8, size.y - 32, long + 16, 26);
      brush.fillStyle = '#1c2733';
      brush.fillRect(16, size.y - 12, long, 3);
      brush.font = '12px sans-serif';
      brush.fillText(`${round} ${name}`, 16, size.y - 17);
    },
    nearest(point) {
      const scale = 2 ** this._map.getZoom();
      const corner = this._map.getPixelBounds().min;
      const [x, y] = [(point.x + corner.x) / scale, (point.y + corner.y) / scale];
      let [best, found] = [(12 / scale) ** 2, -1];
      for (const pole of this.drawn) {
        const [dx, dy] = [this.px[pole] - x, this.py[pole] - y];
        const far = dx * dx + dy * dy;
        // Later ones lie on top.
        if (far <= best) { best = far; found = pole; }
      }
      return found;
    },
  });

  function legend(points) {
    const list = document.getElementById('legend');
    list.replaceChildren(...points.symbols.map((s, place) => {
      const grid = pixels(s.shape, s.shape === 'dot' ? 3 : 6 + Math.min(s.grow, 2));
      const drawing = page.svg('svg', { viewBox: '-12 -12 24 24', width: 24, height: 24, 'shape-rendering': 'crispEdges', 'aria-hidden': 'true' },
        ...grid.map(([x, y, edge]) => page.svg('rect', { x: x - 0.5, y: y - 0.5, width: 1.05, height: 1.05, fill: edge && s.shape !== 'dot' ? EDGE : s.fill })));
      return page.element('li', {}, drawing, `${s.label} (${points.counts[place].toLocaleString('en')})`);
    }));
  }

  function start() {
    const calm = window.matchMedia('(prefers-reduced-motion: reduce)').matches;
    const map = L.map('map', { zoomControl: false, attributionControl: false, zoomAnimation: false, fadeAnimation: false, inertia: !calm, minZoom: 1, maxZoom: 21, zoomSnap: 0.5, wheelPxPerZoomLevel: 90 });
    const points = new Points();
    points.place();
    points.colour('action');
    const fit = (poles, closest) => {
      let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
      for (const pole of poles) {
        if (Number.isNaN(page.x[pole])) continue;
        west = Math.min(west, page.x[pole]); east = Math.max(east, page.x[pole]);
        south = Math.min(south, page.y[pole]); north = Math.max(north, page.y[pole]);
      }
      if (west <= east) map.fitBounds([[south, west], [north, east]], { animate: false, padding: [20, 20], maxZoom: closest });
      return west <= east;
    };
    if (!fit(page.byRank, 18)) map.setView([0, 0], 1);
    map.addLayer(points);
    legend(points);
    page.map = map;
    page.points = points;

    const told = document.getElementById('under-pointer');
    const rest = told.textContent;
    const [id, line, chance, packet, reason] = [page.read('pole_id'), page.read('line'), page.read('chance_now'), page.read('package'), (pole) => page.reader(page.columns.reason)(pole)];
    map.on('mousemove', (event) => {
      const pole = points.nearest(event.containerPoint);
      map.getContainer().classList.toggle('on-pole', pole >= 0);
      told.textContent = pole < 0 ? rest : `${id(pole)}${line(pole) === null ? '' : `, line ${line(pole)}`}${packet(pole) === null ? '' : `, package ${packet(pole)}`}: ${reason(pole) ?? `below the limit now ${chance(pole)}`}`;
    });
    map.on('click', (event) => {
      const pole = points.nearest(event.containerPoint);
      if (pole >= 0) page.tell('open', pole);
    });
    document.getElementById('colour').addEventListener('change', (event) => { points.colour(event.target.value); points.draw(); legend(points); });
    document.getElementById('zoom-in').addEventListener('click', () => map.zoomIn(1, { animate: false }));
    document.getElementById('zoom-out').addEventListener('click', () => map.zoomOut(1, { animate: false }));
    document.getElementById('zoom-all').addEventListener('click', () => fit(page.byRank, 18));
    const rounds = document.getElementById('rounds');
    const year = page.settings.first_year;
    rounds.nextElementSibling.textContent = `ways of the packages of ${year}`;
    rounds.addEventListener('change', () => {
      const of = page.more ? page.more.packages.filter((one) => one.year === year) : [];
      points.rounds = rounds.checked ? of.map((one) => page.fromSteps(one.poles)) : null;
      points.draw();
    });
    const leave = document.getElementById('clear-package');
    leave.addEventListener('click', () => page.tell('package', -1));
    page.on('shown', () => { points.order(); points.draw(); legend(points); });
    page.on('chosen', () => points.draw());
    page.on('view', () => map.invalidateSize({ animate: false }));
    page.on('place', (pole) => {
      document.getElementById('map-part').scrollIntoView();
      fit([pole], Math.max(map.getZoom(), 16));
    });
    page.on('package', (number) => {
      points.walk = number < 0 ? null : page.fromSteps(page.more.packages[number].poles);
      leave.hidden = number < 0;
      if (points.walk) {
        fit(points.walk, 18);
        document.getElementById('map-part').scrollIntoView();
      }
      points.draw();
    });
  }
  page.on('ready', start);
})();
