// Codes before a camera or on a photo. What is read goes the way of a scan: the event `scanned`.
(() => {
  "use strict";

  const NEEDED = ["data_matrix", "qr_code", "code_128"];
  const SOUGHT = [...NEEDED, "ean_13", "ean_8"];
  const LOOK_MS = 120;
  const SAME_AGAIN_MS = 3000; // a label that stays before the camera is scanned once
  const MOST_BYTES = 9_500_000; // a larger photo is made smaller before it is sent
  const SIDE_OF_SMALLER = 4000;

  let stream = null;
  let looking = 0;
  let seen = { code: "", at: 0 };

  const state = (box, name) => (box.querySelector(".camera-state").textContent = name && box.dataset[name]);
  const scanned = (code) => document.dispatchEvent(new CustomEvent("scanned", { detail: { code, by: "camera" } }));

  /** The browser's own reader, where it knows our symbols; else the one that comes with the station. */
  async function detectorFor(box) {
    const own = window.BarcodeDetector;
    const formats = own ? await own.getSupportedFormats() : [];
    if (NEEDED.every((format) => formats.includes(format))) {
      return new own({ formats: SOUGHT.filter((format) => formats.includes(format)) });
    }
    const { BarcodeDetector, prepareZXingModule } = await import(box.dataset.decoder);
    const locateFile = (path, prefix) => (path.endsWith(".wasm") ? box.dataset.wasm : prefix + path);
    await prepareZXingModule({ overrides: { locateFile }, fireImmediately: true });
    return new BarcodeDetector({ formats: SOUGHT });
  }

  async function start(box) {
    if (!navigator.mediaDevices?.getUserMedia) return state(box, "insecure");
    state(box, "starting");
    const wanted = { facingMode: "environment", width: { ideal: 1920 }, height: { ideal: 1080 } };
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: wanted });
      const video = box.querySelector("video");
      video.srcObject = stream;
      video.hidden = false;
      await video.play();
      const detector = await detectorFor(box);
      state(box, "looking");
      if (stream) look(video, detector);
    } catch (error) {
      stop(box);
      state(box, { NotAllowedError: "denied", NotFoundError: "none" }[error.name] ?? "failed");
    }
    return undefined;
  }

  async function look(video, detector) {
    const codes = video.readyState >= 2 ? await detector.detect(video) : [];
    const now = performance.now();
    for (const { rawValue: code } of codes.slice(0, 1)) {
      if (code !== seen.code || now - seen.at > SAME_AGAIN_MS) scanned(code);
      seen = { code, at: now };
    }
    if (stream) looking = setTimeout(look, LOOK_MS, video, detector);
  }

  function stop(box) {
    clearTimeout(looking);
    for (const track of stream?.getTracks() ?? []) track.stop();
    stream = null;
    const video = box.querySelector("video");
    video.srcObject = null;
    video.hidden = true;
    state(box, "");
  }

  // -- photos ----------------------------------------------------------------------------------

  async function readPhoto(box, photo) {
    const list = box.querySelector(".camera-codes");
    list.replaceChildren();
    state(box, "reading");
    const form = new FormData();
    form.append("photo", await smallEnough(photo), "photo");
    const headers = { "X-CSRF-Token": document.querySelector("meta[name=csrf-token]")?.content ?? "" };
    try {
      const response = await fetch("/read-photo", { method: "POST", body: form, headers });
      if (!response.ok) return refused(box, await response.text());
      const { codes, said } = await response.json();
      box.querySelector(".camera-state").textContent = said;
      if (codes.length === 1) scanned(codes[0].code);
      else if (codes.length) choose(box, list, codes);
    } catch {
      state(box, "unsent");
    }
    return undefined;
  }

  function refused(box, text) {
    const answer = new DOMParser().parseFromString(text, "text/html");
    const told = [...answer.querySelectorAll(".refusal .said, .refusal .remedy")].map((part) => part.textContent.trim());
    box.querySelector(".camera-state").textContent = told.join(" ") || answer.body.textContent.trim();
  }

  function choose(box, list, codes) {
    state(box, "several");
    for (const { code, said } of codes) {
      const [line, button] = [document.createElement("li"), document.createElement("button")];
      Object.assign(button, { type: "button", className: "button quiet", textContent: said });
      button.addEventListener("click", () => scanned(code));
      line.append(button);
      list.append(line);
    }
  }

  /** The photo, or a smaller one of the same picture; whatever is no picture goes as it is, and is refused. */
  async function smallEnough(photo) {
    if (photo.size <= MOST_BYTES) return photo;
    try {
      const picture = await createImageBitmap(photo);
      const scale = Math.min(1, SIDE_OF_SMALLER / Math.max(picture.width, picture.height));
      const canvas = document.createElement("canvas");
      [canvas.width, canvas.height] = [picture.width * scale, picture.height * scale];
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      return await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.9));
    } catch {
      return photo;
    }
  }

  // -- the page ---------------------------------------------------------------------------------

  function toggle(isOpen) {
    const panel = document.getElementById("camera");
    const button = document.querySelector("[data-camera]");
    if (!panel || panel.hidden !== isOpen) return;
    const box = panel.querySelector("[data-camera-box]");
    panel.hidden = !isOpen;
    button?.setAttribute("aria-expanded", String(isOpen));
    if (isOpen) start(box);
    else {
      stop(box);
      button?.focus();
    }
  }

  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-camera]")) toggle(document.getElementById("camera")?.hidden ?? false);
    else if (event.target.closest("[data-camera-close]")) toggle(false);
  });
  document.addEventListener("keydown", (event) => event.key === "Escape" && toggle(false));
  document.addEventListener("change", (event) => {
    if (!event.target.matches("[data-photo]") || !event.target.files.length) return;
    readPhoto(event.target.closest("[data-camera-box]"), event.target.files[0]);
    event.target.value = "";
  });
  document.addEventListener("DOMContentLoaded", () => {
    const open = document.querySelector("[data-camera-open] [data-camera-box]");
    if (open) start(open);
  });
  window.addEventListener("pagehide", () => stream && document.querySelectorAll("[data-camera-box]").forEach(stop));
})();
