/* The page of an assembly (scans.js sends and shows what is counted).

   A link with data-mark shows its line without loading the page; the arrows do it too.
   F2 undoes, F4 opens what else can be said of the line: keys that no name or code has, so
   that what is typed or scanned never acts by itself.
   What an answer offers has the focus, so that Enter takes it; what is typed or scanned goes
   into the field all the same. What others do shows within seconds. */
"use strict";

(() => {
  const bench = document.querySelector("[data-now]");
  const AGAIN_MS = 3000;
  const SEEN_MS = 300; // a second Enter of the scanner comes sooner; common practice, no source
  const byId = (id) => id && document.getElementById(id);
  const field = () => document.getElementById("scan");
  const offers = () => [...document.querySelectorAll("#said button, #said a.button")];
  let before = {};

  // Enter takes an offer only once it can have been read.
  const ready = (said = byId("said")) => window.setTimeout(() => { said.dataset.ready = "yes"; }, SEEN_MS);
  ready();

  document.addEventListener("parts-leave", () => {
    before = {
      seen: byId("build").dataset.seen,
      focused: document.activeElement?.id,
      open: [...document.querySelectorAll("#build details[open]")].map((one) => one.id),
    };
  });

  document.addEventListener("parts-shown", () => {
    const build = byId("build");
    ready();
    const same = before.seen === build.dataset.seen;
    for (const one of before.open.map(byId)) if (one && (same || one.id === "counted")) one.open = true;
    const [offer] = byId("said").dataset.tone ? offers() : [];
    const again = offer || byId(before.focused) || field();
    if (offer || matchMedia("(hover: hover)").matches) again?.focus({ preventScroll: true });
    if ((build.dataset.counting === "yes") !== (field()?.form.method === "post")) location.reload();
  });

  async function show(query) {
    try {
      const answer = await fetch(`${bench.dataset.now}?${query}`,
        { headers: { "HX-Request": "true" }, redirect: "manual" });
      if (answer.status === 200 && packbench.scans.idle()) packbench.scans.show(await answer.text());
    } catch { /* the next count says so */ }
  }

  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-mark]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    show(link.search.slice(1));
  });

  function step(by) {
    const among = offers();
    const at = among.indexOf(document.activeElement);
    if (among.length > 1 && at >= 0) { among[(at + by + among.length) % among.length].focus(); return; }
    const now = Number(byId("now")?.dataset.order ?? 0);
    const lines = [...document.querySelectorAll("#build > .line-section [data-order]")];
    const next = by > 0 ? lines.find((one) => one.dataset.order > now) ?? lines[0]
      : lines.findLast((one) => one.dataset.order < now) ?? lines.at(-1);
    next?.querySelector("a[data-mark]").click();
  }

  function more() {
    const details = byId("more");
    if (!details) return;
    details.open = true;
    details.querySelector("button, select, input:not([type=hidden])").focus();
    details.scrollIntoView({ block: "nearest" });
  }

  document.addEventListener("keydown", (event) => {
    const at = event.target;
    const early = event.repeat || !byId("said").dataset.ready;
    if (event.key === "Enter" && offers().includes(at) && early) event.preventDefault();
    if (event.key === "F2") { event.preventDefault(); byId("undo")?.click(); }
    if (event.key === "F4" && !event.altKey) { event.preventDefault(); more(); }
    const by = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const typing = at.matches("select, textarea, input") && at !== field();
    if (!by || typing || event.ctrlKey || event.altKey || event.metaKey || !packbench.scans.idle()) return;
    event.preventDefault();
    step(by);
  });

  window.setInterval(() => {
    const { seen, held } = byId("build").dataset;
    const at = document.activeElement;
    const typing = at?.matches("input, select, textarea") && at.closest("#bench");
    if (packbench.scans.idle() && !document.hidden && !typing) show(`seen=${seen}&held=${held}`);
  }, AGAIN_MS);
})();
