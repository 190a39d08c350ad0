/* Right and wrong, to be read, heard and seen: the answer in the head of the page.

   packbench.say(tone, words)   the head says this; what it said before goes
   packbench.tell(tone)         is heard and seen, where the body says it may (data-sound,
                                data-flash); "note" is silent
   A page that opens with an answer is told once. */
"use strict";
window.packbench = window.packbench || {};

(() => {
  const SIGNS = { right: "✓", wrong: "✕", ask: "?", note: "·" };
  // Pitch (Hz), start and length (s) of each beep; common practice, no source.
  const BEEPS = {
    right: [[880, 0, 0.07]], wrong: [[220, 0, 0.18], [180, 0.22, 0.3]], ask: [[520, 0, 0.09], [660, 0.12, 0.09]],
  };
  let audio = null;

  function sound(tone) {
    if (!window.AudioContext) return;
    audio = audio || new AudioContext();
    for (const [pitch, start, length] of BEEPS[tone]) {
      const wave = audio.createOscillator();
      const volume = audio.createGain();
      wave.frequency.value = pitch;
      volume.gain.value = 0.12;
      wave.connect(volume).connect(audio.destination);
      wave.start(audio.currentTime + start);
      wave.stop(audio.currentTime + start + length);
    }
  }

  function flash(tone) {
    document.body.classList.remove("flash-right", "flash-wrong", "flash-ask");
    void document.body.offsetWidth;
    document.body.classList.add(`flash-${tone}`);
  }

  packbench.tell = (tone) => {
    if (!(tone in BEEPS)) return;
    if (document.body.dataset.sound === "on") sound(tone);
    if (document.body.dataset.flash === "on") flash(tone);
  };

  packbench.say = (tone, words) => {
    const said = document.getElementById("said");
    const box = document.createElement("div");
    const [sign, text] = [document.createElement("span"), document.createElement("div")];
    box.className = `said ${tone}`;
    sign.className = "said-sign";
    sign.ariaHidden = "true";
    sign.textContent = SIGNS[tone];
    text.className = "said-words";
    text.textContent = tone === "wrong" ? `No. ${words}` : words;
    box.append(sign, text);
    said.dataset.tone = tone;
    said.replaceChildren(box);
  };

  const opened = document.getElementById("said");
  if (opened?.dataset.tone) packbench.tell(opened.dataset.tone);
})();
