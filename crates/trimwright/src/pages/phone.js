"use strict";
// Where nothing answers, a form stays on the page with what was chosen, and says so; a browser would put its own error in its place.
for (const form of document.querySelectorAll("form[method=post]")) {
  form.addEventListener("submit", async (event) => {
    if (form.dataset.there) { delete form.dataset.there; return; }
    event.preventDefault();
    const button = event.submitter, alone = document.getElementById("alone");
    try {
      await fetch("/look/phone.js", { method: "HEAD", cache: "no-store" });
      alone.hidden = true;
      form.dataset.there = "1";
      form.requestSubmit(button);
    } catch { alone.hidden = false; alone.scrollIntoView({ block: "center" }); }
  });
}
