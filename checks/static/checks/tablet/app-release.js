/** Versions of the app: a new one waits while a check is under way, so that a check ends as it began. */

const WORKER = "/tablet/worker.js";
const LOOK_MS = 30 * 60_000;
const ANSWER_MS = 5_000;
const TRIED = "version-loaded-for";

export class Release {
  constructor(store) {
    this.store = store;
    this.version = document.documentElement.dataset.release;
    this.waiting = false;
    this.listeners = new Set();
    this.registration = null;
    this.taken = false;
    this.behind = false;
    this.serving = "";
  }

  subscribe(listen) {
    this.listeners.add(listen);
  }

  #set(waiting) {
    this.waiting = waiting;
    for (const listen of this.listeners) listen();
  }

  /** Install the worker, and hear of new versions. */
  async start() {
    if (!("serviceWorker" in navigator)) return;
    const controlled = Boolean(navigator.serviceWorker.controller);
    navigator.serviceWorker.addEventListener("controllerchange", () => {
      if (controlled || this.taken) location.reload();
    });
    try {
      this.registration = await navigator.serviceWorker.register(WORKER, { scope: "/tablet/", updateViaCache: "none" });
    } catch {
      return; // no network at the very first visit, or a browser that does not allow it; told in the outbox
    }
    this.registration.addEventListener("updatefound", () => {
      const arriving = this.registration.installing;
      arriving.addEventListener("statechange", () => {
        if (arriving.state === "installed" && navigator.serviceWorker.controller) this.#set(true);
      });
    });
    // A worker that came in while every page was closed still serves a check's old version: the page is behind it.
    const serving = await this.#served();
    // Once only: a page that came from the network may be ahead of its worker, and would load itself for ever.
    this.behind = serving !== null && serving !== this.version && sessionStorage.getItem(TRIED) !== serving;
    if (this.behind) this.serving = serving;
    if (this.behind || this.registration.waiting) this.#set(true);
    setInterval(() => this.registration.update().catch(() => undefined), LOOK_MS);
  }

  /** @returns {Promise<string|null>} the version of the worker in charge; null where none answers */
  #served() {
    const worker = this.registration.active;
    if (!worker || !navigator.serviceWorker.controller) return Promise.resolve(null);
    return new Promise((resolve) => {
      const channel = new MessageChannel();
      channel.port1.onmessage = (event) => resolve(event.data);
      setTimeout(() => resolve(null), ANSWER_MS);
      worker.postMessage("which version", [channel.port2]);
    });
  }

  /** Checks under way that hold the new version back. */
  async heldBy() {
    return this.store.drafts();
  }

  /** Go over to the new version unless a check is under way. @returns {Promise<boolean>} whether it does */
  async takeOver() {
    if (!this.waiting || (await this.heldBy()).length) return false;
    this.taken = true;
    if (this.registration.waiting) this.registration.waiting.postMessage("take over");
    else {
      sessionStorage.setItem(TRIED, this.serving);
      location.reload();
    }
    return true;
  }
}
