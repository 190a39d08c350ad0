/* A form that takes scan after scan: the field is free for the next one at once, and the
   parts of the page named in data-scans are those of the last answer. Without this script
   the form works as a plain form, one page for each scan. */
"use strict";

(() => {
  const form = document.querySelector("form[data-scans]");
  if (!form) return;
  const field = form.elements.words;

  function show(html) {
    const fresh = new DOMParser().parseFromString(html, "text/html");
    for (const id of form.dataset.scans.split(" ")) {
      const [here, there] = [document.getElementById(id), fresh.getElementById(id)];
      if (!here || !there) { location.reload(); return; }
      here.replaceWith(there);
    }
    packbench.tell(form, document.getElementById("said").dataset.tone);
  }

  const queue = packbench.queue({
    store: `packbench-scans-${location.pathname}${location.search}`,
    notice: document.getElementById("waiting-sends"),
    // What else the form says is read when its turn comes: the answer before may have changed it.
    post: ({ words, key }) => {
      const data = new FormData(form);
      data.set("words", words);
      data.set("key", key);
      return { url: form.action, body: new URLSearchParams(data).toString() };
    },
    done: show,
    refused: () => packbench.tell(form, "wrong"),
    failed: () => packbench.tell(form, "wrong"),
  });

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const words = field.value.trim();
    field.value = "";
    field.focus({ preventScroll: true });
    if (words) queue.add({ words, key: packbench.newKey() });
  });
  queue.start();
})();
