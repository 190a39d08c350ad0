/* The page of a build: what its reader looked at stays where it was when a count is shown
   (scans.js sends and shows it), and what others do shows within seconds. */
"use strict";

(() => {
  const bench = document.querySelector("[data-now]");
  const AGAIN_MS = 3000;
  const byId = (id) => id && document.getElementById(id);
  const idOf = (selector) => document.querySelector(selector)?.id;
  let before = {};

  document.addEventListener("parts-leave", () => {
    const anchor = [...document.querySelectorAll("[data-line]")]
      .find((one) => one.getBoundingClientRect().bottom > 90);
    before = {
      anchor: anchor?.id,
      stood: anchor?.getBoundingClientRect().top,
      focused: document.activeElement?.id,
      marked: idOf(".line.marked"),
      now: idOf(".line.now"),
      open: [...document.querySelectorAll("#build details[open]")].map((one) => one.id),
    };
  });

  document.addEventListener("parts-shown", () => {
    const { anchor, stood, focused, marked, now, open } = before;
    const build = document.getElementById("build");
    const stands = byId(anchor);
    if (stands && window.scrollY > 0) window.scrollBy(0, stands.getBoundingClientRect().top - stood);
    if (now && marked && now !== marked) packbench.mark(byId(marked));
    if (!document.getElementById("said").dataset.tone) for (const one of open.map(byId)) if (one) one.open = true;
    const field = document.getElementById("scan");
    const again = byId(focused);
    if (again) again.focus({ preventScroll: true });
    else if (focused && field && matchMedia("(hover: hover)").matches) field.focus({ preventScroll: true });
    if (focused === "scan") build.querySelector(".line.now")?.scrollIntoView({ block: "nearest" });
    const counting = build.querySelector(".line-acts") !== null;
    if (counting !== (field?.form.method === "post")) location.reload();
  });

  window.setInterval(async () => {
    const { seen, held } = document.getElementById("build").dataset;
    if (!packbench.scans.idle() || document.hidden || typing()) return;
    try {
      const answer = await fetch(`${bench.dataset.now}?seen=${seen}&held=${held}`,
        { headers: { "HX-Request": "true" }, redirect: "manual" });
      if (answer.status === 200 && packbench.scans.idle()) packbench.scans.show(await answer.text());
    } catch { /* the next count says so */ }
  }, AGAIN_MS);

  function typing() {
    const at = document.activeElement;
    return at && at.matches("input, select, textarea") && at.closest("#build") !== null;
  }
})();
