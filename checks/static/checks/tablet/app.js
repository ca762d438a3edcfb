/** The app of the tablet: opens the store, draws the frame, and shows the screen that the address names. */

import { checkScreen } from "./app-check.js";
import { head } from "./app-head.js";
import { findScreen, homeScreen } from "./app-home.js";
import { labelScreen, unitScreen } from "./app-unit.js";
import { itemScreen, outboxScreen } from "./app-outbox.js";
import { Release } from "./app-release.js";
import { button, h } from "./dom.js";
import { isFull } from "./store-db.js";
import { openStore } from "./store.js";
import { Sync } from "./sync.js";
import { applyTheme } from "./theme.js";

const ROUTES = [
  [/^#\/$/, homeScreen],
  [/^#\/find$/, findScreen],
  [/^#\/unit\/(\d+)$/, unitScreen],
  [/^#\/label\/([\w-]+)$/, labelScreen],
  [/^#\/check\/([\w-]+)(?:\/([\w-]+))?$/, checkScreen],
  [/^#\/outbox$/, outboxScreen],
  [/^#\/outbox\/([\w-]+)$/, itemScreen],
];
const LABEL = /^\/tablet\/t\/([\w-]+)\/$/;

/**
 * What every screen gets.
 * @typedef {Object} App
 * @property {import("./store.js").Store} store
 * @property {Sync} sync
 * @property {Release} release
 * @property {(address: string) => void} go      to another screen, such as "#/outbox"
 * @property {(words: string) => void} say       aloud, for those who do not see the screen
 */

async function open() {
  applyTheme();
  const main = document.querySelector("#content");
  const voice = h("p", { class: "visually-hidden", role: "status", id: "voice" });
  document.body.append(voice);
  const store = await openStore();
  const app = {
    store,
    sync: new Sync(store),
    release: new Release(store),
    go: (address) => {
      if (location.hash === address) show();
      else location.hash = address;
    },
    say: (words) => {
      voice.textContent = words;
    },
  };
  const keeper = await head(document.querySelector("#head"), app);
  let leave = null;
  let turn = 0;

  async function show() {
    const mine = ++turn;
    await leave?.();
    leave = null;
    const hash = location.hash || "#/";
    const found = ROUTES.map(([pattern, screen]) => [pattern.exec(hash), screen]).find(([match]) => match);
    const [match, screen] = found ?? [["#/"], homeScreen];
    const root = h("div", { class: "screen" });
    main.replaceChildren(root);
    const left = await screen(root, app, ...match.slice(1));
    if (mine !== turn) return void left?.();
    leave = left;
    document.title = `${root.querySelector("h1")?.textContent ?? "The check"} · Wastegate Register`;
    keeper.draw();
    window.scrollTo(0, 0);
    if (turn > 1 && !root.contains(document.activeElement)) main.focus({ preventScroll: true });
  }

  window.addEventListener("hashchange", show);
  const label = LABEL.exec(location.pathname);
  if (label) history.replaceState(null, "", `/tablet/#/label/${label[1]}`);
  store.keepReserve().catch((error) => isFull(error) && store.reserveMissing());
  store.free().catch(() => undefined);
  await show();
  app.release.start();
  app.sync.start();
}

open().catch((error) => {
  document.querySelector("#content").replaceChildren(
    h("h1", {}, "This tablet cannot open its store"),
    h("p", {}, `The browser said: ${error.message}. Checks that wait here are not lost by this.`),
    h("p", {}, "Close other tabs of this app, leave private browsing, or restart the tablet; then try again."),
    button("Try again", () => location.reload(), { class: "primary" }),
  );
});
