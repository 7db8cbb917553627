"use strict";
/* The dispatcher's list. Rows are drawn in blocks as they come near the screen and let go when far from it; every word is put in as text. */
(function () {
  const data = JSON.parse(document.getElementById("data").textContent);
  const T = data.texts, rows = data.rows, SVG = "http://www.w3.org/2000/svg", BLOCK = 50;
  const ROW = 0, NAME = 1, STATES = 2, WHY = 3, ASK = 4, CHANCE = 5, CELLS = 6, SHEET = 7, ID = 8, PLACED = 9;
  const KEYS = ["job", "satellite", "terrestrial", "mobile"], $ = (id) => document.getElementById(id);
  const state = { service: 0, shown: new Set([0, 1, 2, 3]), open: new Set() };
  const fill = (words, values) => words.replace(/\{(\w+)\}/g, (all, name) => (name in values ? values[name] : all));
  const grouped = (n) => n.toLocaleString(document.documentElement.lang);
  function unpack(packed) {
    if (!packed) return "";
    const parts = packed.split("|"), pattern = data.patterns[+parts[0]].split("#");
    return pattern.map((part, k) => part + (k + 1 < pattern.length ? parts[k + 1] : "")).join("");
  }
  const stateOf = (row, k) => +row[STATES][k];
  const why = (row, k) => unpack(row[WHY].length === 1 ? row[WHY][0] : row[WHY][k]);
  const ask = (row, k) => (row[ASK] ? unpack(row[ASK][k]) : "");
  // the job's reason is that of the first service in the job's own state
  const deciding = (row) => (state.service > 0 ? state.service - 1 : Math.max(0, [1, 2, 3].findIndex((k) => stateOf(row, k) === stateOf(row, 0))));
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

  // ---- which rows, in which order ----
  const searched = rows.map((row) => [row[NAME], row[ID] || ""].concat(row[CELLS] || []).join(" \u00b7 ").toLowerCase());
  const chance = (row) => (!row[CHANCE] ? -1 : state.service ? row[CHANCE][state.service - 1] : Math.max(...row[CHANCE]));
  const LEAD = { survey: [2, 0, 3, 1], book: [0, 1, 2, 3] };
  function chosen() {
    const words = $("find").value.trim().toLowerCase(), sort = $("sort").value, found = [];
    rows.forEach((row, k) => {
      if (state.shown.has(stateOf(row, state.service)) && (!words || String(row[ROW]) === words || searched[k].includes(words))) found.push(k);
    });
    if (sort === "name") {
      const order = new Intl.Collator(document.documentElement.lang, { numeric: true });
      found.sort((a, b) => order.compare(rows[a][NAME], rows[b][NAME]) || a - b);
    } else if (LEAD[sort]) {
      const lead = LEAD[sort];
      found.sort((a, b) => lead[stateOf(rows[a], state.service)] - lead[stateOf(rows[b], state.service)] || (sort === "survey" ? chance(rows[b]) - chance(rows[a]) : 0) || a - b);
    }
    return found;
  }
  function groups(found) {
    const column = $("group").value;
    if (column === "") return [["", found]];
    const by = new Map();
    rows.forEach((row) => by.set((row[CELLS] || [])[+column] || "", []));  // groups in the order of the list, whatever the order of rows
    found.forEach((k) => by.get((rows[k][CELLS] || [])[+column] || "").push(k));
    return [...by].filter((group) => group[1].length);
  }

  // ---- one row ----
  function service(row, k) {
    const box = el("div", "service"), head = el("p"), s = stateOf(row, k + 1);
    head.append(mark(s), el("strong", "", data.state_words[s]), " ", el("span", "soft", data.services[k]));
    box.append(head, el("p", "why", why(row, k)));
    if (ask(row, k)) box.appendChild(el("p", "ask", fill(T.ask, { question: ask(row, k) })));
    return box;
  }
  function line(k) {
    const row = rows[k], s = stateOf(row, state.service), li = el("li"), answer = el("p", "answer"), body = el("div", "body"), decides = deciding(row);
    answer.append(mark(s), el("strong", "", data.state_words[s]));
    const head = el("p", "name"), name = el("bdi", "", row[NAME]);
    head.append(name, " ", el("span", "soft small number", fill(T.row, { row: row[ROW] })));
    body.appendChild(head);
    const extra = (row[CELLS] || []).filter((cell, c, all) => cell && cell !== row[NAME] && all.indexOf(cell) === c && /\p{L}/u.test(cell)).slice(0, 3);
    if (extra.length) body.appendChild(el("p", "soft small given", extra.map((cell) => cell.slice(0, 90)).join(" \u00b7 ")));
    const rest = el("div", "rest");
    function paint() {
      const open = state.open.has(k);
      rest.replaceChildren();
      if (open) {
        [0, 1, 2].forEach((n) => rest.appendChild(service(row, n)));
        if (!row[SHEET] && row[PLACED]) {
          const words = el("p", "soft small service"), parts = T.no_sheet.split("{command}");
          words.append(parts[0], el("code", "", data.command + (row[ID] || row[ROW])), parts[1] || "");
          rest.appendChild(words);
        }
      } else {
        rest.appendChild(el("p", "why", (state.service ? "" : data.services[decides] + ": ") + why(row, decides)));
        [...new Set([decides].concat(!state.service && s === 1 ? [0, 1, 2].filter((n) => stateOf(row, n + 1) === 1) : []))].forEach((n) => {
          if (ask(row, n)) rest.appendChild(el("p", "ask", fill(T.ask, { question: ask(row, n) })));
        });
      }
      more.textContent = open ? T.less : T.more;
      more.setAttribute("aria-expanded", String(open));
    }
    const acts = el("p", "links"), more = el("button", "plainlink");
    more.type = "button";
    more.setAttribute("aria-label", T.more + ": " + row[NAME]);
    more.addEventListener("click", () => { if (!state.open.delete(k)) state.open.add(k); paint(); });
    acts.appendChild(more);
    const link = (words, to) => { const a = el("a", "", words); a.href = to; a.setAttribute("aria-label", words + ": " + row[NAME]); acts.appendChild(a); };
    if (row[SHEET]) link(T.sheet, row[SHEET].split("/").map(encodeURIComponent).join("/"));
    if (data.map && row[PLACED]) link(T.map, data.map + "#row=" + row[ROW]);
    paint();
    body.append(rest, acts);
    li.append(answer, body);
    return li;
  }

  // ---- blocks: drawn near the screen, let go far from it ----
  const ROUGH = 128;
  let blocks = new Map();
  const watcher = new IntersectionObserver((seen) => seen.forEach((one) => (one.isIntersecting ? draw(one.target) : drop(one.target))), { rootMargin: "1200px" });
  function draw(list) {
    if (list.firstChild) return;
    list.append(...blocks.get(list).map(line));
    list.style.minHeight = "";
  }
  function drop(list) {
    if (!list.firstChild || list.contains(document.activeElement)) return;
    list.style.minHeight = list.getBoundingClientRect().height + "px";
    list.replaceChildren();
  }
  function count() {
    const n = [0, 0, 0, 0];
    rows.forEach((row) => { n[stateOf(row, state.service)] += 1; });
    document.querySelectorAll(".filter").forEach((button) => {
      const k = data.states.indexOf(button.dataset.state);
      button.querySelector("b").textContent = grouped(n[k]);
      button.setAttribute("aria-pressed", String(state.shown.has(k)));
    });
  }
  let found = [];
  function show() {
    count();
    found = chosen();
    watcher.disconnect();
    blocks = new Map();
    const all = $("rows");
    all.replaceChildren();
    groups(found).forEach(([name, members]) => {
      if ($("group").value !== "") {
        const head = el("h2"), n = [0, 0, 0, 0];
        members.forEach((k) => { n[stateOf(rows[k], state.service)] += 1; });
        head.append(el("bdi", "", name || T.group_empty), " ", el("span", "soft small", [fill(T.group_count, { count: grouped(members.length) })].concat(n.map((many, s) => (many ? grouped(many) + " " + data.state_words[s] : "")).filter(Boolean)).join(" \u00b7 ")));
        all.appendChild(head);
      }
      for (let k = 0; k < members.length; k += BLOCK) {
        const list = el("ol");
        list.setAttribute("role", "list");
        blocks.set(list, members.slice(k, k + BLOCK));
        list.style.minHeight = ROUGH * Math.min(BLOCK, members.length - k) + "px";
        all.appendChild(list);
        if (blocks.size <= 2) draw(list); // what is seen at once needs no wait
        watcher.observe(list);
      }
    });
    $("shown").textContent = found.length ? fill(T.shown, { shown: grouped(found.length), rows: grouped(rows.length) }) : T.none;
    $("done").textContent = "";
    document.documentElement.dataset.shown = String(found.length);
    remember();
  }
  window.addEventListener("beforeprint", () => blocks.forEach((members, list) => draw(list)));

  // ---- out of the page: what is shown, in the order shown ----
  // a cell that a spreadsheet would work as a formula is kept from it by a quote; numbers stay numbers
  const defused = (cell) => (/^[=+\-@\t\r]/.test(cell) && !/^[+-]?\d+([.,]\d+)?$/.test(cell) ? "'" + cell : cell);
  function table() {
    const head = [T.col_row, T.col_name, T.col_job];
    data.services.forEach((name) => head.push(name, fill(T.col_why, { service: name })));
    head.push(T.col_ask, ...data.columns);
    const order = groups(found).flatMap((group) => group[1]);
    return [head].concat(order.map((k) => {
      const row = rows[k], cells = [String(row[ROW]), row[NAME], data.state_words[stateOf(row, 0)]];
      [0, 1, 2].forEach((n) => cells.push(data.state_words[stateOf(row, n + 1)], why(row, n)));
      cells.push([0, 1, 2].map((n) => ask(row, n)).filter(Boolean).join(" "), ...(row[CELLS] || data.columns.map(() => "")));
      return cells.map(defused);
    }));
  }
  function say(words) { $("done").textContent = words; }
  $("copy").addEventListener("click", async () => {
    const flat = table().map((cells) => cells.map((cell) => cell.replace(/[\t\r\n]+/g, " ")).join("\t")).join("\n");
    try {
      await navigator.clipboard.writeText(flat);
    } catch (refused) {
      const box = el("textarea");
      box.value = flat;
      document.body.appendChild(box);
      box.select();
      const done = document.execCommand("copy");
      box.remove();
      if (!done) { say(T.copy_failed); return; }
    }
    say(fill(T.copied, { count: grouped(found.length) }));
  });
  $("save").addEventListener("click", () => {
    const quoted = (cell) => (/[",\r\n]/.test(cell) ? '"' + cell.replace(/"/g, '""') + '"' : cell);
    const link = el("a");
    link.href = URL.createObjectURL(new Blob(["\ufeff" + table().map((cells) => cells.map(quoted).join(",")).join("\r\n") + "\r\n"], { type: "text/csv" }));
    link.download = data.file;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    say(fill(T.saved, { count: grouped(found.length), file: data.file }));
  });

  // ---- choices, kept in the page's own address ----
  document.querySelectorAll(".filter").forEach((button) => button.addEventListener("click", () => {
    const k = data.states.indexOf(button.dataset.state);
    if (state.shown.size === 4) state.shown = new Set([k]); // the first count asked for stands alone
    else if (state.shown.has(k)) state.shown.delete(k);
    else state.shown.add(k);
    if (!state.shown.size) state.shown = new Set([0, 1, 2, 3]);
    show();
  }));
  $("service").addEventListener("change", () => { state.service = KEYS.indexOf($("service").value); show(); });
  ["sort", "group"].forEach((id) => $(id).addEventListener("change", show));
  let waiting = 0;
  $("find").addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(show, rows.length > 2000 ? 120 : 0); });
  let written = "";
  function remember() {
    const parts = [];
    if (state.service) parts.push("for=" + KEYS[state.service]);
    if (state.shown.size < 4) parts.push("s=" + [...state.shown].sort().map((k) => data.states[k]).join(","));
    if ($("sort").value !== "list") parts.push("order=" + $("sort").value);
    if ($("group").value !== "") parts.push("by=" + $("group").value);
    if ($("find").value.trim()) parts.push("find=" + encodeURIComponent($("find").value.trim()));
    written = parts.length ? "#" + parts.join("&") : "";
    if (written === location.hash) return;
    try { history.replaceState(null, "", written || location.pathname); } catch (refused) { location.replace(written || "#"); }
  }
  function recall() {
    const asked = new URLSearchParams(location.hash.slice(1)), pick = (id, value) => { if ([...$(id).options].some((o) => o.value === value)) $(id).value = value; };
    state.service = Math.max(0, KEYS.indexOf(asked.get("for")));
    $("service").value = KEYS[state.service];
    const shown = (asked.get("s") || "").split(",").map((name) => data.states.indexOf(name)).filter((k) => k >= 0);
    state.shown = new Set(shown.length ? shown : [0, 1, 2, 3]);
    pick("sort", asked.get("order") || "list");
    pick("group", asked.get("by") || "");
    $("find").value = asked.get("find") || "";
    show();
  }
  window.addEventListener("hashchange", () => { if (location.hash !== written) recall(); });
  recall();
  document.documentElement.dataset.ready = "yes";
})();
