/** The database of this tablet: opening it, and one transaction at a time that either holds whole or leaves no trace. */

const NAME = "register-tablet";
// Only ever grows: an older version of the app and a newer one may both be open while a check is finished.
const VERSION = 1;
export const DRAFTS = "drafts";
export const OUTBOX = "outbox";
export const PHOTOS = "photos";
export const FACTS = "facts";

/** @returns {Promise<IDBDatabase>} */
export function openDatabase(name = NAME) {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open(name, VERSION);
    asked.onupgradeneeded = () => {
      const db = asked.result;
      for (const store of [DRAFTS, OUTBOX, PHOTOS]) db.createObjectStore(store, { keyPath: "key" });
      db.createObjectStore(FACTS);
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error("Another tab holds an older form of this tablet's store. Close it."));
  });
}

/** The answer of one request within a transaction. */
export function ask(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/**
 * Do `work` in one transaction over `stores`; resolved once the browser says that it is kept.
 *
 * @param {IDBDatabase} db
 * @param {string[]} stores
 * @param {"readonly"|"readwrite"} mode
 * @param {(tables: Object<string, IDBObjectStore>) => any} work
 */
export function transact(db, stores, mode, work) {
  return new Promise((resolve, reject) => {
    // 'strict' waits until the bytes are on the disk, not only with the system: a flat battery is no rare thing here.
    const whole = db.transaction(stores, mode, mode === "readwrite" ? { durability: "strict" } : {});
    let result;
    let fault = null;
    whole.oncomplete = () => resolve(result);
    whole.onabort = () => reject(fault ?? whole.error ?? new DOMException("", "AbortError"));
    const tables = Object.fromEntries(stores.map((store) => [store, whole.objectStore(store)]));
    Promise.resolve(work(tables)).then(
      (value) => {
        result = value;
      },
      (error) => {
        fault = error;
        try {
          whole.abort();
        } catch {
          reject(error); // it had ended already
        }
      },
    );
  });
}

export function isFull(error) {
  return error?.name === "QuotaExceededError";
}
