/* Papers go to the printer. No viewer of files is ever the page.

   A link with data-print leads to a PDF: pressed, the file is fetched, put into a frame that
   nobody sees, and its print dialog opens. On a place with data-print-now every such link in it
   is printed once as the page opens, one after the other; the address then loses print=1, so that
   a reload prints nothing. What hinders it, and what to do then, is said in the element with the id
   print-said. The server is told that the file goes to the printer: on a sheet of labels the next one
   has the next position, and what it refuses it says in plain words instead of on another page.
   A press that leaves the page while something is on its way to its dialog waits until the dialog
   was there; where it could not open, the page stays and says why.
   Without this script each is a plain link to its file. */
"use strict";
window.packbench = window.packbench || {};

(() => {
  const DIALOG_MS = 400; // until a dialog that opens has taken the focus; common practice, no source
  const LOAD_MS = 20_000; // a paper that is not in its frame by then is not printed; our own bound
  let running = Promise.resolve();
  let waiting = 0; // papers that were not yet in their dialogs, or failed
  let failed = false;
  let held = null; // the press that waits

  const pause = (ms) => new Promise((done) => { window.setTimeout(done, ms); });
  const focused = () => (document.hasFocus() ? null
    : new Promise((done) => { window.addEventListener("focus", done, { once: true }); }));

  function say(words) {
    const said = document.getElementById("print-said");
    if (said) { said.textContent = words; said.hidden = words === ""; }
  }

  class NotMade extends Error {} // there is no file to open: why, and what to do

  const WHY_NOT = {
    403: "You may not print this. Ask a coordinator.",
    404: "It is not there any more. Load this page again.",
  };
  const FAILED = "The program failed. Print again; if it fails again, tell who looks after the program.";
  const SIGNED_OUT = "You were signed out. Load this page again, sign in and print.";
  const NO_ANSWER = "The server does not answer. Look at the network, then print again.";

  async function file(address) {
    const asked = { credentials: "same-origin", headers: { "X-Printing": "1" } };
    const answer = await fetch(address, asked).catch(() => { throw new NotMade(NO_ANSWER); });
    const type = answer.headers.get("Content-Type") ?? "";
    const place = answer.headers.get("X-Prints-At");
    if (place) packbench.say("note", `Printed from position ${place}.`);
    if (answer.ok && type.startsWith("application/pdf")) return answer.blob();
    if (type.startsWith("text/plain")) throw new NotMade(await answer.text());
    throw new NotMade(answer.redirected ? SIGNED_OUT : WHY_NOT[answer.status] ?? FAILED);
  }

  // The frame stays until the next paper: a dialog needs it for as long as it is open.
  function framed(address) {
    for (const old of document.querySelectorAll("iframe.printing")) old.remove();
    const frame = document.createElement("iframe");
    frame.className = "printing";
    frame.title = "What is printed";
    frame.setAttribute("aria-hidden", "true");
    frame.tabIndex = -1;
    return new Promise((done, late) => {
      frame.addEventListener("load", () => done(frame), { once: true });
      window.setTimeout(() => late(new Error("The print dialog did not open.")), LOAD_MS);
      frame.src = address;
      document.body.append(frame);
    });
  }

  async function print(link) {
    const address = URL.createObjectURL(await file(link.href));
    const frame = await framed(address);
    const had = document.activeElement;
    frame.contentWindow.print();
    await pause(DIALOG_MS);
    await focused();
    had?.focus({ preventScroll: true });
  }

  packbench.print = (links) => {
    failed = false;
    for (const link of links) {
      waiting += 1;
      running = running.then(() => print(link)).then(() => say(""), (problem) => {
        failed = true;
        if (problem instanceof NotMade) {
          say(`Not printed. ${problem.message.replace(/^Not printed\. /, "")}`);
          return;
        }
        say(`${problem.message} Not printed: open “${link.textContent.trim()}” and print it from there.`);
        link.removeAttribute("data-print");
      }).then(() => { waiting -= 1; });
    }
    running.then(goOn);
    return running;
  };

  function goOn() {
    if (waiting || !held) return;
    const { form, submitter } = held;
    held = null;
    if (failed) packbench.say("wrong", "Not printed, and nothing else was done. Press again to go on without paper.");
    else form.requestSubmit(submitter);
  }

  // A page that is left takes its frame with it, and no dialog comes. Scans wait in their own queue.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!waiting || form.matches("[data-scans], [data-count], [hx-post], [hx-get]")) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    held = { form, submitter: event.submitter };
    event.submitter?.focus({ preventScroll: true }); // so that the next key is a shortcut again
    packbench.say("note", "Printing first. Then this is done.");
  }, true);

  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-print]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    packbench.print([link]);
  });

  const now = document.querySelector("[data-print-now]");
  if (!now) return;
  const address = new URL(location.href);
  address.searchParams.delete("print");
  history.replaceState(null, "", address);
  packbench.print(now.querySelectorAll("a[data-print]"));
})();
