/* Fields that a scanner types into.

   Put data-scan on an <input>; without this script the form works all the same.

   data-scan            this field takes scans. In it:
                          Ctrl+] (how many scanners type the separator GS) puts U+001D in;
                          other Ctrl combinations during a burst do nothing, so that a scan
                          never opens a dialog of the browser;
                          the same code scanned again within 1.5 s is ignored;
                          the text in the field is selected when the page opens, so that
                          the next scan replaces it;
                          a click on an empty place of the page brings the focus back.
   data-scan-next       Enter after a scan goes to the form's next field and sends nothing.
   data-scan-catch      keys typed while no field has the focus go to this field.
                        Leave it out on pages with shortcuts of one key.
   data-scan-ended="id" the hidden input with this id learns how the scan ended:
                        "enter", "tab", "nothing" (no key in time), "typed" (by hand).

   Events on the field, both bubbling, detail {text, ended, scanned}:
     scan            before the form is sent; preventDefault() keeps it from being sent
     scan-repeated   a repeated code was ignored and the field emptied

   The server must read the value as it comes: no strip(), CharField(strip=False).
   It works on fields that htmx brings in later, too. */
(() => {
  "use strict";
  const BURST_MS = 80;       // keys closer than this are typed by a scanner
  const SLOW_SHARE = 0.25;   // a busy computer may see so many of a scan's keys late
  const END_MS = 300;        // Enter or Tab within this belongs to the scan
  const BURST_LEAST = 4;     // fewer keys are no scan
  const REPEAT_MS = 1500;
  const GS = "\u001d";
  const typing = new WeakMap();

  const isScan = (target) => target instanceof HTMLInputElement && target.hasAttribute("data-scan");
  const burst = (field) => typing.get(field) ?? { keys: 0, last: -Infinity, slow: 0 };
  const within = (field, time, limit) => burst(field).keys > 0 && time - burst(field).last < limit;
  const scanned = (field) => burst(field).keys >= BURST_LEAST && burst(field).slow <= burst(field).keys * SLOW_SHARE;

  function count(field, time) {
    const before = burst(field);
    const fresh = before.keys === 0 || field.value === "" || selectedAll(field);
    const gap = time - before.last;
    typing.set(field, fresh ? { keys: 1, last: time, slow: 0 }
      : { keys: before.keys + 1, last: time, slow: before.slow + (gap < BURST_MS ? 0 : 1) });
  }

  function selectedAll(field) {
    return field.value !== "" && field.selectionStart === 0 && field.selectionEnd === field.value.length;
  }

  function insert(field, text) {
    field.setRangeText(text, field.selectionStart, field.selectionEnd, "end");
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  // Only a fingerprint of the last code is kept, never the code.
  function fingerprint(text) {
    let hash = 2166136261;
    for (const sign of text) hash = Math.imul(hash ^ sign.codePointAt(0), 16777619);
    return `${text.length}.${hash >>> 0}`;
  }

  function repeated(field) {
    const key = `scan ${location.pathname} ${field.name}`;
    const print = fingerprint(field.value);
    try {
      const [last, at] = (sessionStorage.getItem(key) ?? "").split(" ");
      if (last === print && Date.now() - Number(at) < REPEAT_MS) return true;
      sessionStorage.setItem(key, `${print} ${Date.now()}`);
    } catch { /* no storage: nothing is ignored */ }
    return false;
  }

  function report(field, ended) {
    const told = document.getElementById(field.dataset.scanEnded ?? "");
    if (told) told.value = ended;
  }

  function emit(field, name, ended) {
    const detail = { text: field.value, ended, scanned: scanned(field) };
    return field.dispatchEvent(new CustomEvent(name, { bubbles: true, cancelable: true, detail }));
  }

  function enter(field, event) {
    const byScanner = scanned(field) && within(field, event.timeStamp, END_MS);
    report(field, byScanner ? "enter" : scanned(field) ? "nothing" : "typed");
    if (byScanner && repeated(field)) {
      event.preventDefault();
      emit(field, "scan-repeated", "enter");
      field.value = "";
    } else if (!emit(field, "scan", byScanner ? "enter" : "typed")) {
      event.preventDefault();
    } else if (byScanner && field.hasAttribute("data-scan-next")) {
      event.preventDefault();
      next(field);
    }
    typing.delete(field);
  }

  function next(field) {
    const fields = [...field.form.elements].filter((other) => other.type !== "hidden" && !other.disabled);
    (fields[fields.indexOf(field) + 1] ?? field).focus();
  }

  function onKey(event) {
    const field = event.target;
    const plain = !event.ctrlKey && !event.altKey && !event.metaKey;
    if (!isScan(field)) {
      if (plain && event.key.length === 1 && event.key !== " ") catchKey(field);
      return;
    }
    if (event.ctrlKey && !event.altKey && !event.metaKey) {
      if (event.key === "]" || event.key === GS || event.code === "BracketRight") {
        event.preventDefault();
        count(field, event.timeStamp);
        insert(field, GS);
      } else if (within(field, event.timeStamp, scanned(field) ? END_MS : BURST_MS) && event.key !== "Control") {
        event.preventDefault();
      }
    } else if (event.key === "Enter") {
      enter(field, event);
    } else if (event.key === "Tab" && scanned(field) && within(field, event.timeStamp, END_MS)) {
      report(field, "tab");
    } else if (event.key.length === 1) {
      count(field, event.timeStamp);
      report(field, "nothing");
    }
  }

  function catchKey(target) {
    const field = document.querySelector("input[data-scan][data-scan-catch]");
    const takesKeys = target.closest?.("input, select, textarea, [contenteditable], dialog");
    if (field && !takesKeys) { field.focus(); field.select(); }
  }

  function refocus(event) {
    if (document.activeElement !== document.body || !getSelection().isCollapsed) return;
    const field = document.querySelector("input[data-scan][autofocus]");
    if (field && (event.pointerType !== "touch" || field.inputMode === "none")) field.focus();
  }

  document.addEventListener("keydown", onKey, true);
  document.addEventListener("click", refocus);
  addEventListener("pageshow", () => {
    const field = document.querySelector("input[data-scan][autofocus]");
    if (field) { field.focus(); field.select(); }
  });
})();
