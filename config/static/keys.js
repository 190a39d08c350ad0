/* Shortcuts of one key on the page of a build; data-keys="off" leaves only the ? that shows
   them. scan.js tells a key that comes alone (single-key) from a scan.

   packbench.mark(line)   marks a line: the one that the shortcuts are about */
"use strict";
window.packbench = window.packbench || {};

(() => {
  const place = document.querySelector("[data-keys]");
  const on = () => place.dataset.keys === "on";

  packbench.mark = (line) => {
    if (!line) return;
    document.querySelectorAll(".line.marked").forEach((one) => one.classList.remove("marked"));
    line.classList.add("marked");
    line.scrollIntoView({ block: "nearest" });
  };
  const marked = () => document.querySelector(".line.marked") || document.querySelector(".line.now");
  const press = (id) => document.getElementById(id)?.click();

  function step(by) {
    const lines = [...document.querySelectorAll("[data-line]")];
    packbench.mark(lines[Math.max(0, Math.min(lines.length - 1, lines.indexOf(marked()) + by))]);
  }

  function count(pieces) {
    const button = marked()?.querySelector("[id^='all-']");
    if (!button) { packbench.tell("wrong"); return; }
    const form = button.form;
    if (pieces === "all") { form.requestSubmit(button); return; }
    form.elements.quantity.value = pieces;
    const one = document.createElement("button");
    one.name = "act"; one.value = "count"; one.hidden = true;
    form.append(one);
    form.requestSubmit(one);
    one.remove();
    form.elements.quantity.value = "1";
  }

  function more() {
    const details = marked()?.querySelector(".more");
    if (!details) return;
    details.open = true;
    details.querySelector("button, select, input:not([type=hidden])")?.focus();
  }

  const acts = {
    a: () => count("all"), s: more, d: more, u: () => press("undo"), p: () => press("pack-it"),
    "/": () => document.getElementById("scan")?.focus(),
  };

  document.addEventListener("single-key", ({ detail: { key } }) => {
    if (key === "?") document.getElementById("keys").showModal();
    else if (on() && /^[1-9]$/.test(key)) count(key);
    else if (on()) acts[key.toLowerCase()]?.();
  });

  document.getElementById("show-keys")?.addEventListener("click", () => document.getElementById("keys").showModal());
  document.addEventListener("keydown", (event) => {
    const at = event.target;
    if (at.id === "scan" && event.key === "Escape") { at.blur(); return; }
    if (!on() || event.ctrlKey || event.altKey || event.metaKey) return;
    if (at.closest("input, select, textarea") || document.querySelector("dialog[open]")) return;
    const by = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (by) { step(by); event.preventDefault(); }
  });
})();
