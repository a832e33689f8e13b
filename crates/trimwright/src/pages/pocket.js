"use strict";
// Keeps ticks and answers on this phone, and hands them on when the page is reached by its link again.
(() => {
  const body = document.body, name = "trimwright " + body.dataset.sailor;
  const read = () => { try { return JSON.parse(localStorage.getItem(name)) || {}; } catch { return {}; } };
  const kept = { ticks: {}, answers: [], ...read() };
  const keep = () => { try { localStorage.setItem(name, JSON.stringify(kept)); } catch { /* A phone that keeps nothing still shows all. */ } };
  if (kept.day !== body.dataset.day) { kept.day = body.dataset.day; kept.ticks = {}; kept.taken = ""; }
  for (const box of document.querySelectorAll("[data-tick]")) {
    const key = box.dataset.tick;
    if (key in kept.ticks) box.checked = kept.ticks[key];
    box.addEventListener("change", () => { kept.ticks[key] = box.checked; keep(); told(); send(); });
  }
  const id = () => Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join("");
  const form = document.getElementById("send"), waiting = document.getElementById("waiting");
  // Ticks go along with their day; what was ticked when they were last taken need not go again.
  const ticked = () => Object.keys(kept.ticks).filter((key) => kept.ticks[key]).sort();
  const ticksWait = () => ticked().join() !== (kept.taken || "");
  const fields = (by) => [["by", by], ["day", kept.day], ...lines().map((line) => ["a", line]), ...ticked().map((key) => ["t", key])];
  const lines = () => kept.answers.map((a) => [a.id, a.at, a.key, a.answer, a.right].join("|"));
  const told = () => {
    form.hidden = to === "" || (kept.answers.length === 0 && !ticksWait());
    waiting.textContent = body.dataset.waiting.replace("{n}", kept.answers.length);
  };
  const to = form.getAttribute("action"), reached = to !== "" && to.startsWith(location.origin + "/");
  let sending = false;
  const send = async () => {
    if (!reached || sending || (kept.answers.length === 0 && !ticksWait())) return;
    sending = true;
    const sent = new URLSearchParams(fields("script")), taken = ticked().join(), gone = new Set(kept.answers.map((a) => a.id));
    let again = false;
    try {
      const answer = await fetch(to, { method: "POST", body: sent });
      if (answer.ok) {
        const there = new Set((await answer.text()).split("\n"));
        kept.answers = kept.answers.filter((a) => !there.has(a.id));
        kept.taken = taken;
        keep();
        // What came up meanwhile goes next.
        again = kept.answers.some((a) => !gone.has(a.id)) || ticksWait();
      }
    } catch { /* No network: the answers wait. */ }
    sending = false;
    told();
    if (again) send();
  };
  for (const article of document.querySelectorAll(".q")) {
    const all = [...article.querySelectorAll("details")];
    for (const one of all) {
      one.addEventListener("toggle", () => {
        if (!one.open || article.dataset.done) return;
        article.dataset.done = "1";
        one.classList.add("mine");
        kept.answers.push({ id: id(), at: Date.now(), key: article.dataset.key, answer: one.dataset.answer, right: one.dataset.right });
        keep();
        for (const other of all) if (other.dataset.right === "1") { other.open = true; other.classList.add("told"); }
        told();
        send();
      });
    }
  }
  form.addEventListener("submit", (event) => {
    if (reached) { event.preventDefault(); send(); return; }
    for (const old of form.querySelectorAll("input")) old.remove();
    for (const [name, value] of fields("form")) { const field = document.createElement("input"); field.type = "hidden"; field.name = name; field.value = value; form.append(field); }
  });
  addEventListener("online", send);
  keep();
  told();
  send();
})();
