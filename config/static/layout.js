/* The layout of a basket: a tap on a piece marks it, a tap on a free place moves the marked one
   there; arrows are the buttons of the same direction. Every move is a press of the form, which
   works without this script; the server says where a piece may lie. */
"use strict";

(() => {
  const TAKES_ARROWS = "input, select, textarea, summary";
  const PER_MM = 10; // a drawing counts in tenths of a millimeter
  const byId = (id) => document.getElementById(id);

  function place(figure, event) {
    const svg = figure.querySelector("svg");
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const { left, top } = byId("layout").dataset;
    return { x: at.x / PER_MM - Number(left), y: at.y / PER_MM - Number(top) };
  }

  function box(option) {
    const [x, y, length, width] = option.dataset.box.split(" ").map(Number);
    return { x, y, length, width };
  }

  const holds = (option, { x, y }) => {
    const one = box(option);
    return one.x <= x && x <= one.x + one.length && one.y <= y && y <= one.y + one.width;
  };

  document.addEventListener("click", (event) => {
    const figure = event.target.closest("#layout [data-layer]");
    const piece = byId("piece");
    if (!figure || !piece) return;
    byId("choose").focus({ preventScroll: true }); // or keys would go into the field for scans
    const at = place(figure, event);
    const there = [...piece.options].find((one) => one.dataset.at === figure.dataset.layer && holds(one, at));
    if (there) {
      piece.value = there.value;
      byId("choose").click();
    } else {
      const [marked] = piece.selectedOptions;
      const { length, width } = marked.dataset.at === "0" ? { length: 0, width: 0 } : box(marked);
      byId("layer").value = figure.dataset.layer;
      byId("x").value = Math.max(0, at.x - length / 2).toFixed(1);
      byId("y").value = Math.max(0, at.y - width / 2).toFixed(1);
      byId("step-to").click();
    }
  });

  document.addEventListener("change", (event) => {
    if (event.target.id === "piece") byId("choose").click();
  });

  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || event.target.closest(TAKES_ARROWS)) return;
    const button = document.querySelector(`#layout [data-arrow="${event.key}"]`);
    if (!button) return;
    event.preventDefault();
    button.click();
  });
})();
