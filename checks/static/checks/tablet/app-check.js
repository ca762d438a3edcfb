/** One check under way: which tab may work on it, what is kept, and what signing does. The steps draw themselves. */

import { put, unitName } from "./app-words.js";
import { button, h } from "./dom.js";
import { NEEDS_YOU, Overtaken } from "./store.js";
import { isFull } from "./store-db.js";

// The check that this tab works on: its draft stays in memory from step to step, and so does the hold on it.
let open = null;
// A page that was loaded again, or crashed, lets go of its check a moment later.
const LET_GO_MS = 1_000;

/** @returns {Promise<() => Promise<void>>} leaves the screen */
export async function checkScreen(root, app, key, slug) {
  if (open?.key === key) {
    await show(root, app, open.draft, slug);
    return () => leave(app, key);
  }
  const [draft, person, item] = [await app.store.draft(key), await app.store.person(), await app.store.item(key)];
  if (!draft) return gone(root, app, item);
  if (draft.kept.person !== person?.pk) return strangers(root, draft);
  const hold = await takeHold(key, false);
  if (!hold) return elsewhere(root, app, draft, key);
  // Read once more: the tab that let go may have written in between.
  await work(root, app, (await app.store.draft(key)) ?? draft, hold, slug);
  return () => leave(app, key);
}

function work(root, app, draft, hold, slug) {
  open = { key: draft.key, draft, hold };
  hold.lost.then((stolen) => stolen && wentOn(document.querySelector("#content > .screen"), app, draft.key));
  return show(root, app, draft, slug);
}

/** To another step of the same check all is kept; elsewhere the hold ends once everything is written. */
async function leave(app, key) {
  if (location.hash.startsWith(`#/check/${key}`) || open?.key !== key) return;
  const { hold } = open;
  open = null;
  await app.store.settled(key);
  hold.release();
}

async function show(root, app, draft, slug) {
  const sheet = await app.store.sheet();
  const frame = h("div", { class: "step" });
  put(root, mending(app, draft), frame);
  if (!sheet) {
    frame.append(h("h1", {}, "The units have to be fetched first"), h("p", {}, "The check is kept. It goes on once this tablet has fetched its units again."));
    return;
  }
  const { firstOpen, render } = await import("./screens/index.js");
  const wanted = slug || draft.ui.step || firstOpen(draft, sheet);
  const drawn = render(frame, draft, sheet, actsOf(root, app, draft), wanted);
  if (drawn !== slug) history.replaceState(null, "", `#/check/${draft.key}/${drawn}`);
  if (draft.ui.step !== drawn) {
    draft.ui.step = drawn;
    keep(root, app, draft);
  }
}

function actsOf(root, app, draft) {
  let signing = null;
  return {
    keep: (changed) => keep(root, app, changed),
    go: (to) => app.go(`#/check/${draft.key}/${to}`),
    leave: () => app.go("#/"),
    sign: (signed, content) => (signing ??= sign(root, app, signed, content)),
    discard: (thrown) => app.store.discard(thrown.key).then(() => app.go("#/")),
    photos: (host, of) => import("./photos.js").then(({ attach }) => attach(host, of, app.store)),
  };
}

function keep(root, app, draft) {
  app.store.saveDraft(draft).catch((error) => {
    if (error instanceof Overtaken) wentOn(root, app, draft.key);
    else if (!isFull(error)) throw error; // a full storage has its notice on top of the screen
  });
}

/** Signed here and now, sent when it can be. A second tap waits for the first. */
async function sign(root, app, draft, content) {
  try {
    await app.store.sign(draft, content);
  } catch (error) {
    if (!isFull(error)) throw error;
    root.prepend(h("div", { class: "notice wrong", role: "alert" }, h("p", {}, "The storage is full, so this check could not be signed. It is still here: make room, then sign again.")));
    return;
  }
  app.say("Signed and kept on this tablet.");
  app.go(`#/outbox/${draft.key}`);
  app.sync.flush({ now: true });
}

/** What the server could not take, and the two things that no step mends: the revision, and when it was. */
function mending(app, draft) {
  const { refusal } = draft;
  if (!refusal) return null;
  const again = (change) => {
    change();
    return app.store.saveDraft(draft).then(() => app.go(`#/check/${draft.key}/sign`));
  };
  const parts = [];
  if (refusal.code === "revision_changed") parts.push(revision(app, draft, again));
  if ((refusal.errors ?? []).some((one) => one.field === "made_at")) parts.push(moment(draft, again));
  return parts.length ? h("div", { class: "mending" }, parts) : null;
}

function revision(app, draft, again) {
  const adopt = button("Go on by the revision in force", async () => {
    await app.sync.flush({ now: true, sheet: true });
    const sheet = await app.store.sheet();
    const unit = sheet?.units.find((one) => one.turbocharger === draft.turbocharger);
    if (!unit?.specification || unit.specification === draft.specification) {
      app.say("The new revision is not on this tablet yet. Try again with a network.");
      return;
    }
    await again(() => {
      draft.specification = unit.specification;
      delete draft.ui.pinned;
      draft.refusal = null;
    });
  });
  return h("div", { class: "notice caution" }, h("p", {}, draft.refusal.title), h("p", {}, adopt));
}

function moment(draft, again) {
  const box = h("input", { id: "f-made-at", type: "datetime-local", value: localText(draft.made_at) });
  const set = button("This is when it was", () =>
    box.value &&
    again(() => {
      draft.made_at = new Date(box.value).toISOString();
      draft.cautions_read_at = draft.made_at;
      draft.refusal = { ...draft.refusal, errors: draft.refusal.errors.filter((one) => one.field !== "made_at" && one.field !== "cautions_read_at") };
    }),
  );
  return h("div", { class: "notice caution" },
    h("p", {}, h("label", { for: "f-made-at" }, "When was the check made?")), h("div", { class: "row" }, box, set));
}

function localText(moment) {
  const at = new Date(moment ?? Date.now());
  return new Date(at.getTime() - at.getTimezoneOffset() * 60_000).toISOString().slice(0, 16);
}

/** Only one tab works on a check. @returns {Promise<{release: () => void, lost: Promise<boolean>}|null>} */
function takeHold(key, steal) {
  return new Promise((resolve) => {
    let release;
    let lose;
    const lost = new Promise((done) => {
      lose = done;
    });
    const how = steal ? { steal: true } : { signal: AbortSignal.timeout(LET_GO_MS) };
    navigator.locks
      .request(`register-tablet-check-${key}`, how, () => {
        const held = new Promise((done) => {
          release = done;
        });
        resolve({ release: () => release(), lost });
        return held;
      })
      .then(
        () => lose(false),
        () => {
          resolve(null); // not to be had in time; says nothing where it was had and then taken over
          lose(true);
        },
      );
  });
}

function elsewhere(root, app, draft, key) {
  root.append(
    h("h1", {}, "This check is open in another tab"),
    h("p", {}, `The check of ${unitName(draft.kept.unit)} can be worked on in one tab at a time, so that nothing typed is lost.`),
    h("p", { class: "acts" },
      button("Work on it here", async () => {
        const hold = await takeHold(key, true);
        await work(root, app, await app.store.draft(key), hold, "");
      }, { class: "primary" }),
      h("a", { class: "button", href: "#/" }, "Back")),
  );
  return () => leave(app, key);
}

/** Another tab took the check over, or signed it: what is on this screen may be old. */
async function wentOn(root, app, key) {
  if (open?.key === key) open = null;
  const draft = await app.store.draft(key);
  put(
    root,
    h("h1", {}, "This check went on in another tab"),
    h("p", {}, draft ? "What was typed there counts." : "It was signed or discarded there."),
    h("p", { class: "acts" }, h("a", { class: "button", href: draft ? "#/" : "#/outbox" }, "Leave it there"),
      draft && button("Take it back", () => location.reload())),
  );
}

function gone(root, app, item) {
  if (item && item.state !== NEEDS_YOU) {
    history.replaceState(null, "", `#/outbox/${item.key}`);
    app.go(`#/outbox/${item.key}`);
    return () => undefined;
  }
  root.append(
    h("h1", {}, "There is no such check under way on this tablet"),
    h("p", {}, "It was signed, discarded, or begun on another tablet."),
    h("p", {}, h("a", { class: "button", href: "#/" }, "To the units")),
  );
  return () => undefined;
}

function strangers(root, draft) {
  root.append(
    h("h1", {}, "This check belongs to someone else"),
    h("p", {}, `${draft.kept.person_name} began it on this tablet and alone goes on with it. It stays here until then.`),
    h("p", {}, h("a", { class: "button", href: "#/" }, "To the units")),
  );
  return () => undefined;
}
