/* A page that takes scan after scan: data-scans on a place names the parts of the page (by
   id) that are those of the last answer. The form in the page's head, where it is the page's
   own (it posts), sends each scan under a key of its own, and its field is free for the next
   one at once. Forms with data-count wait in the same queue, under the key that they show.
   Without this script they all work as plain forms, one page for each scan.
   What was wrong stays in the head until something is answered.

   packbench.scans.show(html)   shows the parts of an answer
   packbench.scans.idle()       whether nothing waits
   Events on the document: parts-leave before the parts are replaced, parts-shown after. */
"use strict";
window.packbench = window.packbench || {};

(() => {
  const place = document.querySelector("[data-scans]");
  if (!place) return;
  const head = document.getElementById("scan-form");
  const form = head?.method === "post" ? head : null;
  let twice = false;

  function show(html) {
    const fresh = new DOMParser().parseFromString(html, "text/html");
    const pairs = place.dataset.scans.split(" ").map((id) => [document.getElementById(id), fresh.getElementById(id)]);
    if (pairs.some((pair) => pair.includes(null))) { location.reload(); return; }
    document.dispatchEvent(new Event("parts-leave"));
    for (const [here, there] of pairs) if (there.id !== "said" || there.dataset.tone) here.replaceWith(there);
    if (twice) sayTwice();
    packbench.tell(pairs.find(([, there]) => there.id === "said")?.[1].dataset.tone);
    document.dispatchEvent(new Event("parts-shown"));
  }

  function sayTwice() {
    const before = document.querySelector("#said .said-words");
    const words = "That came twice. It was counted once.";
    if (!before) { packbench.say("note", words); return; }
    const more = document.createElement("p");
    more.textContent = words;
    before.append(more);
  }

  // What else the scans' form says is read when its turn comes: the answer before may have changed it.
  // But not which line was marked: that is what the person saw.
  function post({ words, key, marked, url, body }) {
    if (words === undefined) return { url, body };
    if (!form) return null; // the page of somebody else's work takes no scans
    const data = new FormData(form);
    data.set("words", words);
    data.set("key", key);
    if (marked) data.set("marked", marked);
    return { url: form.action, body: new URLSearchParams(data).toString() };
  }

  const queue = packbench.queue({
    store: `packbench-scans-${document.body.dataset.person}-${location.pathname}${location.search}`, post, done: show,
  });

  document.addEventListener("submit", (event) => {
    const sent = event.target;
    if (sent === form) {
      event.preventDefault();
      const field = form.elements.words;
      const words = field.value.trim();
      field.value = "";
      field.focus({ preventScroll: true });
      twice = false;
      if (words) queue.add({ words, key: packbench.newKey(), marked: form.elements.marked?.value });
    } else if (sent.matches("[data-count]")) {
      event.preventDefault();
      const data = new FormData(sent, event.submitter);
      data.delete("csrfmiddlewaretoken");
      queue.add({ url: sent.getAttribute("action"), body: new URLSearchParams(data).toString() });
    }
  });
  form?.addEventListener("scan-repeated", (event) => {
    event.target.value = "";
    if (!twice) sayTwice();
    twice = true;
  });

  packbench.scans = { show, idle: queue.idle };
  queue.start();
})();
