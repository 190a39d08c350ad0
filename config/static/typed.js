/* What was typed outlives a sign-in: who is signed out finds it in its place on the same page.

   A page that is left keeps what its forms hold beyond what they opened with, in this tab alone
   and never a password. The next page drops it, unless that turned the person away (data-turned-away
   names where a sign-in leads back to). Back on the same page the same person has it again; in a
   form that has changed meanwhile it is said instead, because nothing is put where it may not
   belong. Nothing is sent by itself. */
"use strict";

(() => {
  const STORE = "packbench-typed";
  const HOLDS_MS = 60 * 60 * 1000; // our own bound: later it may be about another thing
  const OF_ITS_OWN = ["csrfmiddlewaretoken", "key", "next"]; // new on each page
  const here = location.pathname + location.search;
  const { person } = document.body.dataset;
  const fields = (form) => [...form.elements].filter((one) => one.name && !one.matches(
    "button, [type=hidden], [type=password], [type=file], [type=submit], fieldset, output"));
  const boxed = (one) => one.type === "radio" || one.type === "checkbox";
  const chosen = (one) => [...one.options].map((option) => option.selected);

  // Which form of the page: where it goes, and what it is about.
  const named = (form) => JSON.stringify([form.getAttribute("action"),
    ...[...form.elements].filter((one) => one.type === "hidden" && !OF_ITS_OWN.includes(one.name))
      .map((one) => [one.name, one.value])]);
  const forms = () => [...document.querySelectorAll("form[method=post]")];

  function typed(one) {
    if (boxed(one)) return one.checked !== one.defaultChecked;
    if (one.options) return [...one.options].some((option) => option.selected !== option.defaultSelected);
    return one.value !== one.defaultValue;
  }

  // A field by its name and its number among those of that name.
  function holding(form) {
    const before = {};
    return fields(form).flatMap((one) => {
      before[one.name] = (before[one.name] ?? -1) + 1;
      const value = boxed(one) ? one.checked : one.options ? chosen(one) : one.value;
      return typed(one) ? [{ name: one.name, at: before[one.name], value }] : [];
    });
  }

  function put(form, kept) {
    for (const { name, at, value } of kept) {
      const one = fields(form).filter((any) => any.name === name)[at];
      if (!one) continue;
      if (boxed(one)) one.checked = value;
      else if (one.options) [...one.options].forEach((option, number) => { option.selected = value[number]; });
      else one.value = value;
      one.closest("details")?.setAttribute("open", "");
    }
    if ("unsaved" in form.dataset) form.dispatchEvent(new Event("input"));
  }

  function again(kept) {
    const there = new Map(forms().map((form) => [named(form), form]));
    const lost = [];
    for (const one of kept.forms) {
      const form = there.get(one.form);
      if (form) put(form, one.fields);
      else lost.push(...one.fields.filter(({ value }) => typeof value === "string" && value).map(({ value }) => value));
    }
    const words = lost.length ? `This changed meanwhile. You had typed: ${lost.join(" · ")}`
      : "You were signed out. What you typed is here again, not sent yet.";
    packbench.say("note", words);
  }

  const turnedAway = document.querySelector("[data-turned-away]");
  let kept = null;
  try { kept = JSON.parse(sessionStorage.getItem(STORE)); } catch { /* none */ }
  if (turnedAway) {
    if (!kept) return;
    sessionStorage.setItem(STORE, JSON.stringify({ ...kept, away: true }));
    turnedAway.insertAdjacentHTML("beforeend", '<input type="hidden" name="scripted" value="yes">'); // config/typed.py
    return;
  }
  sessionStorage.removeItem(STORE);
  if (kept?.away && kept.person === person && kept.page === here && Date.now() - kept.at < HOLDS_MS) again(kept);

  window.addEventListener("pagehide", () => {
    const held = forms().map((form) => ({ form: named(form), fields: holding(form) }))
      .filter((one) => one.fields.length);
    if (person && held.length) {
      sessionStorage.setItem(STORE, JSON.stringify({ person, page: here, at: Date.now(), forms: held }));
    }
  });
})();
