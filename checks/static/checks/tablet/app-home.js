/** Finding the unit: checks under way, what is due, a search over all that this tablet holds. */

import { count, dayText, put, stateWord, timeText, unitName } from "./app-words.js";
import { button, h } from "./dom.js";

const DUE_SHOWN = 12;
const FOUND_SHOWN = 40;
const FETCHING = "Fetching the units of your depots …";

/** What is under way, and what to see next; the search looks through everything. */
export async function homeScreen(root, app) {
  const [sheet, person, drafts] = [await app.store.sheet(), await app.store.person(), await app.store.drafts()];
  const mine = drafts.filter((draft) => draft.kept.person === person?.pk);
  root.append(h("h1", {}, "Which unit do you check?"), freshness(sheet, app));
  const found = h("div", { id: "found" });
  const begun = mine.length > 0 && [h("h2", {}, "Begun and not signed"), h("ul", { class: "units", id: "begun" }, mine.map(draftLine))];
  const due = () => {
    const next = sheet.units.filter((unit) => unit.due_on).slice(0, DUE_SHOWN);
    put(
      found,
      begun,
      h("h2", {}, "To be seen next"),
      list(next, "Nothing is due at your depots. Find a unit by its number."),
      h("p", {}, h("a", { class: "button", href: "#/find" }, `All ${count(sheet.units.length, "unit", "units")}`)),
    );
  };
  if (sheet) {
    root.append(searchBox(app, (text) => (text.trim() ? look(found, sheet, text) : due())), found);
    due();
  } else {
    const refusal = await app.store.fact("sheet refusal");
    put(found, refusal && h("div", { class: "notice wrong" }, h("p", {}, refusal)), begun);
    root.append(found);
  }
  if (person) root.append(whoWorks(person));
  return redrawOn(app, ["sheet", "sheet refusal", "person"]);
}

/** Whose checks these are, and the way out: an installed app has no other one. */
function whoWorks({ name }) {
  return h("p", { class: "who soft" }, `Checks made here are signed by ${name}. `,
    h("a", { href: "/" }, "To the register"), ", to sign out or for all else; it needs a network.");
}

/** Every unit on the sheet. */
export async function findScreen(root, app) {
  const sheet = await app.store.sheet();
  root.append(h("h1", {}, "Find a unit"), freshness(sheet, app));
  if (!sheet) return redrawOn(app, ["sheet", "person"]);
  const found = h("div", { id: "found" });
  root.append(searchBox(app, (text) => look(found, sheet, text)), found);
  look(found, sheet, "");
  return () => undefined;
}

/** Units whose number or serial contains `text`, exact ones first; all where there is none. */
export function search(units, text) {
  const wanted = text.trim().toLowerCase();
  if (!wanted) return units;
  const names = (unit) => [unit.number.toLowerCase(), unit.serial.toLowerCase()];
  const found = units.filter((unit) => names(unit).some((name) => name.includes(wanted)));
  return found.sort((a, b) => names(b).includes(wanted) - names(a).includes(wanted));
}

function look(found, sheet, text) {
  const units = search(sheet.units, text);
  const first = units.length > FOUND_SHOWN ? `, the first ${FOUND_SHOWN} shown` : "";
  const none = `No unit of your depots has ‘${text}’ in its unit number or serial number. Look at the plate and try a part of it.`;
  put(
    found,
    h("p", { class: "soft", role: "status" }, count(units.length, "unit", "units"), first),
    list(units.slice(0, FOUND_SHOWN), none),
  );
}

function searchBox(app, typed) {
  const box = h("input", { id: "q", type: "search", autocomplete: "off", oninput: () => typed(box.value) });
  return h(
    "form",
    { role: "search", class: "search", onsubmit: (event) => event.preventDefault() },
    h("label", { for: "q" }, "Unit number or serial number"),
    h("div", { class: "row", id: "search" }, box, button("Scan a label", () => scan(app), { id: "scan" })),
  );
}

/** Through the camera to the unit whose label it sees. */
async function scan(app) {
  const { scanLabel } = await import("./scan.js");
  const code = await scanLabel();
  if (code) app.go(`#/label/${code}`);
  else document.querySelector("#q")?.focus();
}

function list(units, none) {
  return h("ul", { class: "units" }, units.length ? units.map(unitLine) : h("li", { class: "empty" }, none));
}

function unitLine(unit) {
  const { serial, model, due_on: due, state, safety_flag: flag, turbocharger } = unit;
  return h("li", {}, h("a", { class: "unit-link", href: `#/unit/${turbocharger}` },
    h("span", { class: "big" }, unitName(unit)),
    h("span", { class: "soft what" }, `${model} · ${serial}`),
    h("span", { class: "how" }, stateWord(state)),
    due && h("span", { class: "soft" }, `see again ${dayText(due)}`),
    flag && h("strong", {}, "flagged: inspect it first")));
}

function draftLine({ key, kept, refusal }) {
  return h("li", {}, h("a", { class: "unit-link", href: `#/check/${key}` },
    h("span", { class: "big" }, unitName(kept.unit)),
    h("span", { class: "soft what" }, `${kept.unit.model} · ${kept.unit.serial}`),
    h("span", { class: "soft" }, `begun ${timeText(kept.begun_at)}, ${refusal ? "sent back: needs you" : "go on"}`)));
}

/** How old the units are, and how to fetch them anew. */
export function freshness(sheet, app) {
  const fetch = button("Fetch the units now", () => app.sync.flush({ now: true, sheet: true }), { class: "plain" });
  if (!sheet) return noUnits(app, fetch);
  const all = sheet.units.length + sheet.units_left_out;
  const more = sheet.units_left_out ? `, the ${sheet.units.length} soonest due of ${all}` : "";
  return h("p", { class: "fresh soft" }, `Units as of ${timeText(sheet.made_at)}${more}. `, fetch);
}

/** What is being done about it, in words that follow the network; the button stands only where nobody is at it. */
function noUnits(app, fetch) {
  const box = h("div", { class: "fresh", role: "status" });
  const draw = () => {
    const words = noUnitsWords(app.sync.status);
    put(box, h("p", {}, words), words !== FETCHING && fetch);
  };
  const end = app.sync.subscribe(() => (box.isConnected ? draw() : end()));
  draw();
  return box;
}

function noUnitsWords({ network, signedOut, busy }) {
  if (signedOut) return "The units of your depots are fetched once you are signed in, and kept here from then on.";
  if (network === "offline") return "This tablet has no units yet, and there is no network. It fetches them as soon as there is one.";
  return busy || network === "unknown" ? FETCHING : "This tablet has no units yet.";
}

/** Draw the screen again when something that it shows has changed, unless somebody is typing. */
export function redrawOn(app, topics) {
  return app.store.subscribe((topic) => {
    if (topics.includes(topic) && !document.activeElement?.matches("#q")) app.go(location.hash || "#/");
  });
}
