"use strict";
/* The area map. Data come from the page's own data block; every word is put in as text, never as markup; nothing is fetched. */
(function () {
  const data = JSON.parse(document.getElementById("data").textContent);
  const T = data.texts, SVG = "http://www.w3.org/2000/svg";
  const ROW = 0, NAME = 1, FIND = 2, LAT = 3, LON = 4, STATES = 5, CHANCE = 6, WHY = 7, ASK = 8, SURE = 9, SHEET = 10, ID = 11, SPOT = 12, WEDGES = 13, AIM = 14, SITE = 15;
  const SERVICES = ["satellite", "terrestrial", "mobile"];
  const compassWords = T.compass.split("|");
  const rows = data.rows, PAGE = 40;
  const maps = data.overlays.map((one) => ({ ...one, nw: ground(one.bounds[1][0], one.bounds[0][1]), se: ground(one.bounds[0][0], one.bounds[1][1]) }));
  // a map of the area (or -1) with the question that the marks of the addresses answer meanwhile; a place that was pointed at
  const state = { question: 0, map: -1, place: null, shown: new Set([0, 1, 2, 3]), row: -1, listed: PAGE, measuring: false };
  const asking = () => (state.map >= 0 ? maps[state.map].key : data.questions[state.question]);
  function ground(lat, lon) { return L.CRS.EPSG3857.latLngToPoint(L.latLng(lat, lon), 0); }
  const $ = (id) => document.getElementById(id);

  // ---- words ----
  const fill = (words, values) => words.replace(/\{(\w+)\}/g, (all, name) => (name in values ? values[name] : all));
  function unpack(packed) {
    if (!packed) return "";
    const parts = packed.split("|"), pattern = data.patterns[+parts[0]].split("#");
    return pattern.map((part, k) => part + (k + 1 < pattern.length ? parts[k + 1] : "")).join("");
  }
  function distance(m) {
    const tenth = (value) => value.toLocaleString(document.documentElement.lang, { minimumFractionDigits: 1, maximumFractionDigits: 1 });
    if (data.feet) {
      const feet = m / 0.3048, miles = m / 1609.344;
      if (feet < 99.5) return Math.round(feet) + " ft";
      return feet < 2640 ? +feet.toPrecision(2) + " ft" : (miles < 9.95 ? tenth(miles) : Math.round(miles)) + " mi";
    }
    if (m < 9.95) return tenth(m) + " m";
    if (m < 995) return String(+m.toPrecision(2)) + " m";
    return (m < 9950 ? tenth(m / 1000) : Math.round(m / 1000)) + " km";
  }
  const compass = (deg) => compassWords[Math.round((((deg % 360) + 360) % 360) / 22.5) % 16];
  const service = (key) => SERVICES.indexOf(key.split("-")[0]);
  const stateOf = (row, question) => +row[STATES][question];
  const reason = (row, k) => unpack(row[WHY].length === 1 ? row[WHY][0] : row[WHY][k]);
  const sure = (row, k) => (row[SURE] ? unpack(row[SURE].length === 1 ? row[SURE][0] : row[SURE][k]) : "");
  const placed = (row) => row[LAT] !== null && row[LAT] !== undefined;
  function el(tag, css, words) {
    const made = document.createElement(tag);
    if (css) made.className = css;
    if (words !== undefined) made.textContent = words;
    return made;
  }
  function mark(k) {
    const svg = document.createElementNS(SVG, "svg"), use = document.createElementNS(SVG, "use");
    svg.setAttribute("class", "mark"); svg.setAttribute("aria-hidden", "true");
    use.setAttribute("href", "#mark-" + data.states[k]);
    svg.appendChild(use);
    return svg;
  }

  // ---- places on the ground (drawing only): radii of curvature of the WGS84 ellipsoid at one latitude ----
  const RAD = Math.PI / 180;
  function radii(lat) {
    const e2 = 0.00669437999014, w = Math.sqrt(1 - e2 * Math.sin(lat * RAD) ** 2);
    return { north: (6378137 * (1 - e2)) / w ** 3, east: (6378137 / w) * Math.cos(lat * RAD) };
  }
  function along(lat, lon, bearing, metres) {
    const north = metres * Math.cos(bearing * RAD), east = metres * Math.sin(bearing * RAD);
    const middle = lat + north / radii(lat).north / RAD / 2, r = radii(middle);
    return [lat + north / r.north / RAD, lon + east / r.east / RAD];
  }
  function between(a, b) {
    const r = radii((a.lat + b.lat) / 2), north = (b.lat - a.lat) * RAD * r.north, east = (b.lng - a.lng) * RAD * r.east;
    return { metres: Math.hypot(north, east), bearing: Math.atan2(east, north) / RAD };
  }

  // ---- the land ----
  const map = L.map("map", { attributionControl: false, zoomControl: false, zoomAnimation: false, fadeAnimation: false, markerZoomAnimation: false,
    inertia: false, zoomSnap: 0.5, minZoom: 2, maxZoom: 20, worldCopyJump: false });
  map.createPane("marks").style.zIndex = 450;
  map.getPane("marks").style.pointerEvents = "none";
  map.createPane("relief").style.zIndex = 250;
  map.createPane("values").style.zIndex = 300;
  map.getPane("values").style.pointerEvents = "none";
  // streets from the one server that the plan names, grey like all that lies beneath; without it nothing is asked for
  if (data.tiles) {
    map.createPane("streets").style.zIndex = 200;
    L.tileLayer(data.tiles, { pane: "streets", maxZoom: 20, maxNativeZoom: 19, attribution: "", referrerPolicy: "no-referrer" }).addTo(map);
    map.getContainer().classList.add("streets");
  }
  L.control.scale({ metric: !data.feet, imperial: !!data.feet, position: "bottomleft", maxWidth: 140 }).addTo(map);
  const drawn = L.layerGroup().addTo(map), ruler = L.layerGroup().addTo(map);
  // rows that nothing is known of may lie anywhere: what was judged says where to look
  const judged = rows.filter((row) => placed(row) && stateOf(row, 0) !== 3);
  const all = L.latLngBounds((judged.length ? judged : rows.filter(placed)).map((row) => [row[LAT], row[LON]]));
  function whole() {
    if (all.isValid()) map.fitBounds(all.pad(0.08), { maxZoom: 17, animate: false });
    else if (maps.length) map.fitBounds(maps[0].bounds, { animate: false });
    else if (data.pictures.length) map.fitBounds(data.pictures[0].bounds, { animate: false });
    else map.setView([0, 0], 2, { animate: false });
  }

  // ---- marks: one canvas, a small picture of each state copied to each address ----
  const darkMode = window.matchMedia("(prefers-color-scheme: dark)");
  const RADIUS = 8, SIZE = 28;
  function sprite(paint) {
    const c = document.createElement("canvas"), ratio = window.devicePixelRatio || 1;
    c.width = c.height = SIZE * ratio;
    const g = c.getContext("2d");
    g.scale(ratio, ratio); g.translate(SIZE / 2, SIZE / 2);
    paint(g);
    return c;
  }
  function disc(g, r) { g.beginPath(); g.arc(0, 0, r, 0, 2 * Math.PI); }
  const styles = getComputedStyle(document.documentElement);
  const tone = (name) => styles.getPropertyValue(name).trim();
  let sprites;
  function paintSprites() {
    const outline = "#16202a";
    sprites = [
      sprite((g) => { disc(g, RADIUS + 2.5); g.fillStyle = "#fff"; g.fill(); disc(g, RADIUS); g.fillStyle = tone("--book"); g.fill(); g.lineWidth = 1.5; g.strokeStyle = outline; g.stroke(); }),
      sprite((g) => { disc(g, RADIUS + 2.5); g.fillStyle = "#fff"; g.fill(); g.beginPath(); g.arc(0, 0, RADIUS, Math.PI / 2, 1.5 * Math.PI); g.closePath(); g.fillStyle = tone("--survey"); g.fill();
        g.lineWidth = 1.5; g.strokeStyle = outline; g.stroke(); disc(g, RADIUS); g.stroke(); }),
      sprite((g) => { disc(g, RADIUS + 2.5); g.fillStyle = "#fff"; g.fill(); g.lineWidth = 3.2; g.strokeStyle = "#4d4d4d"; disc(g, RADIUS - 1); g.stroke(); g.lineCap = "round"; g.beginPath(); g.moveTo(-5, 5); g.lineTo(5, -5); g.stroke(); }),
      sprite((g) => { g.fillStyle = "#fff"; g.fillRect(-RADIUS - 1.5, -RADIUS - 1.5, 2 * RADIUS + 3, 2 * RADIUS + 3); g.lineWidth = 1.7; g.strokeStyle = outline; g.setLineDash([3, 2.4]); g.strokeRect(-RADIUS + 1, -RADIUS + 1, 2 * RADIUS - 2, 2 * RADIUS - 2); }),
    ];
  }
  const spots = rows.map((row) => (placed(row) ? ground(row[LAT], row[LON]) : null));
  const sender = (s) => ground(s[1], s[2]);
  const transmitters = data.transmitters.map(sender), sites = data.sites.map(sender);
  const DRAW_ORDER = [0, 3, 2, 1];
  // A canvas over the view and somewhat around it, drawn again after each move.
  const Sheet = L.Layer.extend({
    onAdd: function () {
      this.canvas = L.DomUtil.create("canvas", "", map.getPane(this.pane));
      this.canvas.setAttribute("aria-hidden", "true");
      map.on("moveend zoomend resize viewreset", this.draw, this);
    },
    draw: function () {
      const view = map.getSize(), pad = view.multiplyBy(0.3), ratio = window.devicePixelRatio || 1, c = this.canvas;
      const corner = map.containerPointToLayerPoint(pad.multiplyBy(-1)).round(), wide = view.x + 2 * pad.x, high = view.y + 2 * pad.y;
      L.DomUtil.setPosition(c, corner);
      c.width = wide * ratio; c.height = high * ratio; c.style.width = wide + "px"; c.style.height = high + "px";
      const g = c.getContext("2d"), scale = Math.pow(2, map.getZoom()), origin = map.getPixelOrigin();
      g.scale(ratio, ratio);
      this.paint(g, (p) => [p.x * scale - origin.x - corner.x, p.y * scale - origin.y - corner.y], wide, high, pad);
    },
  });
  // The land: only the part of each picture that is seen is drawn. (As an image element a picture is scaled as a whole, to tens of
  // thousands of pixels close by, and browsers then draw parts of it some pixels off.)
  const Relief = Sheet.extend({
    pane: "relief",
    pictures: data.pictures.map((p) => {
      const image = new Image();
      image.onload = () => relief.draw();
      image.src = p.picture;
      const [[south, west], [north, east]] = p.bounds;
      return { image: image, from: ground(north, west), to: ground(south, east) };
    }),
    rings: data.outlines.map((flat) => {
      const corners = [];
      let lon = 0, lat = 0;
      for (let k = 0; k < flat.length; k += 2) { lon += flat[k]; lat += flat[k + 1]; corners.push(ground(lat / 1e6, lon / 1e6)); }
      return corners;
    }),
    outline: function (g, at, wide, high) {
      if (map.getZoom() < 14) return;
      const path = new Path2D();
      this.rings.forEach((ring) => {
        const [x0, y0] = at(ring[0]);
        if (x0 < -300 || y0 < -300 || x0 > wide + 300 || y0 > high + 300) return;
        path.moveTo(x0, y0);
        for (let k = 1; k < ring.length; k++) path.lineTo(...at(ring[k]));
        path.closePath();
      });
      g.fillStyle = "rgb(60 66 71 / .16)"; g.fill(path);
      g.lineWidth = map.getZoom() < 16 ? 0.8 : 1.3; g.strokeStyle = "#4a5157"; g.stroke(path);
    },
    paint: function (g, at, wide, high) {
      this.pictures.forEach((p) => {
        if (!p.image.complete || !p.image.naturalWidth) return;
        const [x0, y0] = at(p.from), [x1, y1] = at(p.to), w = (x1 - x0) / p.image.naturalWidth, h = (y1 - y0) / p.image.naturalHeight;
        const left = Math.max(0, Math.floor(-x0 / w) - 1), right = Math.min(p.image.naturalWidth, Math.ceil((wide - x0) / w) + 1);
        const top = Math.max(0, Math.floor(-y0 / h) - 1), foot = Math.min(p.image.naturalHeight, Math.ceil((high - y0) / h) + 1);
        if (right > left && foot > top) g.drawImage(p.image, left, top, right - left, foot - top, x0 + left * w, y0 + top * h, (right - left) * w, (foot - top) * h);
      });
      this.outline(g, at, wide, high);
      document.documentElement.dataset.land = this.pictures.every((p) => p.image.complete) ? "drawn" : "coming";
    },
  });
  const relief = new Relief();
  // The answer to a question about the whole area, cell by cell.
  const Values = Sheet.extend({
    pane: "values",
    paint: function (g, at, wide, high) {
      const one = maps[state.map];
      if (one && one.grid) {
        const [x0, y0] = at(one.nw), [x1, y1] = at(one.se);
        AreaMaps.draw(g, one, { x0, y0, x1, y1 }, wide, high, window.devicePixelRatio || 1, darkMode.matches);
      }
      document.documentElement.dataset.values = one && one.grid ? one.key : "";
    },
  });
  const values = new Values();
  function fetchMap() {
    const one = maps[state.map];
    values.draw();
    if (!one || one.grid) return;
    AreaMaps.codesOf(one).then(() => { if (maps[state.map] === one) values.draw(); }, () => { panel.replaceChildren(el("p", "", T.place_missing)); });
  }
  function saidAt(one, at) {
    const p = ground(at.lat, at.lng);
    return AreaMaps.words(one, (p.x - one.nw.x) / (one.se.x - one.nw.x), (p.y - one.nw.y) / (one.se.y - one.nw.y), T.place_say_outside);
  }
  const Marks = Sheet.extend({
    pane: "marks",
    paint: function (g, at, wide, high, pad) {
      const key = state.map >= 0 ? "" : data.questions[state.question];
      this.named = [];
      if (key === "job" || key === "mobile") sites.forEach((p, k) => this.sender(g, at(p), false, key === "mobile" ? data.sites[k][0] : ""));
      if (key === "job" || key === "terrestrial") transmitters.forEach((p, k) => this.sender(g, at(p), true, data.transmitters[k][0]));
      // many marks at once are drawn smaller, so that the land stays to be seen
      let within = 0;
      for (const p of spots) if (p) { const [x, y] = at(p); if (x > pad.x && y > pad.y && x < wide - pad.x && y < high - pad.y) within++; }
      const show = within > 4000 ? 13 : within > 1200 ? 16 : within > 400 ? 20 : SIZE;
      for (const wanted of DRAW_ORDER) {
        if (!state.shown.has(wanted)) continue;
        for (let k = 0; k < rows.length; k++) {
          if (!spots[k] || +rows[k][STATES][state.question] !== wanted) continue;
          const [x, y] = at(spots[k]);
          if (x > -20 && y > -20 && x < wide + 20 && y < high + 20) g.drawImage(sprites[wanted], x - show / 2, y - show / 2, show, show);
        }
      }
      const row = rows[state.row];
      if (row && spots[state.row]) {
        const [x, y] = at(spots[state.row]);
        g.lineWidth = 7; g.strokeStyle = "#fff"; g.beginPath(); g.arc(x, y, 15, 0, 2 * Math.PI); g.stroke();
        g.lineWidth = 3.5; g.strokeStyle = tone("--accent"); g.stroke();
        g.drawImage(sprites[stateOf(row, state.question)], x - SIZE / 2, y - SIZE / 2, SIZE, SIZE);
      }
    },
    sender: function (g, [x, y], tall, name) {
      g.beginPath();
      if (tall) { g.moveTo(x, y - 9); g.lineTo(x + 7, y + 6); g.lineTo(x - 7, y + 6); } else { g.moveTo(x, y - 7); g.lineTo(x + 6, y); g.lineTo(x, y + 7); g.lineTo(x - 6, y); }
      g.closePath(); g.lineWidth = 4; g.strokeStyle = "#fff"; g.stroke(); g.fillStyle = "#1d2327"; g.fill();
      if (!name) return;
      // a name that would lie on another is left out; closer by there is room for it
      g.font = "600 13px system-ui, sans-serif";
      const half = g.measureText(name).width / 2 + 4;
      if (this.named.some((n) => Math.abs(n[0] - x) < n[2] + half && Math.abs(n[1] - y) < 18)) return;
      this.named.push([x, y, half]);
      g.textAlign = "center"; g.lineWidth = 4; g.lineJoin = "round";
      g.strokeText(name, x, y + 22); g.fillText(name, x, y + 22);
    },
  });
  const marks = new Marks();

  function nearest(point, reach) {
    const scale = Math.pow(2, map.getZoom()), origin = map.getPixelOrigin(), p = map.containerPointToLayerPoint(point);
    let best = -1, least = reach * reach;
    for (let k = 0; k < rows.length; k++) {
      if (!spots[k] || !state.shown.has(stateOf(rows[k], state.question))) continue;
      const dx = spots[k].x * scale - origin.x - p.x, dy = spots[k].y * scale - origin.y - p.y, d = dx * dx + dy * dy;
      if (d <= least) { least = d; best = k; }
    }
    return best;
  }

  // ---- one address: lines to what it points at, wedges to what stands in the way ----
  let tags = [];
  function tag(at, words) {
    // beside the place, on the side where there is room
    const p = map.latLngToContainerPoint(at), right = p.x < map.getSize().x * 0.55;
    const room = Math.max(80, (right ? map.getSize().x - p.x : p.x) - 16), full = 7.4 * words.length, wide = Math.min(full, room);
    const high = 17 * Math.ceil(full / room), box = { left: right ? p.x + 8 : p.x - 8 - wide, wide: wide, y: p.y, high: high };
    while (tags.some((t) => t.y < box.y + high && box.y < t.y + t.high && t.left < box.left + wide && box.left < t.left + t.wide)) box.y += 17;
    tags.push(box);
    const made = el("span", "", words);
    made.style.maxWidth = room + "px";
    L.marker(at, { interactive: false, keyboard: false, icon: L.divIcon({ className: right ? "tag" : "tag before", html: made, iconSize: [0, 0], iconAnchor: [-8, 8 - (box.y - p.y)] }) }).addTo(drawn);
  }
  function drawRow() {
    drawn.clearLayers();
    tags = [];
    const row = rows[state.row];
    if (state.place) {
      L.circleMarker(state.place, { radius: 9, color: "#fff", weight: 6, fill: false, interactive: false }).addTo(drawn);
      L.circleMarker(state.place, { radius: 9, color: tone("--accent"), weight: 3, fill: false, interactive: false, className: "place" }).addTo(drawn);
    }
    if (!row || !placed(row)) return;
    const accent = tone("--accent"), from = row[SPOT] ? row[SPOT] : [row[LAT], row[LON]], home = [row[LAT], row[LON]], key = data.questions[state.question];
    const halo = (path) => L.polyline(path, { color: "#fff", weight: 6, opacity: 0.8, interactive: false }).addTo(drawn);
    if (row[AIM] && (key === "job" || key === "terrestrial")) aimLine(row[AIM], data.transmitters, null);
    if (row[SITE] && (key === "job" || key === "mobile")) aimLine(row[SITE], data.sites, "2 7");
    function aimLine(aim, senders, dashes) {
      const to = senders[aim[0]];
      halo([home, [to[1], to[2]]]);
      L.polyline([home, [to[1], to[2]]], { color: "#1d2327", weight: 2, dashArray: dashes, interactive: false }).addTo(drawn);
      if (aim[2] > 0) {
        if (key !== "job") wedge(home, aim[1], aim[2], 2);
        const at = along(home[0], home[1], aim[1], aim[2]);
        L.circleMarker(at, { radius: 4, color: "#1d2327", weight: 2, fillColor: "#fff", fillOpacity: 1, interactive: false }).addTo(drawn);
        if (key !== "job") tag(at, fill(T.map_blocks_at, { distance: distance(aim[2]) }));
      }
    }
    // from the address to what blocks, and across where that stands
    function wedge(from, bearing, metres, half) {
      const edge = [];
      for (let turn = -half; turn <= half; turn += half / 4) edge.push(along(from[0], from[1], bearing + turn, metres));
      L.polygon([from].concat(edge), { color: accent, weight: 1.5, fillColor: accent, fillOpacity: 0.28, interactive: false, className: "wedge" }).addTo(drawn);
      L.polyline(edge, { color: accent, weight: 5, interactive: false }).addTo(drawn);
    }
    if (row[WEDGES] && key !== "terrestrial" && key !== "mobile") {
      row[WEDGES].forEach(([bearing, metres, words]) => {
        wedge(from, bearing, metres, 4);
        tag(along(from[0], from[1], bearing, metres), unpack(words));
      });
    }
  }

  // ---- panel ----
  const panel = $("panel");
  function matches() {
    const words = $("find").value.trim().toLowerCase();
    const found = [];
    rows.forEach((row, k) => {
      if (!state.shown.has(stateOf(row, state.question))) return;
      if (words && String(row[ROW]) !== words && !(row[NAME] + " · " + row[FIND]).toLowerCase().includes(words)) return;
      found.push(k);
    });
    const lead = { 1: 0, 3: 1, 2: 2, 0: 2 }, which = service(data.questions[state.question]);
    const chance = (row) => (!row[CHANCE] ? -1 : which >= 0 ? row[CHANCE][which] : Math.max.apply(null, row[CHANCE]));
    return found.sort((a, b) => {
      const x = lead[stateOf(rows[a], state.question)], y = lead[stateOf(rows[b], state.question)];
      return x - y || (x === 0 ? chance(rows[b]) - chance(rows[a]) : 0) || a - b;
    });
  }
  function list() {
    const found = matches();
    panel.replaceChildren();
    panel.setAttribute("aria-label", T.map_list);
    panel.appendChild(el("h2", "", T.map_list));
    const lead = el("p", "soft small", fill(T.map_shown, { shown: found.length.toLocaleString(document.documentElement.lang), rows: rows.length.toLocaleString(document.documentElement.lang) }) + ". " + T.map_order);
    lead.setAttribute("role", "status");
    panel.appendChild(lead);
    if (!found.length) panel.appendChild(el("p", "", $("find").value ? T.map_none_found : T.map_none_shown));
    const ul = el("ul");
    found.slice(0, state.listed).forEach((k) => {
      const row = rows[k], li = el("li"), button = el("button", "row-button"), which = service(data.questions[state.question]);
      const s = stateOf(row, state.question);
      button.type = "button";
      button.append(mark(s), el("span", "name", row[NAME]), el("span", "soft small", fill(T.row, { row: row[ROW] })));
      const first = which >= 0 ? which : Math.max(0, SERVICES.findIndex((key) => stateOf(row, data.questions.indexOf(key)) === s));
      button.append(el("span", "why", data.state_words[s] + ": " + reason(row, first)));
      button.addEventListener("click", () => choose(k, true));
      li.appendChild(button);
      ul.appendChild(li);
    });
    panel.appendChild(ul);
    if (found.length > state.listed) {
      const more = el("button", "plainlink", fill(T.map_more, { count: Math.min(PAGE, found.length - state.listed) }));
      more.type = "button";
      more.addEventListener("click", () => { state.listed += PAGE; list(); });
      panel.appendChild(more);
    }
  }
  function one(row) {
    panel.replaceChildren();
    panel.setAttribute("aria-label", T.map_address);
    const back = el("button", "plainlink", "\u2190 " + T.map_back), box = el("div", "one");
    back.type = "button";
    back.addEventListener("click", () => choose(-1, false));
    box.append(back, el("h2", "", row[NAME]), el("p", "soft small", fill(T.row, { row: row[ROW] }) + (row[FIND] ? " · " + row[FIND] : "")));
    if (!placed(row)) box.appendChild(el("p", "small", T.map_unplaced));
    const whole = stateOf(row, 0), job = el("p", "whole");
    job.append(mark(whole), el("span", "", T.service_job + ": " + data.state_words[whole]));
    box.appendChild(job);
    SERVICES.forEach((key, k) => {
      const s = stateOf(row, data.questions.indexOf(key)), line = el("div", "service"), words = el("div");
      const head = el("p");
      head.append(el("strong", "", data.state_words[s]), " ", el("span", "soft", T["service_" + key]));
      words.append(head, el("p", "", reason(row, k)));
      if (row[ASK] && row[ASK][k]) words.appendChild(el("p", "ask", fill(T.map_ask, { question: unpack(row[ASK][k]) })));
      if (s !== 3 && sure(row, k)) words.appendChild(el("p", "soft small", fill(T.how_sure, { words: sure(row, k) })));
      line.append(mark(s), words);
      box.appendChild(line);
    });
    if (row[SHEET]) {
      const link = el("a", "button", T.map_sheet);
      link.href = row[SHEET].split("/").map(encodeURIComponent).join("/");
      box.appendChild(link);
    } else if (placed(row)) {
      const words = el("p", "soft small"), parts = T.map_no_sheet.split("{command}");
      words.append(parts[0], el("code", "", data.command + (row[ID] || row[ROW])), parts[1] || "");
      box.appendChild(words);
    }
    panel.appendChild(box);
  }
  // what is known at one place, question by question
  function place(at) {
    panel.replaceChildren();
    panel.setAttribute("aria-label", T.place_panel);
    if (rows.length) {
      const back = el("button", "plainlink", "\u2190 " + T.map_back);
      back.type = "button";
      back.addEventListener("click", () => choose(-1, false));
      panel.appendChild(back);
    }
    const box = el("div", "one"), said = el("dl", "said");
    said.setAttribute("role", "status");
    box.append(el("h2", "", T.place_panel), el("p", "soft small number", here(at)), said);
    panel.appendChild(box);
    Promise.all(maps.map(AreaMaps.codesOf)).then(() => {
      maps.forEach((one) => said.append(el("dt", "small soft", data.asked[one.key]), el("dd", "", saidAt(one, at))));
    }, () => said.append(el("dt", "", T.place_missing)));
  }
  function look(row) {
    if (!placed(row)) return;
    // close enough for the wedge to be some 150 px long
    const far = row[WEDGES] ? Math.max.apply(null, row[WEDGES].map((w) => w[1])) : 300;
    const zoom = Math.log2((156543 * Math.cos(row[LAT] * RAD) * 150) / Math.max(far, 1));
    map.setView([row[LAT], row[LON]], Math.min(19, Math.max(12, Math.round(zoom * 2) / 2)), { animate: false });
  }
  function pick(at) {
    state.place = at; state.row = -1;
    place(at);
    drawRow(); marks.draw(); remember();
  }
  function choose(k, move) {
    state.row = k;
    state.place = null;
    const row = rows[k];
    if (row && move) look(row);
    if (row) { one(row); panel.scrollTop = 0; if (move) panel.focus({ preventScroll: true }); } else none();
    drawRow(); marks.draw(); remember();
  }

  function none() {
    if (state.place) place(state.place);
    else if (rows.length || !maps.length) list();
    else { panel.replaceChildren(el("p", "soft", T.place_hint)); panel.setAttribute("aria-label", T.place_panel); }
  }

  // ---- question, counts, finding ----
  function ask(key) {
    state.map = maps.findIndex((one) => one.key === key);
    state.question = state.map >= 0 ? maps[state.map].about : Math.max(0, data.questions.indexOf(key));
  }
  function count() {
    const n = [0, 0, 0, 0];
    rows.forEach((row) => { n[stateOf(row, state.question)] += 1; });
    document.querySelectorAll(".filter").forEach((button) => {
      const k = data.states.indexOf(button.dataset.state);
      button.querySelector("b").textContent = n[k].toLocaleString(document.documentElement.lang);
      button.setAttribute("aria-pressed", String(state.shown.has(k)));
    });
    document.querySelectorAll("[data-question]").forEach((p) => { 
      const asked = p.dataset.question;
      p.hidden = asked !== asking() && !(state.map >= 0 && rows.length && asked === data.questions[state.question]);
    });
    $("question").value = asking();
    map.invalidateSize({ pan: false }); // another question's legend may be a line longer
  }
  function refresh() {
    state.listed = PAGE;
    count();
    if (state.row < 0) none();
    fetchMap();
    drawRow(); marks.draw(); remember();
  }
  document.querySelectorAll(".filter").forEach((button) => button.addEventListener("click", () => {
    const k = data.states.indexOf(button.dataset.state);
    if (state.shown.size === 4) state.shown = new Set([k]); // the first count asked for stands alone
    else if (state.shown.has(k)) state.shown.delete(k);
    else state.shown.add(k);
    if (!state.shown.size) state.shown = new Set([0, 1, 2, 3]);
    state.row = -1;
    state.place = null;
    refresh();
  }));
  $("question").addEventListener("change", (event) => { ask(event.target.value); refresh(); });
  $("find").addEventListener("input", () => { state.row = -1; state.place = null; refresh(); });
  $("find").addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    const found = matches();
    const exact = found.filter((k) => String(rows[k][ROW]) === $("find").value.trim());
    if (found.length) choose(exact.length ? exact[0] : found[0], true);
  });

  // ---- pointer, tools ----
  const here = (at) => Math.abs(at.lat).toFixed(5) + (at.lat < 0 ? " S, " : " N, ") + Math.abs(at.lng).toFixed(5) + (at.lng < 0 ? " W" : " E");
  map.on("mousemove", (event) => {
    if (!state.measuring) saySpot(event.latlng);
    const k = nearest(event.containerPoint, 12);
    map.getContainer().classList.toggle("pick", k >= 0 && !state.measuring);
    map.getContainer().title = k >= 0 ? rows[k][NAME] : "";
  });
  map.on("click", (event) => {
    if (state.measuring) { measure(event.latlng); return; }
    saySpot(event.latlng);
    const k = nearest(event.containerPoint, L.Browser.mobile ? 24 : 16);
    if (k >= 0) choose(k, false);
    else if (maps.length) pick(event.latlng);
    else if (state.row >= 0) choose(-1, false);
  });
  function saySpot(at) {
    const one = maps[state.map];
    $("here").replaceChildren(...(one && one.grid ? [el("b", "", saidAt(one, at)), el("span", "soft", here(at))] : [here(at)]));
  }
  // a cross in the middle while the map is moved by keys: Enter asks what is known there
  map.getContainer().addEventListener("pointerdown", () => map.getContainer().classList.remove("keyed"));
  map.getContainer().addEventListener("keyup", () => map.getContainer().classList.toggle("keyed", maps.length > 0));
  map.getContainer().addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.target !== map.getContainer() || !maps.length) return;
    saySpot(map.getCenter());
    pick(map.getCenter());
  });
  let start = null;
  function measure(at) {
    if (!start) {
      ruler.clearLayers();
      start = at;
      L.circleMarker(at, { radius: 5, color: tone("--accent"), interactive: false }).addTo(ruler);
      $("here").textContent = T.map_measure_second;
      return;
    }
    const found = between(start, at);
    L.polyline([start, at], { color: tone("--accent"), weight: 3, dashArray: "6 5", interactive: false }).addTo(ruler);
    L.circleMarker(at, { radius: 5, color: tone("--accent"), interactive: false }).addTo(ruler);
    $("here").textContent = fill(T.map_measure_done, { distance: distance(found.metres), compass: compass(found.bearing) });
    start = null;
  }
  $("measure").addEventListener("click", () => {
    state.measuring = !state.measuring;
    start = null;
    ruler.clearLayers();
    $("measure").setAttribute("aria-pressed", String(state.measuring));
    $("here").textContent = state.measuring ? T.map_measure_first : "";
  });
  $("closer").addEventListener("click", () => map.zoomIn());
  $("farther").addEventListener("click", () => map.zoomOut());
  $("whole").addEventListener("click", whole);

  // ---- what is looked at, kept in the page's own address ----
  let ready = false, written = "";
  function remember() {
    if (!ready) return;
    const at = map.getCenter(), parts = ["q=" + asking()];
    if (state.shown.size < 4) parts.push("s=" + [...state.shown].sort().map((k) => data.states[k]).join(","));
    if (state.row >= 0) parts.push("row=" + rows[state.row][ROW]);
    if (state.place) parts.push("here=" + [state.place.lat.toFixed(6), state.place.lng.toFixed(6)].join(","));
    parts.push("at=" + [at.lat.toFixed(5), at.lng.toFixed(5), map.getZoom()].join(","));
    written = "#" + parts.join("&");
    try { history.replaceState(null, "", written); } catch (refused) { location.replace(written); }
  }
  function recall() {
    const asked = new URLSearchParams(location.hash.slice(1));
    ask(asked.get("q") || (rows.length || !maps.length ? "job" : maps[0].key));
    const spot = (asked.get("here") || "").split(",").map(Number);
    state.place = maps.length && spot.length === 2 && spot.every(Number.isFinite) && Math.abs(spot[0]) < 85 ? L.latLng(spot[0], spot[1]) : null;
    const shown = (asked.get("s") || "").split(",").map((name) => data.states.indexOf(name)).filter((k) => k >= 0);
    state.shown = new Set(shown.length ? shown : [0, 1, 2, 3]);
    state.row = asked.has("row") ? rows.findIndex((row) => String(row[ROW]) === asked.get("row")) : -1;
    count();
    const at = (asked.get("at") || "").split(",").map(Number);
    if (at.length === 3 && at.every(Number.isFinite) && Math.abs(at[0]) < 85.05 && Math.abs(at[1]) <= 360) map.setView([at[0], at[1]], at[2], { animate: false });
    else { whole(); if (state.row >= 0) look(rows[state.row]); }
  }
  window.addEventListener("hashchange", () => { if (location.hash !== written) { recall(); show(); } });
  window.matchMedia("print").addEventListener("change", () => map.invalidateSize({ pan: true, animate: false }));
  darkMode.addEventListener("change", () => { paintSprites(); drawRow(); values.draw(); marks.draw(); });
  function show() {
    const spot = state.place;
    choose(state.row, false);
    if (spot && state.row < 0) pick(spot);
    fetchMap();
  }
  paintSprites();
  recall();
  relief.addTo(map);
  relief.draw();
  values.addTo(map);
  marks.addTo(map);
  show();
  ready = true;
  map.on("moveend", () => { remember(); drawRow(); });
  document.documentElement.dataset.ready = "yes";
})();
