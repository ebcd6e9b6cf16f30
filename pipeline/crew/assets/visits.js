// What the crew wrote, as rows of visits.csv. Nothing here touches the page.
"use strict";
const Visits = (() => {
  const two = n => String(n).padStart(2, "0");

  // stamp writes a Date as local time with its offset (RFC 3339). The offset may be
  // given, in minutes west as Date counts it.
  function stamp(date, west = date.getTimezoneOffset()) {
    const d = new Date(date.getTime() - west * 60000);
    const east = Math.abs(west);
    return d.getUTCFullYear() + "-" + two(d.getUTCMonth() + 1) + "-" + two(d.getUTCDate()) + "T" +
      two(d.getUTCHours()) + ":" + two(d.getUTCMinutes()) + ":" + two(d.getUTCSeconds()) +
      (west > 0 ? "-" : "+") + two(Math.floor(east / 60)) + ":" + two(east % 60);
  }

  // key of a line within its stop.
  const key = line => line.logger + "|" + line.probe;

  // minutes keeps what is a number from 0 on; everything else is empty.
  function minutes(text) {
    const n = Number(String(text === undefined ? "" : text).replace(",", "."));
    return String(text || "").trim() !== "" && isFinite(n) && n >= 0 ? String(n) : "";
  }

  // rows gives the lines of the round that are complete, in rank order, and what is
  // missing of the others. Parts, minutes and note stand in a stop's first row.
  function rows(round, kept) {
    const out = [], missing = [];
    for (const stop of round.stops) {
      const mine = kept[stop.visit];
      if (!mine) continue;
      let first = true;
      for (const line of stop.lines.concat(stop.more)) {
        const said = (mine.lines || {})[key(line)] || {};
        if (!said.found && !said.outcome) continue;
        if (!said.found || !said.outcome) {
          missing.push({rank: stop.rank, place: stop.place, label: line.label, lacks: said.found ? "what was done" : "what was found"});
          continue;
        }
        out.push([stop.visit, mine.at || "", stop.post, line.logger, line.probe, said.found, said.outcome,
          first ? (mine.parts || "").trim() : "", first ? minutes(mine.minutes) : "", first ? (mine.note || "").trim() : ""]);
        first = false;
      }
      if (first && ((mine.parts || "").trim() || minutes(mine.minutes) || (mine.note || "").trim()))
        missing.push({rank: stop.rank, place: stop.place, label: "", lacks: "what was found and done: what you wrote there is not in the file yet"});
    }
    return {rows: out, missing};
  }

  // cell quotes what RFC 4180 asks to be quoted, and blanks at the ends.
  const cell = v => /[",\r\n]|^\s|\s$/.test(v) ? '"' + v.replace(/"/g, '""') + '"' : v;

  // csv writes a header and rows; lines end as RFC 4180 has it.
  const csv = (header, list) => [header].concat(list).map(r => r.map(v => cell(String(v))).join(",") + "\r\n").join("");

  return {stamp, key, minutes, rows, cell, csv};
})();
if (typeof module !== "undefined") module.exports = Visits;
