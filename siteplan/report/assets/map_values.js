"use strict";
/* Maps of the area: unpacks the pictures of codes, colours them, draws the line where a value decides, and says in words what a place
   holds. Bytes are unpacked here, not read off a canvas: some browsers blur what a canvas gives back, and a class must be the class. */
const AreaMaps = (function () {
  const UNKNOWN = 255, NONE = 254;
  const CIVIDIS = "00224e002e6a1a386f32436d434e6c535a6d61656f6f70737d7c788c88789b9476aba072bcae6ccdbb63dec958f0d846fee838";
  const TONES = ["#9fd3f0", "#e7dd6b", "#dcb0cb", "#86c9b2", "#e3a87c"], LINES = ["", "\\", "|", "-", "+", "x"];
  const stops = [];
  for (let k = 0; k < CIVIDIS.length; k += 6) stops.push([0, 2, 4].map((i) => parseInt(CIVIDIS.slice(k + i, k + i + 2), 16)));
  function cividis(share) {
    const at = Math.min(1, Math.max(0, share)) * (stops.length - 1), k = Math.min(stops.length - 2, Math.floor(at));
    return stops[k].map((v, i) => Math.round(v + (stops[k + 1][i] - v) * (at - k)));
  }

  // ---- unpacking: PNG of 8-bit grey, each row kept as it is or as the difference to the row above ----
  async function unpack(uri) {
    const text = atob(uri.slice(uri.indexOf(",") + 1)), bytes = Uint8Array.from(text, (c) => c.charCodeAt(0));
    const word = (k) => ((bytes[k] << 24) | (bytes[k + 1] << 16) | (bytes[k + 2] << 8) | bytes[k + 3]) >>> 0;
    const parts = [];
    let cols = 0, rows = 0;
    for (let k = 8; k < bytes.length;) {
      const long = word(k), kind = text.slice(k + 4, k + 8);
      if (kind === "IHDR") { cols = word(k + 8); rows = word(k + 12); }
      if (kind === "IDAT") parts.push(bytes.subarray(k + 8, k + 8 + long));
      k += 12 + long;
    }
    const stream = new Blob(parts).stream().pipeThrough(new DecompressionStream("deflate"));
    const raw = new Uint8Array(await new Response(stream).arrayBuffer()), codes = new Uint8Array(rows * cols);
    for (let y = 0; y < rows; y++) {
      const from = y * (cols + 1) + 1, to = y * cols, up = raw[from - 1] === 2 && y > 0;
      for (let x = 0; x < cols; x++) codes[to + x] = up ? (raw[from + x] + codes[to + x - cols]) & 255 : raw[from + x];
    }
    return { rows, cols, codes };
  }
  const kept = new Map();
  function codesOf(one) {
    if (!kept.has(one.key)) kept.set(one.key, unpack(one.picture).then((found) => { one.grid = found; one.picture = ""; return found; }));
    return kept.get(one.key);
  }

  // ---- pictures in the size of the cells: whole colours, and one mask for each pattern ----
  function canvasOf(grid, paint) {
    const c = document.createElement("canvas");
    c.width = grid.cols; c.height = grid.rows;
    const g = c.getContext("2d"), image = g.createImageData(grid.cols, grid.rows), words = new Uint32Array(image.data.buffer);
    for (let k = 0; k < words.length; k++) words[k] = paint[grid.codes[k]];
    g.putImageData(image, 0, 0);
    return c;
  }
  const packed = ([r, g, b], alpha) => ((alpha << 24) | (b << 16) | (g << 8) | r) >>> 0;
  const valueOf = (one, code) => one.from + code * one.step;
  function layersOf(one) {
    if (one.layers) return one.layers;
    const layers = [], mask = (wanted, pattern, fill) => {
      const paint = new Uint32Array(256);
      wanted.forEach((code) => { paint[code] = 0xff000000; });
      layers.push({ mask: canvasOf(one.grid, paint), pattern, fill });
    };
    if (one.kind === "quantity" || one.kind === "count") {
      const paint = new Uint32Array(256), most = Math.max(1, ...(one.classes || []).map((c) => c[0]));
      for (let code = 0; code < NONE; code++) {
        const share = one.kind === "count" ? code / most : (valueOf(one, code) - one.scale[0]) / (one.scale[1] - one.scale[0]);
        paint[code] = packed(cividis(share), 255);
      }
      layers.push({ colours: canvasOf(one.grid, paint) });
      if (one.kind === "quantity" && one.say.none) mask([NONE], "dense");
    } else if (one.kind === "names") {
      one.classes.forEach(([code], place) => mask([code], LINES[place % LINES.length], TONES[place % TONES.length]));
    } else {
      const by = (key) => one.classes.filter((c) => c[1] === key).map((c) => c[0]);
      mask(by("partly"), "sparse");
      mask(by("blocked"), "dense");
    }
    const unknown = (one.classes || []).filter((c) => c[1] === "unknown").map((c) => c[0]);
    mask([UNKNOWN].concat(unknown), "hatch");
    return (one.layers = layers);
  }

  // ---- patterns, in the size of the screen ----
  const DOTS = { sparse: [15, 1.7], dense: [6, 1.6] };
  function pattern(g, name, ratio, dark) {
    const c = document.createElement("canvas"), dots = DOTS[name], side = dots ? dots[0] : name === "hatch" ? 8 : 9;
    c.width = c.height = Math.round(side * ratio);
    const t = c.getContext("2d"), s = c.width;
    t.fillStyle = t.strokeStyle = dark ? "#f4f6f7" : "#1d2327";
    if (dots) {
      const r = dots[1] * ratio;
      t.lineWidth = 1.1 * ratio; t.save(); t.strokeStyle = dark ? "rgb(0 0 0 / .7)" : "rgb(255 255 255 / .8)";
      t.beginPath(); t.arc(s / 2, s / 2, r, 0, 7); t.stroke(); t.restore(); t.fill();
    } else {
      if (name === "hatch") { t.fillStyle = dark ? "rgb(21 25 28 / .55)" : "rgb(245 246 247 / .75)"; t.fillRect(0, 0, s, s); }
      else { t.strokeStyle = "#1d2327"; t.globalAlpha = 0.6; }
      t.lineWidth = (name === "hatch" ? 1 : 1.4) * ratio;
      t.beginPath();
      const rise = () => { t.moveTo(-1, s + 1); t.lineTo(s + 1, -1); t.moveTo(-s / 2, s / 2); t.lineTo(s / 2, -s / 2); t.moveTo(s / 2, s * 1.5); t.lineTo(s * 1.5, s / 2); };
      const fall = () => { t.moveTo(-1, -1); t.lineTo(s + 1, s + 1); t.moveTo(s / 2, -s / 2); t.lineTo(s * 1.5, s / 2); t.moveTo(-s / 2, s / 2); t.lineTo(s / 2, s * 1.5); };
      if (name === "hatch" || name === "x") rise();
      if (name === "\\" || name === "x") fall();
      if (name === "|" || name === "+") { t.moveTo(s / 2, 0); t.lineTo(s / 2, s); }
      if (name === "-" || name === "+") { t.moveTo(0, s / 2); t.lineTo(s, s / 2); }
      t.stroke();
    }
    return g.createPattern(c, "repeat");
  }

  // box: where the whole picture lies on the canvas, in px; the nearest cell is shown, none is blended
  function draw(g, one, box, wide, high, ratio, dark) {
    const grid = one.grid, w = (box.x1 - box.x0) / grid.cols, h = (box.y1 - box.y0) / grid.rows;
    const left = Math.max(0, Math.floor(-box.x0 / w)), right = Math.min(grid.cols, Math.ceil((wide - box.x0) / w));
    const top = Math.max(0, Math.floor(-box.y0 / h)), foot = Math.min(grid.rows, Math.ceil((high - box.y0) / h));
    if (right <= left || foot <= top) return;
    const put = (on, picture) => {
      on.imageSmoothingEnabled = false;
      on.drawImage(picture, left, top, right - left, foot - top, box.x0 + left * w, box.y0 + top * h, (right - left) * w, (foot - top) * h);
    };
    const spare = document.createElement("canvas");
    spare.width = g.canvas.width; spare.height = g.canvas.height;
    const s = spare.getContext("2d");
    layersOf(one).forEach((layer) => {
      if (layer.colours) { g.globalAlpha = 0.82; put(g, layer.colours); g.globalAlpha = 1; return; }
      const cut = (style, alpha) => {
        s.setTransform(1, 0, 0, 1, 0, 0); s.globalCompositeOperation = "source-over"; s.clearRect(0, 0, spare.width, spare.height);
        s.setTransform(ratio, 0, 0, ratio, 0, 0); put(s, layer.mask);
        s.setTransform(1, 0, 0, 1, 0, 0); s.globalCompositeOperation = "source-in"; s.fillStyle = style; s.fillRect(0, 0, spare.width, spare.height);
        g.save(); g.setTransform(1, 0, 0, 1, 0, 0); g.globalAlpha = alpha; g.drawImage(spare, 0, 0); g.restore();
      };
      if (layer.fill) cut(layer.fill, 0.72);
      if (layer.pattern) cut(pattern(s, layer.pattern, ratio, dark), 1);
    });
    if (one.threshold !== undefined) line(g, one, { w, h, left, right, top, foot, x: box.x0, y: box.y0 }, wide, high);
    if (one.kind === "names") names(g, one, { w, h, left, right, top, foot, x: box.x0, y: box.y0 });
  }

  // the line where the value decides: marching squares between the middles of cells, coarser far out
  function line(g, one, v, wide, high) {
    const grid = one.grid, stride = Math.max(1, Math.round(3 / v.w)), path = new Path2D(), t = one.threshold;
    const value = (x, y) => { const c = grid.codes[y * grid.cols + x]; return c >= NONE ? NaN : valueOf(one, c) - t; };
    const X = (x) => v.x + (x + 0.5) * v.w, Y = (y) => v.y + (y + 0.5) * v.h;
    const start = (n) => Math.floor(n / stride) * stride;
    let label = null, nearest = Infinity;
    for (let y = start(v.top); y + stride < v.foot; y += stride) {
      for (let x = start(v.left); x + stride < v.right; x += stride) {
        const corners = [[x, y], [x + stride, y], [x + stride, y + stride], [x, y + stride]], at = corners.map((c) => value(c[0], c[1]));
        const some = at.filter((a) => a >= 0).length;
        if (some === 0 || some === 4 || at.some(Number.isNaN)) continue;
        const cuts = [];
        for (let k = 0; k < 4; k++) {
          const a = at[k], b = at[(k + 1) % 4];
          if (a >= 0 === b >= 0) continue;
          const share = a / (a - b), p = corners[k], q = corners[(k + 1) % 4];
          cuts.push([X(p[0] + (q[0] - p[0]) * share), Y(p[1] + (q[1] - p[1]) * share)]);
        }
        for (let k = 0; k + 1 < cuts.length; k += 2) { path.moveTo(cuts[k][0], cuts[k][1]); path.lineTo(cuts[k + 1][0], cuts[k + 1][1]); }
        const off = Math.hypot(cuts[0][0] - wide / 2, cuts[0][1] - high / 2);
        if (off < nearest) { nearest = off; label = cuts[0]; }
      }
    }
    g.lineCap = "round";
    g.lineWidth = 4; g.strokeStyle = "rgb(255 255 255 / .85)"; g.stroke(path);
    g.lineWidth = 1.7; g.strokeStyle = "#1d2327"; g.stroke(path);
    if (label) write(g, one.threshold_words, label[0], label[1] - 10);
  }
  function write(g, words, x, y) {
    g.font = "600 13px system-ui, sans-serif";
    g.textAlign = "center"; g.lineJoin = "round"; g.lineWidth = 4; g.strokeStyle = "#fff"; g.fillStyle = "#1d2327";
    g.strokeText(words, x, y); g.fillText(words, x, y);
  }
  // each name once, where its area is widest
  function names(g, one, v) {
    const grid = one.grid, side = Math.max(1, Math.round(14 / v.w)), cols = Math.floor((v.right - v.left) / side), rows = Math.floor((v.foot - v.top) / side);
    if (cols < 1 || rows < 1) return;
    const at = (x, y) => grid.codes[Math.min(grid.rows - 1, v.top + y * side + (side >> 1)) * grid.cols + Math.min(grid.cols - 1, v.left + x * side + (side >> 1))];
    const depth = new Int16Array(rows * cols), best = new Map();
    const step = (x, y, dx, dy) => {
      const k = y * cols + x, nx = x + dx, ny = y + dy, inside = nx >= 0 && ny >= 0 && nx < cols && ny < rows;
      return inside && at(nx, ny) === at(x, y) ? depth[ny * cols + nx] + 1 : 1;
    };
    for (let y = 0; y < rows; y++) for (let x = 0; x < cols; x++) depth[y * cols + x] = Math.min(step(x, y, -1, 0), step(x, y, 0, -1), step(x, y, -1, -1), step(x, y, 1, -1));
    for (let y = rows - 1; y >= 0; y--) for (let x = cols - 1; x >= 0; x--) {
      const k = y * cols + x, code = at(x, y);
      depth[k] = Math.min(depth[k], step(x, y, 1, 0), step(x, y, 0, 1), step(x, y, 1, 1), step(x, y, -1, 1));
      if (code !== UNKNOWN && depth[k] > 1 && (!best.has(code) || depth[k] > best.get(code)[0])) best.set(code, [depth[k], x, y]);
    }
    one.classes.forEach(([code, , words]) => {
      const spot = best.get(code);
      if (spot) write(g, words, v.x + (v.left + (spot[1] + 0.5) * side) * v.w, v.y + (v.top + (spot[2] + 0.5) * side) * v.h + 4);
    });
  }

  // ---- words: share is how far east and south in the picture a place lies, 0..1 ----
  const plain = (value, decimals) => (+value.toFixed(decimals) + 0).toLocaleString(document.documentElement.lang,
    { minimumFractionDigits: decimals, maximumFractionDigits: decimals }).replace("-", "\u2212");
  function words(one, east, south, outside) {
    if (!(east >= 0 && east < 1 && south >= 0 && south < 1)) return outside;
    const grid = one.grid, code = grid.codes[Math.floor(south * grid.rows) * grid.cols + Math.floor(east * grid.cols)];
    const put = (template, values) => template.replace(/\{(\w+)\}/g, (all, name) => (name in values ? values[name] : all));
    if (code === UNKNOWN) return one.say.unknown;
    if (one.kind !== "quantity") {
      const found = one.classes.find((c) => c[0] === code);
      return found && found[1] !== "unknown" ? put(one.say.known, { name: found[2] }) : one.say.unknown;
    }
    if (code === NONE) return one.say.none || one.say.unknown;
    const value = valueOf(one, code), spare = one.threshold === undefined ? 0 : value - one.threshold;
    const under = one.say.under && Math.round(spare) < 0;
    return put(under ? one.say.under : one.say.known, { value: plain(value, one.decimals), spare: plain(Math.abs(spare), 0) });
  }
  return { codesOf, draw, words };
})();
