/* The bench: counts are sent one after the other, each under a key of its own, and again
   until the server has answered. Sent twice, a count is one. Without this script every form
   still works as a plain form. */
"use strict";

(() => {
  const bench = document.querySelector("[data-bench]");
  if (!bench) return;
  const on = (name) => bench.dataset[name] === "on";
  const tell = (tone) => packbench.tell(bench, tone);

  /* --- counts wait in a queue until the server has them -------------------------------- */

  const build = bench.dataset.build;
  if (!build) return;
  const queue = packbench.queue({
    store: `packbench-build-${build}`,
    notice: document.getElementById("waiting-sends"),
    post: ({ url, body }) => ({ url, body }),
    done: show,
    refused: () => tell("wrong"),
    failed: () => tell("wrong"),
  });

  function enqueue(form, submitter, key) {
    const data = new FormData(form, submitter);
    data.delete("csrfmiddlewaretoken");
    if (key) data.set("key", key);
    queue.add({ url: form.getAttribute("action"), body: new URLSearchParams(data).toString() });
  }

  function show(html) {
    const fresh = new DOMParser().parseFromString(html, "text/html").getElementById("build");
    const old = document.getElementById("build");
    if (!fresh || !old) throw new Error("not the build");
    const focused = document.activeElement && document.activeElement.id;
    const marked = old.querySelector(".line.marked");
    const open = [...old.querySelectorAll("details[open]")].map((one) => one.id);
    const lineNow = old.querySelector(".line.now");
    const anchor = [...old.querySelectorAll("[data-line]")].find((one) => one.getBoundingClientRect().bottom > 90);
    const stood = anchor && anchor.getBoundingClientRect().top;
    old.replaceWith(fresh);
    const stands = anchor && document.getElementById(anchor.id);
    if (stands && window.scrollY > 0) window.scrollBy(0, stands.getBoundingClientRect().top - stood);
    if (lineNow && marked && lineNow.id !== marked.id) mark(document.getElementById(marked.id));
    if (!fresh.dataset.tone) for (const id of open) { const one = document.getElementById(id); if (one) one.open = true; }
    const field = document.getElementById("scan");
    const again = focused && document.getElementById(focused);
    if (again) again.focus({ preventScroll: true });
    else if (focused && field && matchMedia("(hover: hover)").matches) field.focus({ preventScroll: true });
    tell(fresh.dataset.tone);
    if (focused === "scan") fresh.querySelector(".line.now")?.scrollIntoView({ block: "nearest" });
    const counting = fresh.querySelector(".line-acts") !== null;
    if (!counting && document.querySelector("[data-scan]")) document.querySelector("[data-scan]").hidden = true;
    if (counting && document.querySelector("[data-scan]")) document.querySelector("[data-scan]").hidden = false;
    if (counting && !document.querySelector("[data-scan]")) location.reload();
  }

  /* A scanner that reads the same code twice in a moment means one piece. */
  let last = { words: "", at: 0, key: "" };
  function scanKey(words) {
    const now = performance.now();
    const twice = words === last.words && now - last.at < Number(bench.dataset.doubleReadMs);
    last = { words, at: now, key: twice ? last.key : packbench.newKey() };
    return last.key;
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("[data-count]")) return;
    event.preventDefault();
    if (form.matches("[data-scan]")) {
      const field = form.elements.words;
      const words = field.value.trim();
      if (words) enqueue(form, event.submitter, scanKey(words));
      field.value = "";
      return;
    }
    enqueue(form, event.submitter);
  });
  queue.start();

  /* --- what others do shows within seconds ---------------------------------------------- */

  window.setInterval(async () => {
    const here = document.getElementById("build");
    if (!queue.idle() || document.hidden || typing()) return;
    try {
      const answer = await fetch(
        `${bench.dataset.now}?seen=${here.dataset.seen}&held=${here.dataset.held}`,
        { headers: { "HX-Request": "true" }, redirect: "manual" });
      if (answer.status === 200 && queue.idle()) show(await answer.text());
    } catch { /* the next count says so */ }
  }, 3000);
  function typing() {
    const at = document.activeElement;
    return at && at.matches("input, select, textarea") && at.id !== "scan" && at.closest("#build") !== null;
  }

  /* --- keys ------------------------------------------------------------------------------ */

  function mark(line) {
    if (!line) return;
    document.querySelectorAll(".line.marked").forEach((one) => one.classList.remove("marked"));
    line.classList.add("marked");
    line.scrollIntoView({ block: "nearest" });
  }
  const markedLine = () => document.querySelector(".line.marked") || document.querySelector(".line.now");
  function step(by) {
    const lines = [...document.querySelectorAll("[data-line]")];
    mark(lines[Math.max(0, Math.min(lines.length - 1, lines.indexOf(markedLine()) + by))]);
  }
  function countMarked(pieces) {
    const line = markedLine();
    const button = line && line.querySelector("[id^='all-']");
    if (!button) { tell("wrong"); return; }
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
    const details = markedLine() && markedLine().querySelector(".more");
    if (!details) return;
    details.open = true;
    const first = details.querySelector("button, select, input:not([type=hidden])");
    if (first) first.focus();
  }
  function single(key) {
    if (key === "?") { document.getElementById("keys").showModal(); return true; }
    if (!on("keys")) return false;
    if (/^[1-9]$/.test(key)) { countMarked(key); return true; }
    const press = (id) => { const one = document.getElementById(id); if (one) one.click(); };
    const acts = { a: () => countMarked("all"), s: more, d: more, u: () => press("undo"), p: () => press("pack-it"),
      "/": () => document.getElementById("scan")?.focus() };
    const does = acts[key.toLowerCase()];
    if (does) does();
    return Boolean(does);
  }

  /* Keys outside the field are held for a moment: several in quick succession are a scan and
     go into the field; one alone is a shortcut. */
  const BURST_MS = 60;
  let held = "";
  let timer = 0;
  document.addEventListener("keydown", (event) => {
    const at = event.target;
    // A scanner sends the GS1 separator as Ctrl+]: a field would lose it, so it is put in.
    if (at.id === "scan" && event.ctrlKey && !event.altKey && event.key === "]") {
      event.preventDefault();
      at.setRangeText("\u001d", at.selectionStart, at.selectionEnd, "end");
      return;
    }
    if (document.querySelector("dialog[open]") || event.ctrlKey || event.altKey || event.metaKey) return;
    if (at.id === "scan" && event.key === "Escape") { at.blur(); return; }
    if (at.matches("input, select, textarea")) return;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      if (on("keys")) { step(event.key === "ArrowDown" ? 1 : -1); event.preventDefault(); }
      return;
    }
    if (event.key === "Enter" && held) { event.preventDefault(); intoField(true); return; }
    if (event.key.length !== 1 || event.key === " ") return;
    event.preventDefault();
    held += event.key;
    window.clearTimeout(timer);
    timer = window.setTimeout(() => {
      if (held.length === 1) { const key = held; held = ""; single(key); } else intoField(false);
    }, BURST_MS);
  });
  function intoField(submit) {
    window.clearTimeout(timer);
    const field = document.getElementById("scan");
    if (field) {
      field.value += held;
      field.focus();
      if (submit) field.form.requestSubmit();
    }
    held = "";
  }
})();
