/**
 * Sending what waits, and fetching the sheet. One tab at a time does it; whatever goes wrong, a signed check stays on
 * this tablet under its key until the server has answered for that key.
 */

import { HERE, NEEDS_YOU, RECEIVED, SENDING } from "./store.js";
import { Unreachable, call, post } from "./sync-http.js";

const SESSION = "/tablet/session.json";
const SHEET = "/tablet/sheet.json";
const CHECKS = "/tablet/checks/";
const BEAT_MS = 15_000;
const SHEET_AGE_MS = 10 * 60_000;
const FIRST_WAIT_MS = 5_000;
const LONGEST_WAIT_MS = 5 * 60_000;
// Beyond this the server sets the time right; the same tolerance as there.
const CLOCK_TOLERANCE_MS = 5 * 60_000;

/**
 * @typedef {Object} Status
 * @property {"unknown"|"online"|"offline"} network  what the last call found, not what the browser believes
 * @property {boolean} signedOut
 * @property {{pk: number, name: string}|null} person  who is signed in
 * @property {number} clockAheadMs  0 within the tolerance
 * @property {boolean} busy
 * @property {boolean} fetching  the sheet is on its way
 */

export class Sync {
  constructor(store) {
    this.store = store;
    this.listeners = new Set();
    this.token = "";
    /** @type {Status} */
    this.status = { network: "unknown", signedOut: false, person: null, clockAheadMs: 0, busy: false, fetching: false };
  }

  subscribe(listen) {
    this.listeners.add(listen);
    return () => this.listeners.delete(listen);
  }

  #set(change) {
    Object.assign(this.status, change);
    for (const listen of this.listeners) listen(this.status);
  }

  /** Go on by itself: when the network is back, when the tab is looked at, and on a timer. */
  start() {
    const go = () => this.flush();
    window.addEventListener("online", () => this.flush({ now: true }));
    window.addEventListener("offline", () => this.#set({ network: "offline" }));
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && go());
    setInterval(go, BEAT_MS);
    return this.flush({ now: true });
  }

  /**
   * Send all that waits, then fetch the sheet if it is old. Does nothing while another tab does.
   *
   * @param {{now?: boolean, sheet?: boolean}} how  `now`: without regard to waiting times; `sheet`: also a fresh one
   */
  flush({ now = false, sheet = false } = {}) {
    return navigator.locks.request("register-tablet-sync", { ifAvailable: true }, async (lock) => {
      if (!lock) return;
      this.#set({ busy: true });
      try {
        if (!(await this.#hasWork({ now, sheet }))) return;
        if (!(await this.#session())) return;
        const sent = await this.#sendAll(now);
        await this.#sendPhotos();
        await this.#fetchSheet(sheet || sent > 0);
        this.#set({ network: "online" });
      } catch (error) {
        if (!(error instanceof Unreachable)) throw error;
        this.#set({ network: "offline" });
      } finally {
        this.#set({ busy: false, fetching: false });
      }
    });
  }

  async #hasWork({ now, sheet }) {
    if (now || sheet || this.status.network !== "online") return true;
    const kept = await this.store.sheet();
    if (!kept || Date.now() - kept.fetched_at > SHEET_AGE_MS) return true;
    return (await this.store.outbox()).some((item) => isDue(item)) || (await this.#photosToSend()).length > 0;
  }

  /** Who is signed in, the token, the server's clock. @returns {Promise<boolean>} whether anybody is signed in */
  async #session() {
    const began = Date.now();
    const { status, body } = await call(SESSION);
    if (status !== 200 || !body?.token) throw new Unreachable(`session ${status}`);
    const ahead = (began + Date.now()) / 2 - Date.parse(body.now);
    this.token = body.token;
    if (body.person) await this.store.setPerson(body.person);
    this.#set({
      network: "online",
      person: body.person,
      signedOut: !body.person,
      clockAheadMs: Math.abs(ahead) > CLOCK_TOLERANCE_MS ? ahead : 0,
    });
    return Boolean(body.person);
  }

  async #sendAll(now) {
    let received = 0;
    for (const { key } of await this.store.outbox()) {
      const item = await this.store.item(key);
      if (!item || item.person !== this.status.person?.pk || !(now ? waits(item) : isDue(item))) continue;
      if (await this.#send(item)) received += 1;
      if (this.status.signedOut) break;
    }
    return received;
  }

  /** @returns {Promise<boolean>} whether the server has it now */
  async #send(item) {
    await this.store.change(item.key, (one) => (waits(one) ? Object.assign(one, { state: SENDING }) : false));
    let answer;
    try {
      answer = await this.#post(item);
    } catch (error) {
      await this.#later(item.key);
      throw error;
    }
    const { status, body } = answer;
    // Only an answer for this very key counts as a receipt.
    if (status === 201 && body?.key === item.key) {
      await this.#received(item.key, body);
      return true;
    }
    if (status === 401 || body?.code === "other_person") {
      await this.#back(item.key);
      if (status === 401) this.#set({ signedOut: true, person: null });
    } else if (body?.code && status >= 400 && status < 500 && status !== 429) {
      await this.#refused(item.key, status, body);
    } else {
      await this.#later(item.key);
    }
    return false;
  }

  async #post(item) {
    const body = {
      person: item.person,
      device_now: new Date().toISOString(),
      sheet_made_at: item.sheet_made_at,
      provisional: item.provisional,
      submission: item.payload,
    };
    const first = await post(CHECKS, this.token, body);
    // The token goes stale when somebody signs in or out in another tab; a fresh one is worth one more try.
    if (first.status !== 403 || first.body?.code) return first;
    if (!(await this.#session()) || item.person !== this.status.person.pk) return { status: 401, body: null };
    return post(CHECKS, this.token, { ...body, device_now: new Date().toISOString() });
  }

  #received(key, answer) {
    return this.store.change(key, (item) =>
      Object.assign(item, {
        state: RECEIVED,
        received_at: new Date().toISOString(),
        answer,
        told: answer.told,
        refusal: null,
        draft: null,
      }),
    );
  }

  #refused(key, status, { code, title, errors = [] }) {
    return this.store.change(key, (item) =>
      Object.assign(item, { state: NEEDS_YOU, refusal: { status, code, title, errors } }),
    );
  }

  #back(key) {
    return this.store.change(key, (item) => (item.state === SENDING ? Object.assign(item, { state: HERE }) : false));
  }

  /** Not now: again after a while that doubles, under the same key. */
  #later(key) {
    return this.store.change(key, (item) => {
      if (item.state !== SENDING) return false;
      const wait = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** item.attempts) * (0.75 + 0.5 * Math.random());
      return Object.assign(item, { state: HERE, attempts: item.attempts + 1, next_at: Date.now() + wait });
    });
  }

  async #photosToSend() {
    const received = new Map((await this.store.outbox()).filter((one) => one.answer).map((one) => [one.key, one]));
    const waiting = (await this.store.photos()).filter((one) => one.state !== RECEIVED && !one.refusal);
    return waiting.filter((one) => received.has(one.check)).map((photo) => ({ photo, item: received.get(photo.check) }));
  }

  /** Photographs follow their check, one request each, under keys of their own. */
  async #sendPhotos() {
    for (const { photo, item } of await this.#photosToSend()) {
      if (item.person !== this.status.person?.pk) continue;
      const form = new FormData();
      form.set("key", photo.key);
      form.set("what", photo.what);
      form.set("image", photo.blob, `${photo.key}.jpg`);
      const { status, body } = await call(item.answer.photos, {
        method: "POST",
        headers: { "X-CSRFToken": this.token },
        body: form,
      });
      if (status === 200 || status === 201) await this.store.changePhoto(photo.key, { state: RECEIVED });
      else if (body?.code && status < 500 && ![401, 403, 429].includes(status)) {
        await this.store.changePhoto(photo.key, { refusal: body.title, state: NEEDS_YOU });
      }
    }
  }

  async #fetchSheet(fresh) {
    const kept = await this.store.sheet();
    if (kept && !fresh && Date.now() - kept.fetched_at < SHEET_AGE_MS) return;
    const headers = kept?.mark ? { "If-None-Match": kept.mark } : {};
    this.#set({ fetching: true });
    const answer = await call(SHEET, { headers });
    if (answer.status === 304) {
      await this.store.saveSheet({ ...kept, fetched_at: Date.now(), made_at: answer.headers.get("X-Made-At") });
    } else if (answer.status === 200) {
      await this.store.saveSheet({ ...answer.body, fetched_at: Date.now(), mark: answer.headers.get("ETag") });
    } else if (answer.status === 403) {
      const title = answer.body?.title ?? "";
      if ((await this.store.fact("sheet refusal")) !== title) await this.store.setFact("sheet refusal", title);
    }
  }
}

function waits(item) {
  return item.state === HERE || item.state === SENDING;
}

function isDue(item) {
  return waits(item) && item.next_at <= Date.now();
}
