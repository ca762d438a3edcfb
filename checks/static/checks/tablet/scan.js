/** Finding a unit by the label on it: through the camera, or from a picture of the label. Works without a network. */

import { button, h } from "./dom.js";

const LABEL = /\/tablet\/t\/([0-9A-Z]+-[0-9A-Z]+)\/?$/i;
const PAUSE_MS = 120;
const LONGEST_SIDE = 800;
const LONGEST_SIDE_STILL = 1400;
const WIDTH_ASKED = 1280;
const AIM = "Hold the label in the middle, so that it fills about half of the picture.";
const REFUSED = {
  NotAllowedError: "The camera may not be used here. Allow it for this page in the browser's settings, or use one of the ways below.",
  NotFoundError: "This device has no camera that can be used. Take one of the ways below.",
  NotReadableError: "The camera is in use by another app. Close that, or take one of the ways below.",
};

/**
 * The code of the label that was shown to the camera.
 *
 * @returns {Promise<string|null>} null where the person rather types the number
 */
export function scanLabel() {
  return scan((text) => LABEL.exec(text)?.[1] ?? null);
}

/**
 * Look through the camera until a code is seen that `accept` takes.
 *
 * @template T
 * @param {(text: string) => T|null} accept
 * @returns {Promise<T|null>}
 */
export async function scan(accept = (text) => text) {
  const view = opened();
  const stopped = new AbortController();
  const chosen = new Promise((resolve) => {
    const done = (found) => {
      stopped.abort();
      resolve(found);
    };
    const take = (text) => {
      const found = text === null ? null : accept(text);
      if (found !== null) done(found);
      else if (text !== null) view.say("That code is not the label of a turbocharger of this register. Look for the label, or find the unit by its number.");
      return found !== null;
    };
    view.onpicture = (file) => still(file, view, take);
    view.dialog.addEventListener("close", () => done(null));
    look(view, stopped.signal, take);
  });
  const found = await chosen;
  view.close();
  return found;
}

/** The camera's picture, read again and again. */
async function look(view, signal, take) {
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: WIDTH_ASKED } } });
  } catch (error) {
    view.say(REFUSED[error.name] ?? "The camera could not be opened. Take one of the ways below.");
    view.video.hidden = true;
    return;
  }
  const stop = () => stream.getTracks().forEach((track) => track.stop());
  if (signal.aborted) return stop();
  signal.addEventListener("abort", stop);
  view.video.srcObject = stream;
  await view.video.play().catch(() => undefined);
  const read = await reader();
  while (!signal.aborted) {
    if (view.video.readyState >= 2 && take(await read(view.video, LONGEST_SIDE))) return;
    await new Promise((resolve) => setTimeout(resolve, PAUSE_MS));
  }
}

/** One picture, from the device's own camera app or its gallery. */
async function still(file, view, take) {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const text = await (await reader())(picture, LONGEST_SIDE_STILL);
    picture.close();
    if (text === null) view.say("No code can be read in that picture. Take it from nearer, with the label flat and in focus.");
    else take(text);
  } catch {
    view.say("That file is no picture that can be read here.");
  }
}

/** The browser's own reader where it has one, else ours. @returns {Promise<(source: any, longest: number) => Promise<string|null>>} */
async function reader() {
  const own = await ownReader();
  const { readCode } = own ? {} : await import("./code/read.js");
  const canvas = document.createElement("canvas");
  const context = canvas.getContext("2d", { willReadFrequently: true });
  return async (source, longest) => {
    if (own) return (await own.detect(source).catch(() => []))[0]?.rawValue ?? null;
    const [width, height] = [source.videoWidth ?? source.width, source.videoHeight ?? source.height];
    const share = Math.min(1, longest / Math.max(width, height));
    canvas.width = Math.round(width * share);
    canvas.height = Math.round(height * share);
    context.drawImage(source, 0, 0, canvas.width, canvas.height);
    return readCode(context.getImageData(0, 0, canvas.width, canvas.height));
  };
}

async function ownReader() {
  if (!("BarcodeDetector" in window)) return null;
  const kinds = await BarcodeDetector.getSupportedFormats().catch(() => []);
  return kinds.includes("qr_code") ? new BarcodeDetector({ formats: ["qr_code"] }) : null;
}

function opened() {
  const video = h("video", { playsinline: true, muted: true });
  const voice = h("p", { role: "status", class: "scan-said" }, AIM);
  const view = { video, onpicture: null };
  const choose = h("input", { type: "file", accept: "image/*", capture: "environment", id: "scan-picture", class: "visually-hidden" });
  choose.addEventListener("change", () => choose.files[0] && view.onpicture(choose.files[0]));
  const dialog = h("dialog", { class: "scan", "aria-labelledby": "scan-title" },
    h("h2", { id: "scan-title" }, "Scan a label"),
    h("div", { class: "scan-view" }, video, h("div", { class: "scan-aim", "aria-hidden": "true" })),
    voice,
    h("p", { class: "acts" },
      button("Type the number instead", () => dialog.close()),
      h("label", { class: "button", for: "scan-picture" }, "Take a picture of it"), choose));
  document.body.append(dialog);
  dialog.showModal();
  return Object.assign(view, {
    dialog,
    say: (words) => voice.textContent !== words && (voice.textContent = words),
    close: () => {
      dialog.close();
      dialog.remove();
    },
  });
}
