/* What is sent waits in a queue, in the order in which it was pressed, until the server has
   answered; kept in the browser, it outlives a reload. Each thing carries a key of its own:
   sent twice, it is done once.

   packbench.queue({ store, post, done })
     store    the name it is kept under
     post     one => {url, body}: what is sent for one
     done     (html) => shows the answer
   "wrong" is told (tones.js) once for each thing that did not go through, and for what the
   server can never take (400, 404): that is dropped. How much waits after a failure stands in
   the element with the id waiting-sends. */
"use strict";
window.packbench = window.packbench || {};

packbench.newKey = () => {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
};

packbench.queue = ({ store, post, done }) => {
  const AGAIN_MS = 1500;
  const notice = document.getElementById("waiting-sends");
  let waiting = [];
  try { waiting = JSON.parse(localStorage.getItem(store)) || []; } catch { waiting = []; }
  let sending = false;

  function keep() {
    try { localStorage.setItem(store, JSON.stringify(waiting)); } catch { /* private window */ }
    const late = waiting.some((one) => one.tries > 0);
    notice.hidden = !late;
    notice.textContent = late
      ? `Not saved yet: ${waiting.length} wait for the server. They are kept here and sent when it answers.`
      : "";
  }

  async function send() {
    if (sending || !waiting.length) return;
    sending = true;
    const one = waiting[0];
    try {
      const { url, body } = post(one);
      const answer = await fetch(url, {
        method: "POST", body, redirect: "manual",
        headers: { "Content-Type": "application/x-www-form-urlencoded", "HX-Request": "true",
          "X-CSRFToken": document.querySelector("[name=csrfmiddlewaretoken]").value },
      });
      const never = answer.status === 400 || answer.status === 404;
      if (!answer.ok && !never) throw new Error(String(answer.status));
      if (never) packbench.tell("wrong"); else done(await answer.text());
      waiting.shift();
      keep();
      sending = false;
      send();
    } catch {
      one.tries += 1;
      if (one.tries === 1) packbench.tell("wrong");
      keep();
      sending = false;
      window.setTimeout(send, AGAIN_MS);
    }
  }

  return {
    add(one) { waiting.push({ ...one, tries: 0 }); keep(); send(); },
    idle: () => !sending && !waiting.length,
    start: send,
  };
};
