/** Photographs of a check: taken on the device, made smaller there, kept beside the check until the server has them. */

import { button, h } from "./dom.js";

const LONGEST_SIDE = 1600;
const QUALITY = 0.82;
const THUMBNAIL_SIDE = 320;
const MOST = 12;
const KINDS = [["dial", "Photograph the dial"], ["meter", "Photograph the gauge or meter"], ["other", "Photograph something else"]];
const WORDS = { dial: "Dial", meter: "Gauge or meter", other: "Photograph" };

/**
 * Draw what is attached to a check, and the buttons that attach more.
 *
 * @param {HTMLElement} host
 * @param {{key: string}} draft
 * @param {import("./store.js").Store} store
 */
export async function attach(host, draft, store) {
  const voice = h("p", { role: "status" });
  const list = h("ul", {});
  const choices = h("p", { class: "pick" });
  host.replaceChildren(h("h2", {}, "Photographs"), list, choices, voice);

  const draw = async () => {
    const photos = await store.photosOf(draft.key);
    list.replaceChildren(...photos.map((photo) => line(photo)));
    choices.replaceChildren(...(photos.length < MOST ? KINDS.flatMap(([what, words]) => picker(what, words)) : []));
    if (photos.length >= MOST) voice.textContent = `A check keeps at most ${MOST} photographs.`;
  };

  const line = (photo) => {
    const drop = button("Remove", async () => {
      await store.dropPhoto(photo.key);
      await draw();
    });
    return h("li", {}, thumbnail(photo), h("span", {}, WORDS[photo.what]), " ", drop);
  };

  const picker = (what, words) => {
    const box = h("input", { type: "file", accept: "image/*", capture: "environment", id: `photo-${what}`, class: "visually-hidden" });
    box.addEventListener("change", async () => {
      if (!box.files[0]) return;
      voice.textContent = "Making the photograph smaller …";
      try {
        await store.addPhoto({ check: draft.key, what, blob: await smaller(box.files[0]) });
        voice.textContent = "Kept on this tablet; it is sent after the check.";
      } catch (error) {
        voice.textContent = error.name === "QuotaExceededError" ? "The storage is full, so the photograph was not kept. Make room first." : error.message;
      }
      await draw();
    });
    return [h("label", { class: "button", for: box.id }, words), box];
  };

  await draw();
}

/**
 * Show the photographs of a signed check with where each of them is.
 *
 * @param {HTMLElement} host
 * @param {string} check  its key
 * @param {import("./store.js").Store} store
 */
export async function showSent(host, check, store) {
  const photos = await store.photosOf(check);
  const line = (photo) => h("li", {}, thumbnail(photo), h("span", {}, `${WORDS[photo.what]}: ${photo.state}`), photo.refusal && h("p", { class: "wrong-text" }, photo.refusal));
  host.replaceChildren(...(photos.length ? [h("h2", {}, "Photographs"), h("ul", {}, photos.map(line))] : []));
}

/** A small picture, drawn rather than linked: the page's policy lets no image in that has no address of ours. */
function thumbnail({ blob, what }) {
  const canvas = h("canvas", { role: "img", "aria-label": `${WORDS[what]}, photographed here` });
  createImageBitmap(blob).then((picture) => {
    const share = Math.min(1, THUMBNAIL_SIDE / Math.max(picture.width, picture.height));
    canvas.width = Math.round(picture.width * share);
    canvas.height = Math.round(picture.height * share);
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
  }, () => undefined);
  return canvas;
}

/**
 * A photograph as JPEG, upright, at most 1600 pixels long, without what the camera noted in it.
 *
 * @param {Blob} file
 * @returns {Promise<Blob>}
 */
export async function smaller(file) {
  let picture;
  try {
    picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch {
    throw new Error("That file is no picture that can be read here. Take the photograph again.");
  }
  const share = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * share));
  canvas.height = Math.max(1, Math.round(picture.height * share));
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return new Promise((resolve, reject) => {
    canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error("The photograph could not be made smaller. Take it again."))), "image/jpeg", QUALITY);
  });
}
