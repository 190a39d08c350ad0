/* Right and wrong, to be heard and seen. packbench.tell(place, tone): the place says with
   data-sound and data-flash whether it may; other tones than "right" and "wrong" are silent. */
"use strict";
window.packbench = window.packbench || {};

(() => {
  let audio = null;
  function sound(tone) {
    if (!window.AudioContext) return;
    audio = audio || new AudioContext();
    const beeps = tone === "wrong" ? [[220, 0, 0.18], [180, 0.22, 0.3]] : [[880, 0, 0.07]];
    for (const [pitch, start, length] of beeps) {
      const wave = audio.createOscillator();
      const volume = audio.createGain();
      wave.frequency.value = pitch;
      volume.gain.value = 0.12;
      wave.connect(volume).connect(audio.destination);
      wave.start(audio.currentTime + start);
      wave.stop(audio.currentTime + start + length);
    }
  }
  function flash(place, tone) {
    place.classList.remove("flash-right", "flash-wrong");
    void place.offsetWidth;
    place.classList.add(`flash-${tone}`);
  }

  packbench.tell = (place, tone) => {
    if (tone !== "right" && tone !== "wrong") return;
    if (place.dataset.sound === "on") sound(tone);
    if (place.dataset.flash === "on") flash(place, tone);
  };
})();
