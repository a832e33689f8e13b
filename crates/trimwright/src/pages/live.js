// Moves pictures while a hand moves a setting. Without it the page's own button does the same.
"use strict";
document.documentElement.classList.add("live");
const form = document.querySelector("form[data-live]");
if (form) {
  let busy = false, again = false;
  const asked = () => new URLSearchParams([...new FormData(form)].filter(([, v]) => v !== "")).toString();
  const show = async () => {
    if (busy) { again = true; return; }
    busy = true;
    const begun = performance.now();
    try {
      const query = asked();
      const answer = await fetch(form.dataset.live + "?" + query);
      if (answer.ok) {
        const parts = document.createElement("template");
        parts.innerHTML = await answer.text();
        for (const part of [...parts.content.children].filter((part) => part.id)) {
          const old = document.getElementById(part.id);
          if (old) old.replaceWith(part);
        }
        history.replaceState(null, "", form.action.split("?")[0] + "?" + query);
        form.dataset.took = (performance.now() - begun).toFixed(1);
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
  form.addEventListener("submit", (event) => { event.preventDefault(); show(); });
}
for (const waiting of document.querySelectorAll("[data-again]")) setTimeout(() => location.reload(), Number(waiting.dataset.again));
