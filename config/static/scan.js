/* Fields that a scanner types into. The base page loads this script, so every page has it.

   Every <input type="search"> takes scans, and every other <input> with data-scan. In them:
     the separator GS (U+001D) is put in, however the scanner types it: Ctrl+], Alt+029 or
       the sign itself, all of which a browser drops;
     other Ctrl combinations during a burst do nothing, so that a scan never opens a dialog
       of the browser;
     the same code at once again is ignored.
   The page's field is the one of them with autofocus, else one with data-scan="here", else the
   one in the head, which every page has: what is scanned while no field has the focus goes into
   it, also where a list to choose from has it. It has the focus when the page opens, with its
   text selected, so that the next scan replaces it, but where the page has fields to fill in or
   shortcuts; a click on an empty place brings the focus back.

   data-scan-next       Enter after a scan goes to the form's next field and sends nothing.
   data-scan-ended="id" the hidden input with this id learns how the scan ended:
                        "enter", "tab", "nothing" (no key in time), "typed" (by hand).
   data-keys            on a page with shortcuts of one key: a key that comes alone while no
                        field has the focus is told as the event single-key, detail {key}.

   Events on the field, both bubbling, detail {text, ended, scanned}:
     scan            before the form is sent; preventDefault() keeps it from being sent
     scan-repeated   the same code came at once again and is not sent; it is selected

   The server must read the value as it comes: no strip(), CharField(strip=False). Without
   this script the forms work all the same. */
(() => {
  "use strict";
  const FIELDS = "input[type=search], input[data-scan]";
  const TAKES_KEYS = "input:not([type=checkbox], [type=radio]), select, textarea, [contenteditable], dialog";
  const GS = "\u001d";
  // All times in ms; common practice, no source.
  const BURST_MS = 80;     // keys closer than this are typed by a scanner
  const END_MS = 300;      // Enter or Tab within this belongs to the scan
  const REPEAT_MS = 1000;  // a second read comes within this; a hand lifts the next piece later
  const BURST_LEAST = 4;   // fewer keys are no scan
  const SLOW_SHARE = 0.25; // a busy computer may see so many of a scan's keys late

  /* --- how fast a field is typed into ---------------------------------------------------- */

  const typing = new WeakMap();
  const burst = (field) => typing.get(field) ?? { keys: 0, last: -Infinity, slow: 0 };
  const within = (field, time, limit) => burst(field).keys > 0 && time - burst(field).last < limit;
  const isBurst = ({ keys, slow }) => keys >= BURST_LEAST && slow <= keys * SLOW_SHARE;
  const scanned = (field) => isBurst(burst(field));

  function count(field, time) {
    const before = burst(field);
    const fresh = before.keys === 0 || field.value === "" || selectedAll(field);
    const slow = time - before.last < BURST_MS ? 0 : 1;
    typing.set(field, fresh ? { keys: 1, last: time, slow: 0 }
      : { keys: before.keys + 1, last: time, slow: before.slow + slow });
  }

  function selectedAll(field) {
    return field.value !== "" && field.selectionStart === 0 && field.selectionEnd === field.value.length;
  }

  function insert(field, text) {
    field.setRangeText(text, field.selectionStart, field.selectionEnd, "end");
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  /* --- the separator --------------------------------------------------------------------- */

  // Where the keyboard is another one, only the place of the key is that of ]: in a burst it counts.
  function isSeparator(event, running) {
    const control = event.ctrlKey && !event.altKey && !event.metaKey;
    return event.key === GS || (control && (event.key === "]" || (running && event.code === "BracketRight")));
  }

  let altDigits = "";
  document.addEventListener("keyup", (event) => {
    if (event.key !== "Alt") return;
    if (altDigits === "029" || altDigits === "29") separator(event);
    altDigits = "";
  }, true);

  function separator(event) {
    const field = event.target;
    if (field.matches(FIELDS)) {
      count(field, event.timeStamp);
      insert(field, GS);
    } else if (!field.closest(TAKES_KEYS)) {
      hold(GS, event.timeStamp);
    }
  }

  // A browser that puts in what Alt+029 typed would do it a second time.
  document.addEventListener("beforeinput", (event) => {
    const field = event.target;
    if (event.data === GS && field.matches(FIELDS) && field.value[field.selectionStart - 1] === GS) {
      event.preventDefault();
    }
  }, true);

  /* --- keys in a field ------------------------------------------------------------------- */

  document.addEventListener("keydown", (event) => {
    const digit = event.altKey && /^Numpad(\d)$/.exec(event.code);
    if (event.key === "Alt") altDigits = "";
    else if (digit) altDigits += digit[1];
    else if (event.isComposing) return;
    else if (event.target.matches(FIELDS)) inField(event.target, event);
    else if (event.target.matches("select")) inChoice(event.target, event);
    else if (!event.target.closest(TAKES_KEYS)) outside(event);
  }, true);

  function inField(field, event) {
    const running = within(field, event.timeStamp, scanned(field) ? END_MS : BURST_MS);
    if (isSeparator(event, running)) {
      event.preventDefault();
      separator(event);
    } else if (event.ctrlKey && !event.altKey && !event.metaKey) {
      if (running && event.key !== "Control") event.preventDefault();
    } else if (event.key === "Enter") {
      if (!enter(field, event.timeStamp)) event.preventDefault();
    } else if (event.key === "Tab") {
      if (scanned(field) && within(field, event.timeStamp, END_MS)) report(field, "tab");
    } else if (event.key.length === 1) {
      count(field, event.timeStamp);
      report(field, "nothing");
    }
  }

  /* Whether the form is to be sent now. */
  function enter(field, time) {
    const byScanner = scanned(field) && within(field, time, END_MS);
    const again = burst(field).keys > 0 && repeated(field);
    report(field, byScanner ? "enter" : scanned(field) ? "nothing" : "typed");
    const goesOn = emit(field, again ? "scan-repeated" : "scan", byScanner ? "enter" : "typed") && !again;
    typing.delete(field);
    if (again || byScanner) field.select();
    if (!goesOn || !byScanner || !field.hasAttribute("data-scan-next")) return goesOn;
    next(field);
    return false;
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
      sessionStorage.setItem(key, `${print} ${Date.now()}`);
      return last === print && Date.now() - Number(at) < REPEAT_MS;
    } catch { return false; /* no storage: nothing is ignored */ }
  }

  function report(field, ended) {
    const told = document.getElementById(field.dataset.scanEnded ?? "");
    if (told) told.value = ended;
  }

  function emit(field, name, ended) {
    const detail = { text: field.value, ended, scanned: scanned(field) };
    return field.dispatchEvent(new CustomEvent(name, { bubbles: true, cancelable: true, detail }));
  }

  function next(field) {
    const fields = [...field.form.elements].filter((other) => other.type !== "hidden" && !other.disabled);
    (fields[fields.indexOf(field) + 1] ?? field).focus();
  }

  /* --- keys while no field has the focus: held until it is clear what they are ------------- */

  let held = { text: "", last: -Infinity };
  let timer = 0;

  const seen = (one) => one.getClientRects().length > 0;
  const pageField = () => [...document.querySelectorAll(FIELDS)].find((one) => one.autofocus && seen(one))
    ?? document.querySelector("input[data-scan=here]") ?? document.querySelector("#scan-form input[type=search]");
  const shortcuts = () => document.querySelector("[data-keys]") !== null;
  const asks = () => [...document.querySelectorAll("main :is(input, select, textarea)")]
    .some((one) => one.matches(TAKES_KEYS) && one.type !== "hidden" && seen(one));

  function hold(sign, time) {
    held = { text: held.text + sign, last: time };
    clearTimeout(timer);
    timer = setTimeout(() => {
      if (shortcuts() && held.text.length === 1) single(); else intoField();
    }, BURST_MS);
  }

  function single() {
    const key = held.text;
    held.text = "";
    document.dispatchEvent(new CustomEvent("single-key", { detail: { key } }));
  }

  function intoField() {
    clearTimeout(timer);
    const { text, last } = held;
    held.text = "";
    const field = pageField();
    if (!field) return null;
    field.focus();
    field.select();
    insert(field, text);
    typing.set(field, { keys: text.length, last, slow: 0 });
    report(field, "nothing");
    return field;
  }

  // With the form's first button, as Enter in the field sends it.
  function send(form) {
    form?.requestSubmit([...form.elements].find((one) => one.type === "submit"));
  }

  function outside(event) {
    if (event.repeat || document.querySelector("dialog[open]") || !(pageField() || shortcuts())) return;
    const control = event.ctrlKey && !event.altKey && !event.metaKey;
    const plain = !event.ctrlKey && !event.altKey && !event.metaKey;
    const types = event.key.length === 1 && (plain || event.getModifierState("AltGraph"));
    if (isSeparator(event, held.text !== "")) {
      event.preventDefault();
      hold(GS, event.timeStamp);
    } else if (types && (event.key !== " " || held.text)) {
      event.preventDefault();
      hold(event.key, event.timeStamp);
    } else if (held.text && control) {
      event.preventDefault();
    } else if (held.text && event.key === "Enter") {
      event.preventDefault();
      const field = intoField();
      if (field && enter(field, event.timeStamp)) send(field.form);
    }
  }

  /* The first key of a scan chooses in a list as any key does; with the second it is clear what
     comes, and the list is put back. */
  const chosen = { list: null, value: "", key: "", at: -Infinity };

  function inChoice(list, event) {
    const types = event.key.length === 1 && !event.ctrlKey && !event.altKey && !event.metaKey;
    if (types && chosen.list === list && event.timeStamp - chosen.at < BURST_MS) {
      list.value = chosen.value;
      list.dispatchEvent(new Event("change", { bubbles: true }));
      list.blur();
      hold(chosen.key, chosen.at);
      outside(event);
    } else if (types) {
      Object.assign(chosen, { list, value: list.value, key: event.key, at: event.timeStamp });
    }
  }

  /* --- the focus --------------------------------------------------------------------------- */

  document.addEventListener("click", (event) => {
    if (document.activeElement !== document.body || !getSelection().isCollapsed) return;
    const field = pageField();
    if (field && (event.pointerType !== "touch" || field.inputMode === "none")) field.focus();
  });

  addEventListener("pageshow", () => {
    const field = pageField();
    if (!field || ![document.body, field].includes(document.activeElement)) return;
    if (field.autofocus || !(asks() || shortcuts())) { field.focus(); field.select(); }
  });
})();
