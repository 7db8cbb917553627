// Boxes become fields, and "Save readings" writes them as CSV. Nothing leaves this device; without scripts the boxes stay paper.
// A carrier may stand twice (in the steps and in its table): both are one reading.
(() => {
  const bar = document.querySelector(".save");
  if (!bar) return;
  const rows = [...document.querySelectorAll("[data-carrier]")];
  const values = ["level_dbuv", "cn_db", "rsrp_dbm", "sinr_db", "rsrq_db", "rsrp_a_dbm", "rsrp_b_dbm", "pci"];
  const key = "readings " + bar.dataset.id;
  let kept = {};
  try { kept = JSON.parse(localStorage.getItem(key) || "{}"); } catch { /* no storage here: typed values live as long as the page */ }
  const fields = [];
  rows.forEach((row) => {
    const reading = [row.dataset.outlet, row.dataset.source, row.dataset.carrier].join(" | ");
    row.querySelectorAll(".box").forEach((box) => {
      const field = document.createElement("input");
      field.type = "text"; field.inputMode = "decimal"; field.className = "box"; field.autocomplete = "off";
      field.setAttribute("aria-label", [row.dataset.carrier, row.dataset.outlet, box.dataset.name].join(", "));
      const name = reading + " | " + box.dataset.value;
      field.value = kept[name] || "";
      field.addEventListener("input", () => {
        kept[name] = field.value;
        fields.forEach((one) => { if (one.name === name && one.field !== field) one.field.value = field.value; });
        try { localStorage.setItem(key, JSON.stringify(kept)); } catch { /* as above */ }
      });
      box.replaceWith(field);
      fields.push({ name, reading, value: box.dataset.value, field });
    });
  });
  const cell = (text) => {
    const plain = /^[=+\-@\t\r]/.test(text) && !/^[+-]?\d+([.,]\d*)?$/.test(text) ? "'" + text : text;
    return /[",\n]/.test(plain) ? '"' + plain.replaceAll('"', '""') + '"' : plain;
  };
  bar.hidden = false;
  bar.querySelector("button").addEventListener("click", () => {
    const now = new Date(), two = (n) => String(n).padStart(2, "0");
    const taken = now.getFullYear() + "-" + two(now.getMonth() + 1) + "-" + two(now.getDate()) + " " + two(now.getHours()) + ":" + two(now.getMinutes());
    const lines = ["id,outlet,source,carrier," + values.join(",") + ",locked,taken_at"];
    let count = 0;
    for (const reading of new Set(fields.map((one) => one.reading))) {
      const of = (value) => (fields.find((one) => one.reading === reading && one.value === value)?.field.value || "").trim();
      const typed = values.map(of);
      if (typed.every((one) => !one)) continue;
      const none = typed.some((one) => /^(no|-|–|x)$/i.test(one));
      lines.push([bar.dataset.id, ...reading.split(" | "), ...typed.map((one) => none ? "" : one), none ? "no" : "yes", taken].map(cell).join(","));
      count += 1;
    }
    const says = bar.querySelector("[role=status]");
    if (!count) { says.textContent = bar.dataset.none; return; }
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([lines.join("\n") + "\n"], { type: "text/csv" }));
    link.download = bar.dataset.file;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
    says.textContent = bar.dataset.saved.replace("0", count);
  });
})();
