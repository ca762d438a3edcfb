/** The line on top of every screen: what waits on this tablet, the network, and what stands in the way. */

import { count } from "./app-words.js";
import { button, h } from "./dom.js";
import { HERE, NEEDS_YOU, SENDING } from "./store.js";
import { themeButton } from "./theme.js";

/** @returns {Promise<{draw: () => Promise<void>}>} */
export async function head(root, app) {
  const { store, sync, release } = app;
  const waiting = h("a", { class: "waiting", href: "#/outbox" });
  const network = h("span", { class: "network" });
  const notices = h("div", { class: "notices" });
  root.append(
    h("a", { class: "home", href: "#/" }, "The check"),
    waiting,
    network,
    themeButton(),
    notices,
  );
  let drawing = null;
  let again = false;

  async function paint() {
    const [items, person] = [await store.outbox(), await store.person()];
    const by = (...states) => items.filter((item) => states.includes(item.state)).length;
    const [here, needs] = [by(HERE, SENDING), by(NEEDS_YOU)];
    waiting.textContent = [
      here ? `${count(here, "check waits", "checks wait")} to be sent` : "Nothing waits",
      needs ? `${count(needs, "needs", "need")} you` : "",
    ]
      .filter(Boolean)
      .join(", ");
    waiting.classList.toggle("some", here + needs > 0);
    network.textContent = networkWords(sync.status, here);
    notices.replaceChildren(...(await told(items, person)));
  }

  async function told(items, person) {
    const found = [];
    const { status } = sync;
    if (store.full) found.push(await fullNotice(store, paint));
    if (status.signedOut) found.push(signIn(items.length));
    // What can wait takes no room from the keys of a check.
    const working = location.hash.startsWith("#/check/");
    const others = items.filter((item) => item.person !== person?.pk && item.state !== "received");
    if (others.length && !working) found.push(strangers(others));
    if (status.clockAheadMs) found.push(clock(status.clockAheadMs));
    if (release.waiting && !working) found.push(await newVersion(release));
    return found;
  }

  /** One painting at a time; a change in the middle of one asks for another. */
  async function draw() {
    again = true;
    drawing ??= (async () => {
      while (again) {
        again = false;
        await paint();
      }
      drawing = null;
    })();
    return drawing;
  }

  store.subscribe(draw);
  sync.subscribe(draw);
  release.subscribe(draw);
  await draw();
  return {
    draw: async () => {
      if ((location.hash || "#/") === "#/" && (await release.takeOver())) return;
      await draw();
    },
  };
}

function networkWords({ network, busy, fetching }, here) {
  if (network === "offline") return "no network";
  if (network === "unknown") return busy ? "looking for the network" : "";
  if (busy && here) return "sending";
  return fetching ? "fetching the units" : "network";
}

function notice(kind, ...children) {
  return h("div", { class: `notice ${kind}`, role: kind === "wrong" ? "alert" : "status" }, ...children);
}

async function fullNotice(store, paint) {
  const { checks, photos } = await store.freeable();
  const freeable = [
    checks ? count(checks, "check", "checks") : "",
    photos ? count(photos, "photograph", "photographs") : "",
  ].filter(Boolean);
  const free = button(`Free what the server has: ${freeable.join(" and ")}`, () => store.free({ all: true }).finally(paint));
  return notice(
    "wrong",
    h("p", {}, h("strong", {}, "The storage of this tablet is full. "), fate(store)),
    freeable.length
      ? h("p", {}, free)
      : h("p", {}, "Nothing that the server has is left here to free. Delete films, apps or downloads of the tablet, then: ",
          button("Try again", () => store.free().finally(paint))),
  );
}

function fate(store) {
  return store.unsaved
    ? "What was typed last is on the screen and not kept: do not close the app. Make room first."
    : "What was typed so far is kept, with the last of the reserve. Make room before you go on.";
}

function signIn(some) {
  const words = some ? "Checks stay on this tablet until then and lose nothing." : "";
  const next = encodeURIComponent("/tablet/");
  return notice(
    "caution",
    h("p", {}, h("strong", {}, "You are signed out. "), `Sign in to send and to fetch the units. ${words}`),
    h("p", {}, h("a", { class: "button primary", href: `/accounts/login/?next=${next}` }, "Sign in")),
  );
}

function strangers(items) {
  const names = [...new Set(items.map((item) => item.person_name))].join(", ");
  return notice(
    "",
    h("p", {}, `${count(items.length, "check", "checks")} of ${names} ${items.length === 1 ? "waits" : "wait"} on this tablet, to be sent when ${names} signs in here again.`),
  );
}

function clock(aheadMs) {
  const minutes = Math.round(Math.abs(aheadMs) / 60_000);
  const much = minutes < 120 ? count(minutes, "minute", "minutes") : `${Math.round(minutes / 60)} hours`;
  return notice(
    "caution",
    h("p", {}, h("strong", {}, `The clock of this tablet is ${much} ${aheadMs > 0 ? "ahead" : "behind"}. `),
      "The server sets the times of your checks right as they arrive and keeps what the tablet said. Set the clock right."),
  );
}

async function newVersion(release) {
  const open = await release.heldBy();
  if (open.length) {
    return notice("", h("p", {}, "A new version is ready. It is used once no check is under way; a check ends on the version on which it began."));
  }
  return notice("", h("p", {}, "A new version is ready. ", button("Use it now", () => release.takeOver())));
}
