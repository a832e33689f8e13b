// Who is still out: the same as briefing/tally.rs says, for a phone without network. tests/tally.json holds cases that both answer alike.
"use strict";
const NEAR = 180000;
const tallied = (words) => {
  const sorted = [...words].sort((a, b) => a.at - b.at || (a.way === "out") - (b.way === "out") || (a.id < b.id ? -1 : 1));
  const faults = [];
  let stands = "ashore", before = null;
  for (const word of sorted) {
    const fault = (which) => faults.push([which, before || word, word]);
    if (before && before.way !== word.way && before.by !== word.by && word.at - before.at <= NEAR) { fault("conflict"); stands = "unknown"; }
    else if (word.way === "out") { if (stands === "out") fault("out_twice"); stands = "out"; }
    else if (stands === "ashore") { fault("in_without_out"); stands = "unknown"; }
    else if (stands === "in") fault("in_twice");
    else if (!(stands === "unknown" && faults.every((f) => f[0] === "in_without_out"))) stands = "in";
    before = word;
  }
  if (sorted.some((w) => w.doubted) && sorted.some((w) => w.by !== sorted[0].by)) { faults.push(["clock", sorted[0], before]); stands = "unknown"; }
  return { stands, faults, since: before && before.at, boat: [...sorted].reverse().map((w) => w.boat).find((b) => b) || "" };
};
