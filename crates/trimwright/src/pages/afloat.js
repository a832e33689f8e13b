// The coach's phone on the water. Everything it needs is on the page; a note stands in this browser's own storage before it shows as noted, and
// goes to the laptop when that answers. Two pages at once share the storage; each note has a key of its own, so neither writes over the other's.
"use strict";
(() => {
  let day = JSON.parse(document.getElementById("day").textContent);
  const NOTE = "afloat.note.", KEPT_DAYS = 14, AT_ONCE = 100, EVERY = 15000, PATIENCE = 8000, SETTLES = 3000, BACK = 30000;
  const $ = (id) => document.getElementById(id);
  const make = (tag, marks, ...inside) => {
    const one = document.createElement(tag);
    for (const [name, value] of Object.entries(marks || {})) {
      if (name.startsWith("on")) one.addEventListener(name.slice(2), value);
      else if (value === true) one.setAttribute(name, "");
      else if (value !== false && value !== null && value !== undefined) one.setAttribute(name, value);
    }
    one.append(...inside.filter((part) => part !== null && part !== undefined));
    return one;
  };
  const clock = (at, seconds) => new Date(at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit", second: seconds ? "2-digit" : undefined, timeZone: day.zone });
  const random = (bytes) => [...crypto.getRandomValues(new Uint8Array(bytes))].map((b) => b.toString(16).padStart(2, "0")).join("");
  const told = (id, text) => { const place = $(id); if (place.textContent !== text) place.textContent = text; place.hidden = !text; };

  // What this phone keeps. Where its storage refuses, the note is only on this page, and the page says so until it is kept or copied.
  const put = (key, value) => { try { localStorage.setItem(key, value); return true; } catch (_) { return false; } };
  const got = (key) => { try { return localStorage.getItem(key); } catch (_) { return null; } };
  const notes = new Map(), unkept = new Set(), unread = [];
  let putBack = 0, clockSays = "", answer = "", reached = 0;
  let phone = got("afloat.phone");
  const known = /^[0-9a-f]{32}$/.test(phone || "");
  if (!known) { phone = random(16); put("afloat.phone", phone); }
  // A browser writes that storage to its disk some seconds late; a flat battery does not wait. So each note also goes into a base that is told to be on
  // the disk at once. What either of the two has is there after the page is opened again.
  let base = null;
  const kept = new Set();
  const write = (note) => {
    try {
      const deed = base.transaction("notes", "readwrite", { durability: "strict" });
      deed.objectStore("notes").put(note);
      deed.oncomplete = () => { kept.add(note.id); unkept.delete(note.id); };
    } catch (_) { /* The other storage has it, or the page says that it has not. */ }
  };
  const keep = (note) => {
    notes.set(note.id, note);
    if (put(NOTE + note.id, JSON.stringify(note)) || kept.has(note.id)) unkept.delete(note.id); else unkept.add(note.id);
    write(note);
  };
  const read = (key, text) => {
    try {
      const note = JSON.parse(text);
      if (typeof note.id !== "string" || NOTE + note.id !== key) throw 0;
      notes.set(note.id, note);
    } catch (_) { if (text) unread.push(text); }
  };
  for (let n = 0; n < (got("afloat.phone") === null ? 0 : localStorage.length); n += 1) {
    const key = localStorage.key(n);
    if (key.startsWith(NOTE)) read(key, got(key));
  }
  for (const note of [...notes.values()]) {
    if (note.state === "sent" && Date.now() - note.at > KEPT_DAYS * 86400000) { notes.delete(note.id); localStorage.removeItem(NOTE + note.id); }
  }
  try {
    const ask = indexedDB.open("afloat", 1);
    ask.onupgradeneeded = () => ask.result.createObjectStore("notes", { keyPath: "id" });
    ask.onsuccess = () => {
      base = ask.result;
      const all = base.transaction("notes").objectStore("notes").getAll();
      all.onsuccess = () => {
        for (const one of all.result) {
          kept.add(one.id);
          if (one.state === "sent" && Date.now() - one.at > KEPT_DAYS * 86400000) base.transaction("notes", "readwrite").objectStore("notes").delete(one.id);
          else if (!notes.has(one.id) || (one.state === "sent" && notes.get(one.id).state === "waiting")) keep(one);
        }
        const last = mine().pop();
        if (!known && last && /^[0-9a-f]{32}$/.test(last.phone)) { phone = last.phone; put("afloat.phone", phone); }
        if (!coach.value && last) coach.value = last.coach;
        for (const one of notes.values()) if (!kept.has(one.id)) write(one);
        show();
        send();
      };
    };
  } catch (_) { /* There is the other storage. */ }
  addEventListener("storage", (event) => {
    if (event.key && event.key.startsWith(NOTE) && event.newValue) { read(event.key, event.newValue); show(); }
  });
  // What was cleared away under an open page is put back from it.
  const check = () => {
    for (const note of notes.values()) {
      if (unkept.has(note.id)) keep(note);
      else if (got(NOTE + note.id) === null && put(NOTE + note.id, JSON.stringify(note)) && note.state !== "sent") putBack += 1;
    }
    if (got("afloat.phone") === null) put("afloat.phone", phone);
  };

  const coach = $("coach");
  coach.value = got("afloat.coach") || "";
  coach.addEventListener("input", () => put("afloat.coach", coach.value));
  const me = () => { const name = coach.value.trim().replace(/,/g, " ").slice(0, 24); return (name ? name + ", " : "") + "phone " + phone.slice(0, 8); };
  const note = (kind, fields) => {
    const one = { id: random(16), at: Date.now(), day: day.day, outing: day.outing, coach: coach.value.trim(), phone, by: me(), kind, state: "waiting", ...fields };
    keep(one);
    show();
    clearTimeout(soon);
    soon = setTimeout(send, 300);
    return one;
  };
  const mine = (state) => [...notes.values()].filter((n) => !state || n.state === state).sort((a, b) => a.at - b.at);

  // The laptop's answer is kept too: a page that is opened again without network shows what was known last.
  const stored = (() => { try { return JSON.parse(got("afloat.tally")); } catch (_) { return null; } })();
  if (stored && stored.day === day.day && stored.at > day.loaded) { day.tally = stored.tally; day.outing = stored.outing; day.loaded = stored.at; }

  let sending = false, soon = 0;
  const send = async () => {
    if (sending) return;
    sending = true;
    try {
      for (;;) {
        const before = mine("waiting").length;
        const some = mine("waiting").slice(0, AT_ONCE);
        const answered = await fetch("/afloat/notes", {
          method: "POST", headers: { "Content-Type": "application/json" }, cache: "no-store", signal: AbortSignal.timeout ? AbortSignal.timeout(PATIENCE) : undefined,
          body: JSON.stringify({ phone, clock: Date.now(), notes: some }),
        });
        if (!answered.ok || !(answered.headers.get("Content-Type") || "").includes("json")) {
          answer = answered.status === 401 || answered.status === 403 || answered.redirected
            ? "The laptop answers, but does not let this phone in. Open its address in another tab and type the pass phrase there; this page stays open and sends by itself."
            : "The laptop could not take the notes (" + answered.status + "). They stay on this phone.";
          break;
        }
        const said = await answered.json();
        for (const id of said.kept) if (notes.has(id)) keep({ ...notes.get(id), state: "sent", sent: said.now });
        for (const { id, why } of said.refused) if (notes.has(id)) keep({ ...notes.get(id), state: "refused", why });
        if (said.outing) { day.outing = said.outing; day.tally = said.tally; day.loaded = said.now; put("afloat.tally", JSON.stringify({ day: day.day, at: said.now, outing: day.outing, tally: day.tally })); }
        if (said.clock) {
          const [far, way] = [Math.abs(said.clock), said.clock > 0 ? "behind" : "ahead of"];
          clockSays = "This phone's clock is " + (far >= 120 ? Math.round(far / 60) + " minutes " : far + " seconds ") + way + " the laptop's. Both times are kept and nothing was moved: say on the laptop's Afloat page which is right.";
        } else clockSays = "";
        reached = Date.now();
        answer = said.later ? "The laptop could not write: " + said.later : "";
        const left = mine("waiting").length;
        if (said.later || left === 0 || left >= before) break;
      }
    } catch (_) {
      answer = "No answer from the laptop.";
    }
    sending = false;
    show();
  };

  // The tally: what the laptop knew, and what this phone noted since.
  const words = () => {
    // What was sent after the tally was told, by the laptop's clock, is not in it yet.
    // Nor is what the laptop would not take: here it still counts.
    const later = (n) => n.state === "waiting" || (n.state === "refused" && n.day === day.day) || (n.state === "sent" && n.sent > day.loaded && n.day === day.day);
    const waiting = mine().filter((n) => later(n) && (!n.outing || !day.outing || n.outing === day.outing));
    const back = new Set(waiting.filter((n) => n.kind === "undo" && n.state !== "refused").map((n) => n.of));
    const known = new Set(day.tally.map((w) => w.id));
    const own = waiting.filter((n) => (n.kind === "out" || n.kind === "in") && !known.has(n.id));
    return day.tally.concat(own.map((n) => ({ id: n.id, sailor: n.sailor, at: n.at, way: n.kind, boat: n.boat || "", by: n.by, doubted: false }))).filter((w) => !back.has(w.id));
  };
  const label = (id) => (day.sailors.find((s) => s.id === id) || { label: "a sailor who is not on this page" }).label;
  const sentence = (who, [fault, a, b]) => {
    const with_ = { who, a: clock(a.at), b: clock(b.at), p: a.by, q: b.by, wa: a.way, wb: b.way };
    return day.faults[fault].replace(/\{(\w+)\}/g, (_, mark) => with_[mark]);
  };
  let boats = (() => { try { return JSON.parse(got("afloat.boats")) || day.safety; } catch (_) { return day.safety; } })();
  let boat = boats[0] || "", order = null, tapped = 0;
  const places = () => {
    const by = new Map(day.sailors.filter((s) => s.today).map((s) => [s.id, []]));
    for (const word of words()) by.set(word.sailor, (by.get(word.sailor) || []).concat(word));
    return [...by].map(([id, said]) => ({ id, name: label(id), ...tallied(said) }));
  };
  const RANK = { unknown: 0, out: 1, ashore: 2, in: 3 };
  const tally = () => {
    const all = places();
    const [out, unknown] = [all.filter((p) => p.stands === "out"), all.filter((p) => p.stands === "unknown")];
    const open = out.length + unknown.length;
    told("count", String(open));
    told("count-says", open === 0 ? (all.some((p) => p.stands === "in") ? "out: all who were tallied out were tallied in" : "out: nobody is tallied out") : (open === 1 ? "still out" : "still out") + (unknown.length ? ", " + unknown.length + " of them not known" : "") + ": " + [...unknown, ...out].map((p) => p.name).join(", "));
    const wrong = $("wrong");
    const says = all.flatMap((p) => p.faults.map((f) => sentence(p.name, f)));
    const over = mine().filter((n) => n.kind === "over").pop();
    if (over && open > 0) says.unshift("Called over at " + clock(over.at) + ", and " + open + (open === 1 ? " is" : " are") + " not in: " + [...unknown, ...out].map((p) => p.name).join(", ") + ". Look for " + (open === 1 ? "her" : "them") + " now.");
    // What stands there already is not said again.
    fill(wrong, says.length ? [make("b", {}, "The tally does not add up"), ...says.map((s) => make("p", {}, s))] : []);
    wrong.hidden = says.length === 0;
    const ratio = $("ratio"), count = boats.length;
    const most = day.per_boat === null ? Infinity : day.per_boat * count;
    ratio.textContent = open + " out, " + count + (count === 1 ? " safety boat" : " safety boats") + (most === Infinity ? ". No limit is set." : ": " + (open > most ? "over the limit of " : "the limit is ") + day.per_boat + " to each" + (open > most ? ". Fewer boats afloat, or one more safety boat. The coach decides." : "."));
    ratio.classList.toggle("red", open > most);
    // Rows move only when the thumb has rested, so that none is tapped for another.
    if (!order || Date.now() - tapped > SETTLES) {
      const at = new Map(day.sailors.map((s, n) => [s.id, n]));
      order = [...all].sort((a, b) => RANK[a.stands] - RANK[b.stands] || (at.get(a.id) ?? 999) - (at.get(b.id) ?? 999)).map((p) => p.id);
    }
    const tap = (id, way) => () => { tapped = Date.now(); note(way, { sailor: id, boat: way === "out" ? boat : "" }); };
    const row = (p) => make("li", { class: "row " + p.stands, "data-sailor": p.id },
      make("span", { class: "name" }, p.name),
      make("span", { class: "since" }, p.stands === "ashore" ? "ashore" : p.stands === "in" ? "in at " + clock(p.since) : (p.stands === "out" ? "out at " : "not known, last word ") + clock(p.since) + (p.boat ? ", " + p.boat : "")),
      p.stands !== "out" ? make("button", { type: "button", class: p.stands === "ashore" || p.stands === "unknown" ? "word" : "second", "data-way": "out", "aria-label": p.name + (p.stands === "in" ? " out again" : " out"), onclick: tap(p.id, "out") }, p.stands === "in" ? "out again" : "out") : null,
      p.stands === "out" || p.stands === "unknown" ? make("button", { type: "button", class: "word", "data-way": "in", "aria-label": p.name + " in", onclick: tap(p.id, "in") }, "in") : null);
    const rest = all.filter((p) => !order.includes(p.id)).map((p) => p.id);
    fill($("rows"), order.concat(rest).map((id) => all.find((p) => p.id === id)).filter(Boolean).map(row));
    const others = day.sailors.filter((s) => !all.some((p) => p.id === s.id));
    $("others").hidden = others.length === 0;
    fill($("other"), others.map((s) => make("button", { type: "button", "data-sailor": s.id, onclick: tap(s.id, "out") }, s.label + " out")));
    fill($("boats"), boats.map((b) => make("button", { type: "button", "aria-pressed": String(b === boat), onclick: () => { boat = b; show(); } }, b)));
  };
  // New parts take the place of old ones only where they differ, so that a thumb on its way meets what it saw and the keyboard stays where it was.
  const shown = new Map();
  const fill = (place, now) => {
    const says = now.map((one) => one.outerHTML).join("");
    if (shown.get(place) === says) return;
    shown.set(place, says);
    const at = document.activeElement, within = place.contains(at) ? at.closest("[data-sailor], [data-id]") : null;
    place.replaceChildren(...now);
    const again = within && [...place.querySelectorAll("[data-sailor], [data-id]")].find((one) => one.dataset.sailor === within.dataset.sailor && one.dataset.id === within.dataset.id);
    if (again) (again.matches("button") ? again : again.querySelector("button") || again).focus();
  };
  $("more-boat").addEventListener("click", () => {
    const name = $("boat-name").value.trim().slice(0, 40);
    if (!name || boats.includes(name)) return;
    boats = boats.concat(name); boat = name; $("boat-name").value = "";
    put("afloat.boats", JSON.stringify(boats)); show();
  });
  $("less-boat").addEventListener("click", () => { boats = boats.filter((b) => b !== boat); boat = boats[0] || ""; put("afloat.boats", JSON.stringify(boats)); show(); });
  $("over").addEventListener("click", () => note("over", {}));

  // What was noted, in words: for the list, and for the text that can be copied.
  const WORDS = {
    out: (n) => label(n.sailor) + " out" + (n.boat ? ", " + n.boat : ""), in: (n) => label(n.sailor) + " in",
    seen: (n) => (n.sailor ? label(n.sailor) : "All") + ": " + ((day.observations.find((o) => o.key === n.what) || { words: n.what }).words),
    set: (n) => label(n.sailor) + ": " + ((day.gauges.find((g) => g.key === n.what) || { name: n.what, unit: "" }).name) + " " + n.value + " " + ((day.gauges.find((g) => g.key === n.what) || { unit: "" }).unit),
    pass: (n) => label(n.sailor) + " beside " + label(n.other) + ", " + Math.round((n.until - n.at) / 1000) + " s",
    drill: (n) => "Drill done: " + ((day.drills.find((d) => d.key === n.what) || { title: n.what }).title), note: (n) => (n.sailor ? label(n.sailor) + ": " : "") + n.words,
    signal: (n) => "Whistle: " + n.what, over: () => "Called over", undo: (n) => "Taken back: " + (notes.has(n.of) ? said(notes.get(n.of)) : "a note"), voice: (n) => label(n.sailor) + " answered",
  };
  const said = (n) => (WORDS[n.kind] || (() => n.kind))(n);
  const list = () => {
    const undone = new Set(mine().filter((n) => n.kind === "undo").map((n) => n.of));
    const line = (n) => make("li", { class: n.state, "data-id": n.id },
      make("b", {}, clock(n.at, true)), " " + said(n) + " ", make("small", {}, n.state === "sent" ? "at the laptop" : n.state === "refused" ? "not taken: " + n.why : unkept.has(n.id) ? "only on this open page" : "waits on this phone", n.coach ? ", " + n.coach : ""),
      n.kind === "undo" || n.kind === "voice" || undone.has(n.id) || n.day !== day.day ? (undone.has(n.id) ? make("small", {}, ", taken back") : null) : make("button", { type: "button", class: "second", "aria-label": "Take back: " + said(n), onclick: () => note("undo", { of: n.id }) }, "Take back"));
    fill($("list"), mine().reverse().slice(0, 200).map(line));
    const last = mine().filter((n) => n.kind !== "undo" && !undone.has(n.id) && n.day === day.day).pop();
    fill($("last"), last ? [make("span", { "data-id": last.id }, "Noted " + clock(last.at) + ": " + said(last) + ". "), last.kind === "voice" ? make("span", {}) : make("button", { type: "button", class: "second", onclick: () => note("undo", { of: last.id }) }, "Take it back")] : []);
  };
  const asText = (all) => ["Notes of " + me() + ", written " + new Date().toISOString(), ...all.map((n) => new Date(n.at).toISOString().slice(0, 19) + "Z " + said(n).replace(/[{}]/g, "") + " " + JSON.stringify({ ...n, state: undefined, why: undefined })), ...unread].join("\n");
  const text = (all) => { $("text").value = asText(all); $("text").hidden = false; return $("text"); };
  $("copy").addEventListener("click", () => {
    const place = text(mine().filter((n) => n.state !== "sent"));
    place.focus(); place.select();
    let done = false;
    try { done = document.execCommand("copy"); } catch (_) { /* It is marked, and can be copied by hand. */ }
    told("copied", done ? "Copied. Paste it into a message, or on the laptop's Afloat page." : "It is marked below: copy it by hand.");
  });
  $("save").addEventListener("click", () => {
    const place = text(mine());
    const link = make("a", { download: "afloat-notes.txt", href: URL.createObjectURL(new Blob([place.value], { type: "text/plain" })) });
    document.body.append(link); link.click(); link.remove();
    told("copied", "Saved as afloat-notes.txt, if this phone allows files. The text stands below as well.");
  });

  const state = () => {
    const [waiting, refused] = [mine("waiting").length, mine("refused").length];
    const sent = mine("sent").length;
    const count = (n, one, more) => n + " " + (n === 1 ? one : more);
    told("state", (waiting === 0 ? (sent === 1 ? "The one note is at the laptop." : sent ? "All " + sent + " notes are at the laptop." : "Nothing noted yet.") : count(waiting, "note waits", "notes wait") + " on this phone.") + (answer ? " " + answer : ""));
    // The time changes with every answer: it is read by who looks, and not spoken each time.
    told("reached", reached ? "The laptop answered last at " + clock(reached, true) + "." : "");
    told("full", unkept.size ? count(unkept.size, "note is", "notes are") + " only on this open page: this phone's storage is full or refused. Do not close the page. Make room, or copy the notes below and send them to somebody." : "");
    told("cleared", putBack ? "This phone's storage was cleared under the open page; " + count(putBack, "note was", "notes were") + " put back from it." : "");
    told("not-taken", refused ? count(refused, "note was", "notes were") + " not taken by the laptop: the reason stands beside it, under Notes on this phone. Copy it." : "");
    told("unread", unread.length ? count(unread.length, "note", "notes") + " in this phone's storage cannot be read. They are in the copied text as they stand." : "");
    told("clock", clockSays);
  };
  const show = () => { tally(); list(); state(); for (const more of parts) more(); };
  const parts = [];
  addEventListener("beforeunload", (event) => { if (unkept.size) event.preventDefault(); });
  // A clock that was set back is told; one that was set forward looks like a phone that slept.
  let tick = Date.now();
  setInterval(() => {
    const now = Date.now();
    if (now < tick - BACK) note("note", { words: "The clock of " + me() + " was set back by " + Math.round((tick - now) / 60000) + " minutes: its notes before and after bear different clocks." });
    tick = now;
    check();
    show();
  }, 1000);
  setInterval(send, EVERY);
  addEventListener("online", send);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });

  // One part of the page at a time; without script all stand one below the other.
  const turn = (to) => {
    for (const part of document.querySelectorAll("[data-panel]")) part.hidden = part.dataset.panel !== to;
    for (const tab of document.querySelectorAll("[data-to]")) tab.setAttribute("aria-pressed", String(tab.dataset.to === to));
  };
  for (const tab of document.querySelectorAll("[data-to]")) tab.addEventListener("click", () => turn(tab.dataset.to));

  // Who a note is about: one is chosen and stays chosen.
  let whom = null;
  const chips = (place, chosen, choose, all) => fill(place, (all ? [make("button", { type: "button", "aria-pressed": String(chosen() === ""), onclick: () => { choose(""); show(); } }, "All")] : []).concat(day.sailors.map((s) => make("button", { type: "button", "data-sailor": s.id, "aria-pressed": String(chosen() === s.id), onclick: () => { choose(s.id); show(); } }, s.label))));
  parts.push(() => {
    chips($("whom"), () => whom, (id) => { whom = id; }, true);
    for (const one of document.querySelectorAll("[data-seen]")) {
      const last = mine().filter((n) => n.kind === "seen" && n.what === one.dataset.seen && (n.sailor || "") === whom && n.day === day.day).pop();
      one.disabled = whom === null;
      one.classList.toggle("noted", Boolean(last));
      one.querySelector("small").textContent = last ? "noted " + clock(last.at) : "";
    }
  });
  for (const one of document.querySelectorAll("[data-seen]")) one.addEventListener("click", () => note("seen", { what: one.dataset.seen, sailor: whom || undefined }));
  $("write").addEventListener("click", () => { const words = $("words").value.trim(); if (words) { note("note", { words, sailor: whom || undefined }); $("words").value = ""; } });
  const number = (id) => { const text = $(id).value.trim().replace(",", ".").replace("\u2212", "-"); const value = Number(text); return text === "" || !Number.isFinite(value) ? null : value; };
  $("set").addEventListener("click", () => {
    const value = number("value");
    told("set-says", !whom ? "Choose a sailor first." : value === null ? "Type the setting as a number, like 8.5." : "");
    if (whom && value !== null) { note("set", { sailor: whom, what: $("gauge").value, value }); $("value").value = ""; }
  });

  // A pass of a line-up: who beside whom, what each has set, and the stopwatch.
  let pass = (() => { try { return JSON.parse(got("afloat.pass")); } catch (_) { return null; } })();
  const pick = (id) => { for (const s of day.sailors) $(id).append(make("option", { value: s.id }, s.label)); };
  pick("one"); pick("two");
  if (day.sailors[1]) $("two").value = day.sailors[1].id;
  $("run").addEventListener("click", () => {
    if (!pass) {
      if ($("one").value === $("two").value) { told("pass-says", "Choose two different sailors."); return; }
      pass = { at: Date.now(), one: $("one").value, two: $("two").value };
      told("pass-says", "");
    } else {
      const until = Date.now(), gauge = $("pass-gauge").value;
      for (const [who, beside, set] of [[pass.one, pass.two, number("set-one")], [pass.two, pass.one, number("set-two")]]) {
        if (gauge && set !== null) note("set", { at: pass.at, sailor: who, what: gauge, value: set });
        note("pass", { at: pass.at, until, sailor: who, other: beside });
      }
      pass = null;
    }
    put("afloat.pass", JSON.stringify(pass));
    show();
  });
  $("drop").addEventListener("click", () => { pass = null; put("afloat.pass", "null"); show(); });
  const elapsed = (ms) => Math.floor(ms / 60000) + ":" + String(Math.floor(ms / 1000) % 60).padStart(2, "0");
  parts.push(() => {
    $("run").textContent = pass ? "Stop the pass" : "Start the pass";
    $("drop").hidden = !pass;
    $("watch").textContent = pass ? elapsed(Date.now() - pass.at) : "0:00";
    fill($("passes"), mine().filter((n) => n.kind === "pass" && n.day === day.day).reverse().slice(0, 20).map((n) => make("li", {}, clock(n.at) + " " + said(n))));
  });

  for (const one of document.querySelectorAll("[data-drill]")) one.addEventListener("click", () => note("drill", { what: one.dataset.drill, minutes: Number(one.dataset.minutes) }));
  parts.push(() => { for (const one of document.querySelectorAll("[data-drill]")) { const last = mine().filter((n) => n.kind === "drill" && n.what === one.dataset.drill && n.day === day.day).pop(); if (last) one.textContent = "Done at " + clock(last.at) + "; again"; } });

  // The child's own words: handed over, answered, and gone from the screen.
  let child = null;
  parts.push(() => { chips($("child"), () => child, (id) => { child = id; told("thanks", ""); }); for (const part of document.querySelectorAll("[data-voice]")) part.hidden = !child; });
  for (const one of document.querySelectorAll("[data-voice] button")) one.addEventListener("click", () => {
    const of = one.closest("[data-voice]"), typed = of.querySelector("input");
    const words = one.dataset.answer || (typed && typed.value.trim());
    if (!child || !words) return;
    note("voice", { sailor: child, what: of.dataset.voice, words });
    if (typed) typed.value = "";
    told("thanks", day.thanks);
  });

  for (const one of document.querySelectorAll("[data-signals]")) one.querySelector("[data-part=go]").addEventListener("click", () => note("signal", { what: one.dataset.name }));
  document.documentElement.classList.add("live");
  turn("tally");
  check(); show(); send();
  // A page that came out of the browser's own store is told what the laptop knows now, where it answers. Nothing is loaded anew unasked: should the network
  // go meanwhile, there would be no page.
  const newer = (says) => { told("stale-says", says + " Load it while the laptop is near; notes on this phone stay."); $("stale").hidden = false; };
  $("fresh").addEventListener("click", () => location.reload());
  fetch("/afloat/day", { cache: "no-store" }).then((a) => (a.ok ? a.json() : null)).then((now) => {
    if (!now || !now.sailors) return;
    if (now.day !== day.day) newer("This page is of " + day.day + ".");
    else {
      if (now.page !== day.page) newer("The laptop has a newer page: its plan, cautions or list of what is seen changed.");
      day = { ...now, page: day.page, outing: now.outing || day.outing };
      order = null;
      show();
    }
  }).catch(() => {});
})();
