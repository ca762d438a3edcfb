/**
 * What this tablet keeps: checks under way, signed checks that wait, photographs, the sheet. Nothing leaves it before
 * the server has said that it is there.
 */

import { DRAFTS, FACTS, OUTBOX, PHOTOS, ask, isFull, openDatabase, transact } from "./store-db.js";

export const HERE = "on this tablet";
export const SENDING = "sending";
export const RECEIVED = "received";
export const NEEDS_YOU = "needs you";
// Kept free for the moment at which the storage runs full, so that what is being typed still finds room.
const RESERVE_BYTES = 512 * 1024;
const [FULL, ROOM] = ["storage full", "storage has room"];
const RECEIVED_KEPT_MS = 14 * 24 * 3600 * 1000;

/** A draft that another tab has carried further, or signed. */
export class Overtaken extends Error {}

/**
 * @typedef {Object} Item a signed check in the outbox
 * @property {string} key         the check's UUID, by which the server knows a repeat
 * @property {number} person      who signed it; it is sent in that person's session alone
 * @property {string} state       HERE, SENDING, RECEIVED or NEEDS_YOU
 * @property {Object} payload     the submission, never changed after signing
 * @property {Object} provisional state by moment, as this tablet compared it
 * @property {string[]} told      sentences for the technician once it was received
 * @property {Object|null} answer   what the server answered
 * @property {Object|null} refusal  title and errors, where it needs the technician
 */

class Store {
  constructor(db, channel) {
    this.db = db;
    this.full = false;
    this.lines = new Map();
    this.listeners = new Set();
    this.channel = channel;
    channel.onmessage = ({ data }) => {
      if (data === FULL || data === ROOM) this.full = data === FULL;
      this.#tell(data);
    };
  }

  /** Call `listen(topic)` whenever something changed here or in another tab. @returns {() => void} ends it */
  subscribe(listen) {
    this.listeners.add(listen);
    return () => this.listeners.delete(listen);
  }

  #tell(topic) {
    for (const listen of this.listeners) listen(topic);
  }

  #changed(topic) {
    this.channel.postMessage(topic);
    this.#tell(topic);
  }

  /** One transaction that writes. A full storage gives up its reserve first, then says so; nothing is half written. */
  async #write(stores, topic, work) {
    const once = () => transact(this.db, stores, "readwrite", work);
    try {
      const result = await once().catch(async (error) => {
        if (!isFull(error)) throw error;
        await this.#giveReserve();
        this.#setFull(true);
        return once();
      });
      this.#changed(topic);
      return result;
    } catch (error) {
      if (isFull(error)) this.#setFull(true);
      throw error;
    }
  }

  #read(stores, work) {
    return transact(this.db, stores, "readonly", work);
  }

  #setFull(full) {
    if (this.full === full) return;
    this.full = full;
    this.#changed(full ? FULL : ROOM);
  }

  // Facts: single values by name.

  fact(name) {
    return this.#read([FACTS], (at) => ask(at[FACTS].get(name)));
  }

  setFact(name, value) {
    return this.#write([FACTS], name, (at) => ask(at[FACTS].put(value, name)));
  }

  // Checks under way.

  /**
   * Keep a draft as it stands at this moment; call it with every keystroke. Writes of one draft follow each other, and
   * only the newest of those that wait is made.
   *
   * @returns {Promise<void>} resolved when the newest is kept
   */
  saveDraft(draft) {
    draft.kept = { ...draft.kept, rev: (draft.kept?.rev ?? 0) + 1, touched_at: new Date().toISOString() };
    const line = this.lines.get(draft.key) ?? { next: null, running: null };
    this.lines.set(draft.key, line);
    line.next = structuredClone(draft);
    line.running ??= this.#drain(line);
    return line.running;
  }

  async #drain(line) {
    try {
      while (line.next) {
        const draft = line.next;
        line.next = null;
        try {
          await this.#putDraft(draft);
        } catch (error) {
          if (isFull(error)) line.next ??= draft; // kept in memory until there is room
          throw error;
        }
      }
    } finally {
      line.running = null;
    }
  }

  #putDraft(draft) {
    return this.#write([DRAFTS, OUTBOX], `draft ${draft.key}`, async (at) => {
      const [before, signed] = await Promise.all([ask(at[DRAFTS].get(draft.key)), ask(at[OUTBOX].get(draft.key))]);
      if ((before && before.kept.rev >= draft.kept.rev) || (signed && signed.state !== NEEDS_YOU)) throw new Overtaken();
      await ask(at[DRAFTS].put(draft));
    });
  }

  /** Resolved when nothing of a draft is being written any more. */
  async settled(key) {
    await this.lines.get(key)?.running?.catch(() => undefined);
  }

  /** Try again what found no room. */
  async retryUnsaved() {
    for (const line of this.lines.values()) if (line.next) await (line.running ??= this.#drain(line));
  }

  get unsaved() {
    return [...this.lines.values()].some((line) => line.next);
  }

  async draft(key) {
    return (await this.#read([DRAFTS], (at) => ask(at[DRAFTS].get(key)))) ?? null;
  }

  async drafts() {
    const all = await this.#read([DRAFTS], (at) => ask(at[DRAFTS].getAll()));
    return all.sort((a, b) => b.kept.touched_at.localeCompare(a.kept.touched_at));
  }

  /** Throw a check under way away, with its photographs. */
  discard(key) {
    this.lines.delete(key);
    return this.#write([DRAFTS, OUTBOX, PHOTOS], `draft ${key}`, async (at) => {
      const signed = await ask(at[OUTBOX].get(key));
      await ask(at[DRAFTS].delete(key));
      if (signed && signed.state !== NEEDS_YOU) return;
      await ask(at[OUTBOX].delete(key));
      for (const one of await ask(at[PHOTOS].getAll())) if (one.check === key) await ask(at[PHOTOS].delete(one.key));
    });
  }

  // The outbox.

  /**
   * Sign: the draft becomes an item that waits to be sent, in one transaction. A second tap finds the first one's item
   * and changes nothing.
   *
   * @returns {Promise<Item>}
   */
  async sign(draft, { payload, provisional = {} }) {
    await this.settled(draft.key);
    return this.#write([DRAFTS, OUTBOX], "outbox", async (at) => {
      const before = await ask(at[OUTBOX].get(draft.key));
      if (before && before.state !== NEEDS_YOU) return before;
      const item = newItem(draft, payload, provisional);
      await ask(at[OUTBOX].put(item));
      await ask(at[DRAFTS].delete(draft.key));
      return item;
    });
  }

  async item(key) {
    return (await this.#read([OUTBOX], (at) => ask(at[OUTBOX].get(key)))) ?? null;
  }

  /** Every signed check that this tablet still holds, in the order of signing. */
  async outbox() {
    const all = await this.#read([OUTBOX], (at) => ask(at[OUTBOX].getAll()));
    return all.sort((a, b) => a.signed_at.localeCompare(b.signed_at));
  }

  /** Change an item; `change` gets it and may return false to leave it alone. @returns {Promise<Item|null>} */
  change(key, change) {
    return this.#write([OUTBOX], "outbox", async (at) => {
      const item = await ask(at[OUTBOX].get(key));
      if (!item || change(item) === false) return item ?? null;
      await ask(at[OUTBOX].put(item));
      return item;
    });
  }

  /** Open a refused check again with everything that was typed; it keeps its key and its place in the outbox. */
  reopen(key) {
    return this.#write([DRAFTS, OUTBOX], `draft ${key}`, async (at) => {
      const [item, before] = await Promise.all([ask(at[OUTBOX].get(key)), ask(at[DRAFTS].get(key))]);
      if (before || item?.state !== NEEDS_YOU) return before ?? null;
      const draft = { ...item.draft, refusal: item.refusal };
      await ask(at[DRAFTS].put(draft));
      return draft;
    });
  }

  // Photographs: kept beside the checks, so that a keystroke does not write them anew.

  addPhoto({ check, what, blob }) {
    const photo = { key: crypto.randomUUID(), check, what, blob, state: HERE, added_at: new Date().toISOString() };
    return this.#write([PHOTOS], `photos ${check}`, async (at) => {
      await ask(at[PHOTOS].put(photo));
      return photo;
    });
  }

  async photosOf(check) {
    const all = await this.#read([PHOTOS], (at) => ask(at[PHOTOS].getAll()));
    return all.filter((one) => one.check === check).sort((a, b) => a.added_at.localeCompare(b.added_at));
  }

  async photos() {
    return this.#read([PHOTOS], (at) => ask(at[PHOTOS].getAll()));
  }

  changePhoto(key, change) {
    return this.#write([PHOTOS], "photos", async (at) => {
      const photo = await ask(at[PHOTOS].get(key));
      if (photo) await ask(at[PHOTOS].put({ ...photo, ...change }));
    });
  }

  dropPhoto(key) {
    return this.#write([PHOTOS], "photos", (at) => ask(at[PHOTOS].delete(key)));
  }

  // The person and their sheet.

  /** Who works with this tablet: the person last signed in here. @returns {Promise<{pk: number, name: string}|null>} */
  async person() {
    return (await this.fact("person")) ?? null;
  }

  /** Note who is signed in. What another person's sheet said is thrown away; their checks stay theirs. */
  setPerson(person) {
    return this.#write([FACTS], "person", async (at) => {
      const before = await ask(at[FACTS].get("person"));
      if (before?.pk === person.pk && before.name === person.name) return;
      if (before && before.pk !== person.pk) for (const name of ["sheet", "sheet refusal"]) await ask(at[FACTS].delete(name));
      await ask(at[FACTS].put(person, "person"));
    });
  }

  /** The sheet of whoever works with this tablet, with `fetched_at`; null where there is none yet. */
  async sheet() {
    const [kept, person] = await this.#read([FACTS], (at) =>
      Promise.all([ask(at[FACTS].get("sheet")), ask(at[FACTS].get("person"))]),
    );
    return kept && kept.person.pk === person?.pk ? kept : null;
  }

  saveSheet(sheet) {
    return this.#write([FACTS], "sheet", async (at) => {
      await ask(at[FACTS].delete("sheet refusal"));
      await ask(at[FACTS].put(sheet, "sheet"));
    });
  }

  // Room.

  /** Take room while there is some, to be given up when there is none. */
  async keepReserve() {
    if (await this.fact("reserve")) return;
    const bytes = new Uint8Array(RESERVE_BYTES);
    // Noise, since what is all alike takes no room where storage is compressed.
    for (let i = 0; i < bytes.length; i += 65536) crypto.getRandomValues(bytes.subarray(i, i + 65536));
    await transact(this.db, [FACTS], "readwrite", (at) => ask(at[FACTS].put(bytes, "reserve")));
    this.#setFull(false);
  }

  /** There was not even room for the reserve. */
  reserveMissing() {
    this.#setFull(true);
  }

  #giveReserve() {
    return transact(this.db, [FACTS], "readwrite", (at) => ask(at[FACTS].delete("reserve")));
  }

  /** What could be freed without a loss: the server has it. */
  async freeable() {
    const [items, photos] = [await this.outbox(), await this.photos()];
    return {
      checks: items.filter((one) => one.state === RECEIVED).length,
      photos: photos.filter((one) => one.state === RECEIVED).length,
    };
  }

  /** Free what the server has: all of it, or what is older than a fortnight. @returns {Promise<number>} */
  async free({ all = false } = {}) {
    const before = new Date(Date.now() - (all ? 0 : RECEIVED_KEPT_MS)).toISOString();
    const freed = await this.#write([OUTBOX, PHOTOS], "outbox", async (at) => {
      let count = 0;
      const photos = await ask(at[PHOTOS].getAll());
      for (const one of await ask(at[OUTBOX].getAll())) {
        const waits = photos.some((photo) => photo.check === one.key && photo.state !== RECEIVED);
        if (one.state !== RECEIVED || waits || (!all && one.received_at > before)) continue;
        await ask(at[OUTBOX].delete(one.key));
        count += 1;
      }
      for (const photo of photos) {
        if (photo.state === RECEIVED && (all || photo.added_at < before)) await ask(at[PHOTOS].delete(photo.key));
      }
      return count;
    });
    await this.retryUnsaved();
    await this.keepReserve().catch(() => undefined); // still too little room: the notice stays
    return freed;
  }
}

function newItem(draft, payload, provisional) {
  return {
    key: draft.key,
    person: draft.kept.person,
    person_name: draft.kept.person_name,
    unit: draft.kept.unit,
    state: HERE,
    signed_at: new Date().toISOString(),
    sheet_made_at: draft.kept.sheet_made_at,
    payload,
    provisional,
    draft: structuredClone({ ...draft, refusal: null }),
    attempts: 0,
    next_at: 0,
    told: [],
    answer: null,
    refusal: null,
    received_at: "",
  };
}

/** @returns {Promise<Store>} */
export async function openStore(name) {
  const db = await openDatabase(name);
  return new Store(db, new BroadcastChannel(db.name));
}
