"use strict";
// Sorting and filtering of what is on the page, and the closer look at a chart.
// Without this script the page reads and prints the same.
(function () {
  const all = (q, root) => Array.from((root || document).querySelectorAll(q));

  // Sorting: a button in each column's head.
  all("table.sort").forEach((table) => {
    const body = table.tBodies[0];
    all("thead th", table).forEach((th, column) => {
      const b = document.createElement("button");
      b.type = "button";
      b.textContent = th.textContent;
      // A browser repeats a head on each printed sheet, and leaves its buttons out there.
      const word = document.createElement("span");
      word.className = "on-paper";
      word.textContent = th.textContent;
      th.textContent = "";
      th.append(b, word);
      b.addEventListener("click", () => {
        const up = th.getAttribute("aria-sort") !== "ascending";
        all("th", table.tHead).forEach((o) => o.removeAttribute("aria-sort"));
        th.setAttribute("aria-sort", up ? "ascending" : "descending");
        const key = (tr) => { const c = tr.cells[column]; return c.dataset.s !== undefined ? c.dataset.s : c.textContent.trim(); };
        const rows = Array.from(body.rows).map((tr, i) => [key(tr), i, tr]);
        rows.sort((x, y) => {
          if ((x[0] === "") !== (y[0] === "")) return x[0] === "" ? 1 : -1; // empty cells last, both ways
          const d = x[0].localeCompare(y[0], "en", { numeric: true });
          return (up ? d : -d) || x[1] - y[1];
        });
        body.append(...rows.map((r) => r[2]));
      });
    });
  });

  // Filtering: of a table's rows, or of the findings.
  all("form.tools").forEach((form) => {
    form.hidden = false;
    const target = document.getElementById(form.dataset.for);
    const items = target.tBodies ? Array.from(target.tBodies[0].rows) : all("article", target);
    const text = (e) => e.dataset.key || e.textContent.toLowerCase();
    const run = () => {
      const words = form.querySelector("input[type=search]").value.toLowerCase().split(/\s+/).filter(Boolean);
      const select = form.querySelector("select"), box = form.querySelector("input[type=checkbox]");
      let shown = 0;
      items.forEach((e) => {
        const keep = words.every((w) => text(e).includes(w)) &&
          (!select || !select.value || e.dataset[select.dataset.attr] === select.value) &&
          (!box || !box.checked || e.querySelector("td." + box.dataset.has));
        e.hidden = !keep;
        if (keep) shown++;
      });
      form.querySelector("output").textContent = shown + " of " + items.length + " shown";
    };
    form.addEventListener("input", run);
    form.addEventListener("submit", (e) => e.preventDefault());
    run();
  });

  // The closer look.
  if (typeof DecompressionStream === "undefined" || typeof uPlot === "undefined") return;
  let pack;
  const line = async (id) => {
    pack = pack || JSON.parse(document.getElementById("pack").textContent);
    try { new Intl.DateTimeFormat("en", { timeZone: pack.zone }); } catch { pack.zone = "UTC"; }
    const p = pack.lines[id];
    const bytes = Uint8Array.from(atob(p.z), (c) => c.charCodeAt(0));
    const raw = new Uint8Array(await new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"))).arrayBuffer());
    let at = 0;
    const whole = () => { let v = 0, k = 1, b; do { b = raw[at++]; v += (b & 127) * k; k *= 128; } while (b > 127); return v; };
    const n = whole(), x = [], y = [];
    for (let minute = 0; x.length < n;) {
      const step = whole();
      for (let times = whole(); times > 0; times--) { minute += step; x.push(minute); }
    }
    for (let i = 0, level = 0; i < n; i++) { const z = whole(); level += z % 2 ? -(z + 1) / 2 : z / 2; y.push(level * p.s); }
    // A hole in the readings is a hole in the line.
    const t = [], v = [];
    x.forEach((m, i) => {
      if (i && p.h && m - x[i - 1] > p.h) { t.push(pack.start + (x[i - 1] + 1) * 60); v.push(null); }
      t.push(pack.start + m * 60); v.push(y[i]);
    });
    return { t, v, p };
  };
  // A neighbour is drawn from its static path: points in columns and levels.
  const path = (id, wide, step) => {
    const t = [], v = [], span = (pack.end - pack.start) / wide;
    let x = 0, y = 0;
    const d = document.getElementById(id).getAttribute("d");
    for (const m of d.matchAll(/([Mmlhv])(-?\d+) ?(-?\d+)?/g)) {
      const a = +m[2], b = +m[3];
      if (m[1] === "M") { x = a; y = b; } else if (m[1] === "h") x += a; else if (m[1] === "v") y += a; else { x += a; y += b; }
      const at = pack.start + (x + 0.5) * span;
      if (m[1] === "m" && t.length) { t.push(t[t.length - 1] + 1); v.push(null); }
      t.push(t.length && at <= t[t.length - 1] ? t[t.length - 1] + 1 : at);
      v.push(y * step);
    }
    return [t, v];
  };
  // From the working space back to the unit: minus the logarithm above the floor,
  // straight below it.
  const value = (w, floor) => !floor ? w : w > -Math.log(floor) ? floor - (w + Math.log(floor)) * floor : Math.exp(-w);
  const wetness = (v, floor) => !floor ? v : v < floor ? -Math.log(floor) - (v - floor) / floor : -Math.log(v);
  const ticks = (low, high, floor) => {
    const a = Math.min(value(low, floor), value(high, floor)), b = Math.max(value(low, floor), value(high, floor)), out = [];
    const take = (v) => { const w = wetness(v, floor); if (w >= low && w <= high && out.every((o) => Math.abs(o - w) > (high - low) / 10)) out.push(w); };
    if (floor && b > 3 * a) [1, 5, 2, 3, 7].forEach((d) => { for (let k = -1; k < 8; k++) take(d * 10 ** k); });
    for (let s = 10 ** Math.floor(Math.log10(b - a)), n = 0; out.length < 3 && n < 4; n++, s /= [2, 2.5, 2][n % 3]) for (let v = Math.ceil(a / s) * s; v <= b; v += s) take(+v.toPrecision(9));
    return out.sort((p, q) => p - q);
  };
  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();

  const open = async (button) => {
    const main = await line(button.dataset.line), p = main.p;
    const others = button.dataset.others.split(" ").filter(Boolean);
    const data = uPlot.join([[main.t, main.v]].concat(others.map((id) => path(id, 340, p.s))), [[2], ...others.map(() => [2])]);
    const holder = document.createElement("div");
    holder.className = "near";
    holder.setAttribute("role", "group");
    holder.setAttribute("aria-label", "Closer look at " + p.n);
    const keys = document.createElement("div");
    keys.className = "keys";
    holder.append(keys);
    const note = document.createElement("p");
    note.className = "sub";
    note.textContent = "Times: " + pack.zone + ". Drag over the chart to look closer, or use the buttons; point at it to read the values. Shade with a red foot: left out. Yellow shade: judged window. Blocks at the top: waterings.";
    button.after(holder);
    const local = (o) => new Intl.DateTimeFormat("en-GB", { timeZone: pack.zone, hourCycle: "h23", ...o });
    const whole = local({ day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
    const day = local({ day: "numeric", month: "short" }), hour = local({ hour: "2-digit", minute: "2-digit" });
    const at = (f, s) => f.format(new Date(s * 1e3));
    // What lies behind the lines: the judged window, what is left out, the waterings.
    const behind = (u) => {
      const c = u.ctx, b = u.bbox;
      const bar = (from, to, name, top, tall) => {
        const x = Math.max(b.left, u.valToPos(from, "x", true)), end = Math.min(b.left + b.width, u.valToPos(to, "x", true));
        if (end > b.left && x < b.left + b.width) { c.fillStyle = colour(name); c.fillRect(x, b.top + top * b.height, Math.max(1, end - x), tall * b.height); }
      };
      c.globalAlpha = 0.4;
      bar(pack.from, pack.end, "window", 0, 1);
      c.globalAlpha = 1;
      p.x.forEach(([from, to]) => bar(pack.start + from * 60, pack.start + to * 60, "hatch-bed", 0, 1));
      p.x.forEach(([from, to]) => bar(pack.start + from * 60, pack.start + to * 60, "hatch", 0.98, 0.02));
      (pack.water[p.w] || []).forEach(([from, to]) => bar(pack.start + from * 60, pack.start + to * 60, "irrigation", 0, 0.04));
    };
    const number = (v) => v === null || v === undefined ? "–" : String(+value(v, p.f).toPrecision(4));
    const plot = new uPlot({
      width: Math.max(300, holder.clientWidth - 18), height: 320, tzDate: (s) => uPlot.tzDate(new Date(s * 1e3), pack.zone),
      cursor: { drag: { x: true, y: false } },
      scales: { x: { time: true, range: (u, a, b) => [a, b] }, y: { range: (u, a, b) => { if (a === null) { a = b = 0; } const m = Math.max((b - a) * 0.08, p.s * 5); return [a - m, b + m]; } } },
      hooks: { drawClear: [behind] },
      series: [{ label: "Time", value: (u, v) => v === null ? "–" : at(whole, v) },
        { label: p.n + ", " + p.u, stroke: colour("usable"), width: 1.5, value: (u, v) => number(v) },
        ...others.map((id) => ({ label: pack.names[id], stroke: colour("near"), width: 1, spanGaps: true, points: { show: false }, value: (u, v) => number(v) }))],
      axes: [{ stroke: colour("soft"), space: 70, values: (u, list, i, space, step) => list.map((s) => step >= 86400 || at(hour, s) === "00:00" ? at(day, s) : at(hour, s)), grid: { stroke: colour("grid"), width: 1 } },
        { stroke: colour("soft"), size: 64, grid: { stroke: colour("grid"), width: 1 }, splits: (u, i, low, high) => ticks(low, high, p.f), values: (u, list) => list.map(number) }],
    }, data, holder);
    const show = (from, to) => plot.setScale("x", { min: Math.max(pack.start, from), max: Math.min(pack.end, to) });
    const key = (text, act) => { const b = document.createElement("button"); b.type = "button"; b.textContent = text; b.addEventListener("click", act); keys.append(b); };
    const span = () => [plot.scales.x.min, plot.scales.x.max];
    key("Nearer", () => { const [a, b] = span(); show(a + (b - a) / 4, b - (b - a) / 4); });
    key("Farther", () => { const [a, b] = span(); show(a - (b - a) / 2, b + (b - a) / 2); });
    key("Earlier", () => { const [a, b] = span(), d = Math.min((b - a) / 2, a - pack.start); show(a - d, b - d); });
    key("Later", () => { const [a, b] = span(), d = Math.min((b - a) / 2, pack.end - b); show(a + d, b + d); });
    key("Judged window", () => show(pack.from, pack.end));
    key("All", () => show(pack.start, pack.end));
    show(pack.from, pack.end);
    holder.append(note);
    return holder;
  };
  all("button.zoom").forEach((b) => {
    b.hidden = false;
    b.setAttribute("aria-expanded", "false");
    let holder;
    b.addEventListener("click", async () => {
      if (holder) { holder.remove(); holder = null; b.textContent = "Look closer"; b.setAttribute("aria-expanded", "false"); return; }
      b.disabled = true;
      try { holder = await open(b); b.textContent = "Close"; b.setAttribute("aria-expanded", "true"); } finally { b.disabled = false; b.focus(); }
    });
  });
})();
