/* Shortcuts of one key: what has data-key is pressed by that key, where the page has data-keys="on".
   scan.js tells a key that comes alone (single-key) from a scan. A key that is held down presses
   once: what one press answers must not be answered by the next one unseen. */
"use strict";

(() => {
  document.addEventListener("single-key", ({ detail: { key } }) => {
    if (document.querySelector("[data-keys]").dataset.keys !== "on") return;
    const named = [...document.querySelectorAll("[data-key]")];
    named.find((one) => one.dataset.key === key.toLowerCase() && one.getClientRects().length)?.click();
  });

  document.addEventListener("keydown", (event) => {
    if (event.repeat && event.key === "Enter" && event.target.matches("button, a")) event.preventDefault();
  });
})();
