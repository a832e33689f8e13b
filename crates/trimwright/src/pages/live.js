// Moves pictures while a hand moves a setting. Without it the page's own button does the same.
"use strict";
document.documentElement.classList.add("live");
// How long a hand must rest before the address is written, ms: it holds the state, and writing it takes the browser a while.
const REST = 250;
const words = (element) => [...element.childNodes].filter((node) => node.nodeType === Node.TEXT_NODE).map((node) => node.data).join("|");
// Puts what is new in the place of what is old, and leaves what stayed the same alone: it need not be drawn or read out again.
const settle = (old, now) => {
  if (old.isEqualNode(now)) return;
  const [from, to] = [[...old.children], [...now.children]];
  const within = now.tagName !== "svg" && to.length > 0 && from.length === to.length && words(old) === words(now)
    && old.cloneNode(false).isEqualNode(now.cloneNode(false));
  if (within) from.forEach((child, k) => settle(child, to[k]));
  else old.replaceWith(now);
};
const form = document.querySelector("form[data-live]");
if (form) {
  let busy = false, again = false, rest = 0;
  const asked = () => new URLSearchParams([...new FormData(form)].filter(([, v]) => v !== "")).toString();
  const show = async () => {
    if (busy) { again = true; return; }
    busy = true;
    try {
      const query = asked();
      const answer = await fetch(form.dataset.live + "?" + query);
      if (answer.ok) {
        const parts = document.createElement("template");
        parts.innerHTML = await answer.text();
        for (const part of [...parts.content.children].filter((part) => part.id)) {
          const old = document.getElementById(part.id);
          if (old) settle(old, part);
        }
        clearTimeout(rest);
        rest = setTimeout(() => history.replaceState(null, "", form.action.split("?")[0] + "?" + query), REST);
        form.dataset.shown = String(Number(form.dataset.shown || 0) + 1);
      }
    } catch (_) { /* The next move asks again. */ }
    busy = false;
    if (again) { again = false; show(); }
  };
  form.addEventListener("input", (event) => {
    const twin = event.target.dataset.twin && document.getElementById(event.target.dataset.twin);
    if (twin) twin.value = event.target.value;
    show();
  });
  // A button that sends elsewhere, to keep what was typed, is let go.
  form.addEventListener("submit", (event) => {
    if (event.submitter && event.submitter.hasAttribute("formmethod")) return;
    event.preventDefault();
    show();
  });
}
for (const waiting of document.querySelectorAll("[data-again]")) setTimeout(() => location.reload(), Number(waiting.dataset.again));
