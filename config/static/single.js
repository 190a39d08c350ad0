/* The checks of a single package: data-groups on their form. One press answers what is left of
   one group with yes; the button of the next group then takes its place, so that no group is
   answered before it was on the screen. Only the last group's press is sent. A "no" is sent with
   it, and said. Without this script each press is a page. */
"use strict";

(() => {
  const form = document.querySelector("form[data-groups]");
  const acts = form && [...form.querySelectorAll(".main-act[name=group]")];
  if (!acts?.length) return;
  const groupOf = (act) => form.querySelector(`[data-group="${act.value}"]`);
  const open = (check) => !check.querySelector("input:checked");
  const left = (act) => [...groupOf(act).querySelectorAll(".check")].filter(open);

  function show() {
    const next = acts.find((act) => left(act).length) ?? acts.at(-1);
    for (const act of acts) act.hidden = act !== next;
    for (const act of acts) groupOf(act).classList.toggle("now", act === next);
    return next;
  }

  form.addEventListener("click", (event) => {
    const act = event.target.closest(".main-act[name=group]");
    if (!act || act === acts.at(-1)) return;
    event.preventDefault();
    for (const check of left(act)) check.querySelector("input[value=yes]").checked = true;
    show().focus({ preventScroll: true });
  });
  form.addEventListener("change", show);
  show();
})();
