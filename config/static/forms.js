/* What is missing in a form, or out of its range, is said beside its field, in our words: no
   browser's bubble on any page (forms carry novalidate). The first such field gets the focus and
   nothing is sent. The server refuses the same for whoever has no script; a form that it answers
   field by field itself (data-unsaved) is always sent.

   data-answered   says how many questions of its form are answered: 3 of 7. */
"use strict";

(() => {
  const words = ({ validity, min, max, type }) => {
    if (validity.valueMissing) return type === "radio" ? "Choose one." : "This is needed.";
    if (validity.rangeUnderflow || validity.rangeOverflow) {
      return min && max ? `From ${min} to ${max}.` : min ? `${min} or more.` : `${max} or less.`;
    }
    if (type === "number") return "Type a whole number, such as 2.";
    return type.startsWith("date") || type === "time" ? "This is no day or time." : "This cannot be read.";
  };

  function clear(form) {
    for (const one of form.querySelectorAll(".field-problem")) one.remove();
    for (const one of form.querySelectorAll("[data-problem]")) {
      one.removeAttribute("aria-invalid");
      one.removeAttribute("aria-describedby");
      delete one.dataset.problem;
    }
  }

  function say(field) {
    const problem = document.createElement("p");
    problem.className = "field-error field-problem";
    problem.id = `problem-of-${field.id || field.name}`;
    problem.textContent = words(field);
    field.ariaInvalid = "true";
    field.setAttribute("aria-describedby", problem.id);
    field.dataset.problem = "";
    if (field.type === "radio") field.closest("fieldset, form").append(problem); else field.after(problem);
  }

  function count(place) {
    const questions = new Map();
    for (const one of place.closest("form").querySelectorAll("input[type=radio]")) {
      questions.set(one.name, questions.get(one.name) || one.checked);
    }
    const answered = [...questions.values()].filter(Boolean).length;
    place.textContent = `${answered} of ${questions.size} answered`;
  }
  const places = document.querySelectorAll("[data-answered]");
  places.forEach(count);
  if (places.length) document.addEventListener("change", () => places.forEach(count));

  document.addEventListener("submit", (event) => {
    const form = event.target;
    clear(form);
    if (!form.noValidate || "unsaved" in form.dataset || event.submitter?.formNoValidate) return;
    const wrong = [...form.elements].filter((one) => one.willValidate && !one.validity.valid);
    if (!wrong.length) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    const names = new Set();
    for (const one of wrong) if (!names.has(one.name)) { names.add(one.name); say(one); }
    wrong[0].closest("details:not([open])")?.setAttribute("open", "");
    wrong[0].focus();
  }, true);
})();

// What filters of hx-trigger would say: they are run as script made of text, which no page allows.
// A part that renews itself waits while nobody sees the page, or somebody is in a field of it; a form
// that is sent by its buttons is not sent by Enter, which comes with the first button, of no value.
document.addEventListener("htmx:confirm", (event) => {
  const { elt, triggeringEvent } = event.detail;
  const entered = document.activeElement?.closest("input, select, textarea, details");
  const meanwhile = elt.hasAttribute("data-not-meanwhile") && entered && elt.contains(entered);
  const unseen = document.hidden && !triggeringEvent && elt.matches("[hx-trigger^=every]");
  const byEnter = elt.hasAttribute("data-pressed") && triggeringEvent?.type === "submit"
    && !triggeringEvent.submitter?.value;
  if (unseen || meanwhile || byEnter) event.preventDefault();
});
