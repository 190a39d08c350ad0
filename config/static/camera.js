/* The camera as a scanner: what it reads goes into the page's field, and the form is sent.

   #camera         the button; shown where the browser reads codes itself (BarcodeDetector) and
                   lets a page have the camera (over https only)
   #camera-view    the dialog with the picture
   #photo-form     else a photograph, sent as soon as it is taken, with what the page's form says
                   by then; the server reads it. */
"use strict";

(() => {
  const LOOK_MS = 150;
  const KINDS = ["data_matrix", "qr_code", "code_128", "code_39", "ean_13", "upc_a"];
  const GS = "\u001d";
  const button = document.getElementById("camera");
  const view = document.getElementById("camera-view");
  const photo = document.getElementById("photo-form");
  const field = document.getElementById("scan");
  if (!button || !view || !photo || !field) return;
  const video = view.querySelector("video");
  let detector = null;

  async function offer() {
    if (!("BarcodeDetector" in globalThis) || !navigator.mediaDevices?.getUserMedia) return;
    const can = await BarcodeDetector.getSupportedFormats();
    const formats = KINDS.filter((kind) => can.includes(kind));
    if (!formats.length) return;
    detector = new BarcodeDetector({ formats });
    button.hidden = false;
    photo.hidden = true;
  }

  // As a scanner types it: Function 1 in the first place makes a code one of GS1.
  function typed({ rawValue, format }) {
    if (!rawValue.startsWith(GS)) return rawValue;
    return (format === "data_matrix" ? "]d2" : "]C1") + rawValue.slice(1);
  }

  function take(code) {
    view.close();
    field.value = typed(code);
    field.form.requestSubmit();
  }

  async function look() {
    if (!view.open) return;
    const found = video.readyState >= video.HAVE_CURRENT_DATA ? await detector.detect(video) : [];
    if (view.open && found.length === 1) return take(found[0]);
    setTimeout(look, LOOK_MS);
  }

  button.addEventListener("click", async () => {
    try {
      video.srcObject = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    } catch {
      button.hidden = true;
      photo.hidden = false;
      packbench.say("wrong", "The camera may not be used by this page. Take a photograph, or type.");
      return;
    }
    view.showModal();
    video.play();
    look();
  });
  view.addEventListener("close", () => {
    for (const track of video.srcObject?.getTracks() ?? []) track.stop();
    video.srcObject = null;
  });

  photo.querySelector("button").hidden = true;
  photo.addEventListener("change", () => photo.requestSubmit());
  photo.addEventListener("formdata", ({ formData }) => {
    for (const [name, value] of new FormData(field.form)) if (name !== "q") formData.append(name, value);
  });
  offer();
})();
