/* Forms that say when something is not saved, and the count sheet editor's keys. */
"use strict";

for (const form of document.querySelectorAll("form[data-unsaved]")) {
  let dirty = Boolean(document.getElementById("wrong"));
  const words = form.querySelector(".unsaved");
  const show = () => { words.textContent = dirty ? "Not saved yet." : ""; };
  form.addEventListener("input", () => { dirty = true; show(); });
  form.addEventListener("submit", () => { dirty = false; });
  window.addEventListener("beforeunload", (event) => { if (dirty) event.preventDefault(); });
  show();
}
const wrong = document.getElementById("wrong");
if (wrong) wrong.focus();

const editor = document.getElementById("editor");
if (editor) {
  const search = document.getElementById("add-q");
  const found = document.getElementById("found");
  const say = (words, bad) => packbench.say(bad ? "wrong" : "right", words);

  editor.addEventListener("keydown", (event) => {
    const line = event.target.closest(".line");
    const up = event.key === "ArrowUp";
    if (!up && event.key !== "ArrowDown") return;
    if (event.altKey && line) {
      event.preventDefault();
      if (!event.target.id) line.querySelector("input[name=quantity]").focus();
      line.querySelector(`[data-move=${event.key}]`).click();
    } else if (!event.altKey && event.target.closest("#add")) {
      const stops = [search, ...found.querySelectorAll("button")];
      const next = stops[stops.indexOf(event.target) + (up ? -1 : 1)];
      if (next) { event.preventDefault(); next.focus(); }
    }
  });

  let open = [];
  let focused = "";
  editor.addEventListener("htmx:beforeSwap", () => {
    open = [...editor.querySelectorAll("details[open][id]")].map((each) => each.id);
    focused = document.activeElement ? document.activeElement.id : "";
  });
  editor.addEventListener("htmx:afterSwap", () => {
    for (const id of open) {
      const details = document.getElementById(id);
      if (details) details.open = true;
    }
    const again = focused && document.getElementById(focused);
    if (again && document.activeElement !== again) again.focus();
  });

  document.body.addEventListener("line-added", () => {
    search.value = "";
    found.replaceChildren();
    document.getElementById("how-many").value = "1";
    search.focus();
  });
  document.body.addEventListener("htmx:beforeRequest", (event) => {
    if (event.detail.requestConfig.verb === "post") packbench.say("note", "Saving…");
  });
  for (const failure of ["htmx:sendError", "htmx:responseError", "htmx:timeout"]) {
    document.body.addEventListener(failure, () => {
      say("Not saved: the program did not answer. What you typed is still here; change it once more to save it.", true);
    });
  }
}
