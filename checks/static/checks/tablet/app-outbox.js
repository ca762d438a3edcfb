/** What was signed on this tablet and where it is: waiting, sending, received with its verdict, or sent back. */

import { count, put, sentWord, stateWord, timeText, unitName } from "./app-words.js";
import { button, h } from "./dom.js";
import { HERE, NEEDS_YOU, RECEIVED, SENDING } from "./store.js";

const MOMENTS = { as_found: "As found", as_left: "As left" };

/** Every signed check that this tablet holds, those that wait first. */
export async function outboxScreen(root, app) {
  const body = h("div", {});
  root.append(h("h1", {}, "Signed on this tablet"), body);
  const draw = async () => {
    const [items, person] = [await app.store.outbox(), await app.store.person()];
    const waits = items.filter((item) => item.state !== RECEIVED);
    const received = items.filter((item) => item.state === RECEIVED).reverse();
    put(
      body,
      h("p", { class: "lead" }, lead(waits, received)),
      h("p", { class: "acts" },
        button("Send now", () => app.sync.flush({ now: true }), { class: waits.length ? "primary" : "", id: "send" }),
        h("a", { class: "button", href: "#/" }, "To the units")),
      waits.length ? h("ul", { class: "units", id: "waiting" }, waits.map((item) => line(item, person))) : null,
      received.length ? h("section", {}, h("h2", {}, "Received by the server"), h("ul", { class: "units", id: "received" }, received.map((item) => line(item, person)))) : null,
      await keeping(app, received.length),
    );
  };
  await draw();
  const ends = [app.store.subscribe(draw), app.sync.subscribe(draw)];
  return () => ends.forEach((end) => end());
}

function lead(waits, received) {
  if (!waits.length) return received.length ? "Everything signed on this tablet has arrived." : "Nothing was signed on this tablet yet.";
  const needs = waits.filter((item) => item.state === NEEDS_YOU).length;
  const here = waits.length - needs;
  const parts = [here ? `${count(here, "check waits", "checks wait")} to be sent` : "", needs ? `${count(needs, "check", "checks")} came back and ${needs === 1 ? "needs" : "need"} you` : ""];
  return `${parts.filter(Boolean).join("; ")}.`;
}

function line(item, person) {
  const { key, unit, state, signed_at: at, told, answer } = item;
  const foreign = item.person !== person?.pk;
  const last = answer?.verdicts.at(-1);
  return h("li", {}, h("a", { class: "unit-link", href: foreign && state !== RECEIVED ? "#/outbox" : `#/outbox/${key}` },
    h("span", { class: "big" }, unitName(unit)),
    h("span", { class: "soft" }, `${unit.model} · ${unit.serial} · signed ${timeText(at)}${foreign ? ` by ${item.person_name}` : ""}`),
    sentWord(state),
    last && stateWord(last.state),
    told.length > 0 && h("strong", {}, "read what differs")));
}

async function keeping(app, received) {
  const promised = await navigator.storage?.persisted?.().catch(() => false);
  const words = promised
    ? "The browser has promised to keep what waits here."
    : "The browser may clear what waits here if the tablet runs out of room. Install the app and send soon.";
  const free = received > 0 && button("Clear those received", () => app.store.free({ all: true }));
  const worker = "serviceWorker" in navigator && (await navigator.serviceWorker.getRegistration("/tablet/"));
  return h("section", { class: "keeping" },
    h("h2", {}, "On this tablet"),
    h("p", {}, words),
    !worker && h("p", {}, "This browser could not keep the app for use without a network. Open it once over HTTPS with a network."),
    free && h("p", {}, free));
}

/** One signed check: what this tablet said of it, and what the server says. */
export async function itemScreen(root, app, key) {
  const [body, photos] = [h("div", {}), h("div", { class: "photos" })];
  root.append(body, photos);
  const draw = async () => {
    const item = await app.store.item(key);
    import("./photos.js").then(({ showSent }) => showSent(photos, key, app.store));
    put(
      body,
      item ? parts(item, app) : [h("h1", {}, "This check is not on this tablet any more"), h("p", {}, "The server has it; the tablet was cleared.")],
      h("p", { class: "acts" }, h("a", { class: "button primary", href: "#/" }, "Next unit"), h("a", { class: "button", href: "#/outbox" }, "All that was signed here")));
  };
  await draw();
  const ends = [app.store.subscribe((topic) => (topic === "outbox" || topic.startsWith("photos")) && draw()), app.sync.subscribe(draw)];
  return () => ends.forEach((end) => end());
}

function parts(item, app) {
  const { unit, state, refusal } = item;
  const name = h("p", { class: "soft" }, `${unit.model} · ${unit.serial} · signed ${timeText(item.signed_at)} by ${item.person_name}`);
  const at = h("p", { class: "lead" }, sentWord(state), ". ", where(item, app.sync.status));
  const common = [h("h1", {}, unitName(unit)), name, at];
  if (state === RECEIVED) return [...common, ...receipt(item)];
  if (state === NEEDS_YOU) return [...common, sentBack(item, refusal, app)];
  return [...common, provisional(item)];
}

function where({ state, attempts }, { network, signedOut }) {
  if (state === RECEIVED) return "The server has it.";
  if (state === SENDING) return "It is on its way.";
  if (state === NEEDS_YOU) return "The server could not take it as it is. Nothing you typed is lost.";
  if (signedOut) return "It is kept here and goes out once you have signed in.";
  if (network === "offline") return "It is kept here and goes out by itself when there is a network.";
  return attempts ? "The server could not take it just now; it is sent again by itself." : "It is kept here and goes out in a moment.";
}

function provisional({ provisional: said }) {
  const states = Object.entries(MOMENTS).filter(([moment]) => stateIn(said[moment]));
  if (!states.length) return null;
  return h("div", { id: "provisional" },
    states.map(([moment, words]) => h("p", { class: "verdict-line" }, `${words}: `, stateWord(stateIn(said[moment])), " provisional")),
    h("p", { class: "soft" }, "The server judges the whole stroke when the check arrives, and its verdict counts."));
}

function stateIn(said) {
  return typeof said === "string" ? said : said?.state;
}

function receipt({ answer, told }) {
  const { verdicts, address } = answer;
  return [
    told.length > 0 && h("div", { class: "notice caution", id: "told", role: "status" }, told.map((sentence) => h("p", {}, sentence))),
    h("section", { id: "verdict" }, verdicts.map((one) =>
      h("div", { class: "verdict" },
        h("h2", {}, MOMENTS[one.moment]),
        h("p", { class: "big-state" }, stateWord(one.state)),
        h("p", {}, one.sentence),
        one.unsafe && h("div", { class: "notice wrong" }, h("p", {}, h("strong", {}, "Do not put the unit back into service before it was inspected."))),
        one.repeat.map((line) => h("p", {}, line)),
        one.advice && h("p", {}, one.advice)))),
    h("p", {}, h("a", { href: address }, "The whole check, with its budget")),
  ];
}

function sentBack(item, refusal, app) {
  const mend = button("Mend it", async () => {
    await app.store.reopen(item.key);
    app.go(`#/check/${item.key}/sign`);
  }, { class: "primary", id: "mend" });
  const retry = button("Send it again as it is", async () => {
    await app.store.change(item.key, (one) => (one.state === NEEDS_YOU ? Object.assign(one, { state: HERE, next_at: 0 }) : false));
    await app.sync.flush({ now: true });
  });
  const errors = refusal.errors.length ? refusal.errors.map((one) => one.sentence) : [refusal.title];
  return h("div", { class: "notice wrong", id: "refusal" },
    h("ul", {}, errors.map((sentence) => h("li", {}, sentence))),
    h("p", { class: "acts" }, mend, retry));
}
