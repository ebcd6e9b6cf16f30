// The page: another order of the stops, the forms, and what is kept and sent.
"use strict";
(() => {
  const round = JSON.parse(document.getElementById("round").textContent);
  const find = (what, within = document) => within.querySelector(what);
  const all = (what, within = document) => Array.from(within.querySelectorAll(what));
  document.documentElement.classList.add("scripted");

  // make builds an element; text is never read as markup.
  function make(name, attributes = {}, ...children) {
    const e = document.createElement(name);
    for (const [k, v] of Object.entries(attributes)) {
      if (v === false || v === undefined) continue;
      e.setAttribute(k, v === true ? "" : v);
    }
    e.append(...children);
    return e;
  }

  // What is kept, in the browser where it allows that and for this visit where not.
  const place = "probeward.visits." + round.run;
  let kept = {}, keeps = true;
  try {
    const before = JSON.parse(localStorage.getItem(place) || "{}");
    if (before && typeof before === "object") kept = before;
    localStorage.setItem(place, JSON.stringify(kept));
  } catch (e) { keeps = false; }
  function keep() {
    try { localStorage.setItem(place, JSON.stringify(kept)); } catch (e) { keeps = false; }
    report();
  }
  function of(stop) {
    const mine = kept[stop.visit] || (kept[stop.visit] = {});
    mine.lines = mine.lines || {};
    if (!mine.at) mine.at = Visits.stamp(new Date());
    return mine;
  }

  // A list to choose from: what is suspected comes first.
  function choice(id, label, value, groups, changed) {
    const list = make("select", {id}, make("option", {value: ""}, "choose"));
    for (const g of groups) {
      const into = g.title ? list.appendChild(make("optgroup", {label: g.title})) : list;
      for (const o of g.options) into.append(make("option", {value: o.value}, o.text));
    }
    list.value = value || "";
    list.addEventListener("change", () => changed(list.value));
    return make("p", {class: "field"}, make("label", {for: id}, label), list);
  }

  function lineForm(stop, line, id) {
    const said = ((kept[stop.visit] || {}).lines || {})[Visits.key(line)] || {};
    const set = what => value => {
      const lines = of(stop).lines, k = Visits.key(line);
      lines[k] = Object.assign({}, lines[k], {[what]: value});
      show(stop);
      keep();
    };
    const found = [{title: "Suspected here", options: stop.suspected}, {title: "Else", options: round.plain}].concat(round.groups);
    return make("fieldset", {class: "line"}, make("legend", {}, line.label),
      choice(id + "-f", "What it was", said.found, found, set("found")),
      choice(id + "-o", "What you did", said.outcome, [{options: round.outcomes}], set("outcome")));
  }

  function text(stop, id, label, name, attributes) {
    const field = make(name === "note" ? "textarea" : "input", Object.assign({id}, attributes));
    field.value = (kept[stop.visit] || {})[name] || "";
    field.addEventListener("input", () => { of(stop)[name] = field.value; show(stop); keep(); });
    return make("p", {class: "field"}, make("label", {for: id}, label), field);
  }

  // show writes when a stop was first written about.
  function show(stop) {
    const mine = kept[stop.visit];
    find("#stop-" + stop.rank + "-at").textContent = mine && mine.at ? "Noted at " + mine.at.slice(0, 16).replace("T", " ") + "." : "";
  }

  function form(stop) {
    const id = "r" + stop.rank;
    const box = make("div", {class: "screen"});
    stop.lines.forEach((line, k) => box.append(lineForm(stop, line, id + "-" + k)));
    if (stop.more.length) {
      const more = make("details", {}, make("summary", {}, "Write about single probes"));
      stop.more.forEach((line, k) => more.append(lineForm(stop, line, id + "-m" + k)));
      box.append(more);
    }
    box.append(make("div", {class: "pairs"},
      text(stop, id + "-min", "Minutes it took", "minutes", {inputmode: "decimal", autocomplete: "off"}),
      text(stop, id + "-parts", "Parts used", "parts", {autocomplete: "off"})),
      text(stop, id + "-note", "Note", "note", {rows: "3"}),
      make("p", {class: "at", id: "stop-" + stop.rank + "-at"}));
    return box;
  }

  function forms() {
    for (const box of all(".result")) {
      const stop = round.stops.find(s => s.visit === box.dataset.visit);
      all(".screen", box).forEach(e => e.remove());
      box.append(form(stop));
      show(stop);
    }
  }

  // report counts, and writes the text that is to be sent.
  function report() {
    const {rows, missing} = Visits.rows(round, kept);
    const stops = new Set(rows.map(r => r[0]));
    find("#kept").textContent = keeps ? "What you write stays in this browser, also when the page is closed, until you press “Forget everything written here”." :
      "This browser keeps nothing for this page: save or copy before you close it.";
    find("#counted").textContent = stops.size + " of " + round.stops.length + " stops are ready to send" + (rows.length ? ", " + rows.length + (rows.length === 1 ? " row." : " rows.") : ".");
    find("#missing").replaceChildren(...missing.map(m => make("li", {},
      make("a", {href: "#stop-" + m.rank}, "Stop " + m.rank + ", " + (m.label || m.place)), " lacks " + m.lacks)));
    find("#text").value = rows.length ? Visits.csv(round.header, rows) : "";
    for (const id of ["#save", "#copy"]) find(id).disabled = !rows.length;
    for (const item of all("#glance li")) find(".noted", item).hidden = !stops.has(item.dataset.visit);
  }

  find("#save").addEventListener("click", () => {
    const {rows} = Visits.rows(round, kept);
    const link = make("a", {download: "visits.csv"});
    link.href = URL.createObjectURL(new Blob([Visits.csv(round.header, rows)], {type: "text/csv"}));
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    find("#copied").textContent = "visits.csv was handed to the browser. If no file came, copy the text.";
  });
  find("#copy").addEventListener("click", async () => {
    const area = find("#text");
    // Lines of a text area end in a single line feed; the copy ends them as the file does.
    const {rows} = Visits.rows(round, kept);
    let done = false;
    try { await navigator.clipboard.writeText(Visits.csv(round.header, rows)); done = true; } catch (e) {
      area.focus();
      area.select();
      try { done = document.execCommand("copy"); } catch (e) { done = false; }
    }
    find("#copied").textContent = done ? "The text is copied." : "The text is selected: copy it by hand.";
  });
  find("#clear").addEventListener("click", () => {
    if (!confirm("Forget everything that was written about this round in this browser?")) return;
    kept = {};
    forms();
    keep();
  });

  // Another order of the stops moves them in the page, so that reading and tabbing
  // follow what is seen. Stops that the order does not know come last, by rank.
  const words = {rank: "by rank", route: "the short way round", plan: "as the shift goes"};
  function order(by) {
    const cards = all("#cards > .stop");
    const at = e => [Number(e.dataset[by] || Infinity), Number(e.dataset.rank)];
    cards.sort((a, b) => { const x = at(a), y = at(b); return x[0] === y[0] ? x[1] - y[1] : x[0] - y[0]; });
    find("#cards").append(...cards);
    const items = new Map(all("#glance li").map(e => [e.dataset.visit, e]));
    find("#glance").append(...cards.map(c => items.get(c.dataset.visit)));
    for (const b of all(".order button")) b.setAttribute("aria-pressed", String(b.dataset.order === by));
    find("#order-said").textContent = "The stops now stand " + words[by] + ".";
  }
  for (const b of all(".order button")) b.addEventListener("click", () => order(b.dataset.order));
  find(".order").hidden = all(".order button").length < 2;
  find("#send-body").hidden = false;
  forms();
  report();
})();
