/* What is sent waits in a queue, in the order in which it was pressed, until the server has
   answered; kept in the browser, it outlives a reload. Each thing carries a key of its own:
   sent twice, it is done once.

   packbench.queue({ store, post, done })
     store    the name it is kept under; it names the person, whose work it is
     post     one => {url, body}: what is sent for one; null while this page cannot take it
     done     (html) => shows the answer
   "wrong" is told (tones.js) once for each thing that did not go through, and for what the
   server can never take (400, 404): that is dropped. What is refused because somebody else
   holds it (409) is kept until its person says what becomes of it; so is all where the person
   is signed out. How much waits stands in the element with the id waiting-sends. */
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
  let signedOut = false;

  const button = (words, press) => {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = words;
    made.addEventListener("click", press);
    return made;
  };

  function signIn() {
    const link = document.createElement("a");
    link.className = "button";
    link.href = `${notice.dataset.signIn}?next=${encodeURIComponent(location.pathname + location.search)}`;
    link.textContent = "Sign in";
    return link;
  }

  function tell() {
    const held = waiting.filter((one) => one.held).length;
    const late = waiting.some((one) => one.tries > 0);
    const many = `Not saved yet: ${waiting.length}`;
    notice.hidden = !late && !held && !signedOut;
    if (signedOut) {
      notice.replaceChildren(`You are signed out. ${many}, kept here and sent once you sign in. `, signIn());
    } else if (held) {
      notice.replaceChildren(
        `Not saved: ${held} of yours, as somebody else held this. Look what is in before you send them. `,
        button("Send them", () => { for (const one of waiting) delete one.held; keep(); send(); }), " ",
        button("Leave them out", () => { waiting = waiting.filter((one) => !one.held); keep(); }),
      );
    } else {
      notice.textContent = late ? `${many} wait for the server. They are kept here and sent when it answers.` : "";
    }
  }

  function keep() {
    try { localStorage.setItem(store, JSON.stringify(waiting)); } catch { /* private window */ }
    tell();
  }

  // What the answer means for the one that was sent; null: nothing yet, it is tried again.
  async function settled(one, answer) {
    signedOut = answer.type === "opaqueredirect" || answer.status === 403;
    if (signedOut) return null;
    const never = answer.status === 400 || answer.status === 404;
    if (answer.status === 409) one.held = true;
    else if (answer.ok || never) waiting.splice(waiting.indexOf(one), 1);
    else return null;
    if (never) packbench.tell("wrong"); else done(await answer.text());
    return one;
  }

  async function send() {
    const one = waiting.find((any) => !any.held);
    if (sending || !one) return;
    const what = post(one);
    if (!what) { one.held = true; keep(); send(); return; }
    const { url, body } = what;
    sending = true;
    let went = null;
    try {
      went = await settled(one, await fetch(url, {
        method: "POST", body, redirect: "manual",
        headers: { "Content-Type": "application/x-www-form-urlencoded", "HX-Request": "true",
          "X-CSRFToken": document.querySelector("[name=csrfmiddlewaretoken]").value },
      }));
    } catch { /* the server is away */ }
    sending = false;
    if (!went) {
      one.tries += 1;
      if (one.tries === 1) packbench.tell("wrong");
    }
    keep();
    if (went) send();
    else if (!signedOut) window.setTimeout(send, AGAIN_MS);
  }

  return {
    add(one) { waiting.push({ ...one, tries: 0 }); keep(); send(); },
    idle: () => !sending && waiting.every((one) => one.held),
    start() { tell(); send(); },
  };
};
