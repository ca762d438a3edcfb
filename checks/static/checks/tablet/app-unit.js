/** One unit before its check: what is known of it, and the button that begins. */

import { begin } from "./app-begin.js";
import { freshness, redrawOn } from "./app-home.js";
import { dayText, stateWord, unitName } from "./app-words.js";
import { button, h } from "./dom.js";

export async function unitScreen(root, app, pk) {
  const sheet = await app.store.sheet();
  const unit = sheet?.units.find((one) => one.turbocharger === Number(pk));
  if (!unit) return unknown(root, app, sheet, "This unit is not on this tablet", "It is of another depot, or the tablet has not fetched it yet.");
  const spec = sheet.specifications[unit.specification];
  const drafts = (await app.store.drafts()).filter((draft) => draft.turbocharger === unit.turbocharger);
  const mine = drafts.find((draft) => draft.kept.person === sheet.person.pk);
  const flag = h("p", {}, h("strong", {}, "Inspect this unit before any further check. "), unit.safety_flag);
  root.append(
    h("h1", {}, unitName(unit)),
    h("p", { class: "lead" }, stateWord(unit.state), unit.due_on ? ` · see again ${dayText(unit.due_on)}` : ""),
    unit.safety_flag ? h("div", { class: "notice wrong" }, flag) : "",
    facts(unit, spec, sheet),
    spec ? acts(app, unit, sheet, mine) : h("p", {}, "No specification of this model is in force, so nothing could be judged. Ask a manager to enter one."),
    freshness(sheet, app),
  );
  return () => undefined;
}

/** The unit whose label was seen, here or by the tablet's own camera. */
export async function labelScreen(root, app, code) {
  const sheet = await app.store.sheet();
  const unit = sheet?.units.find((one) => one.label.toUpperCase() === code.toUpperCase());
  if (unit) return unitScreen(root, app, unit.turbocharger);
  const why = sheet ? "No unit on this tablet has this label. Find it by its number, or fetch the units again." : "";
  return unknown(root, app, sheet, "This label is not known here", why);
}

function unknown(root, app, sheet, heading, why) {
  root.append(
    h("h1", {}, heading),
    h("p", {}, why),
    freshness(sheet, app),
    h("p", { class: "acts" }, h("a", { class: "button", href: "#/find" }, "Find by number")),
  );
  return redrawOn(app, ["sheet"]);
}

function acts(app, unit, sheet, mine) {
  return h("p", { class: "acts" },
    mine
      ? h("a", { class: "button primary", href: `#/check/${mine.key}` }, "Go on with the check begun")
      : button("Begin the check", once(() => begin(app, unit, sheet)), { class: "primary", id: "begin" }),
    h("a", { class: "button", href: "#/" }, "Back"));
}

function facts(unit, spec, sheet) {
  const depot = sheet.depots.find((one) => one.pk === unit.depot);
  const rows = [
    ["Turbocharger", `${unit.model}, ${unit.serial}`],
    ["Depot", depot?.name],
    ["Specification", spec && `revision ${spec.revision}, ${spec.source_document}`],
    ["Last checked", unit.last && dayText(unit.last.made_at)],
    ["Why", unit.why],
    ...unit.complaints.map((one) => ["Open complaint", `${one.kind}, ${dayText(one.raised_on)}`]),
  ];
  return h("dl", { class: "facts" },
    rows.filter(([, value]) => value).map(([name, value]) => [h("dt", {}, name), h("dd", {}, value)]));
}

/** The first of several taps alone counts. */
function once(act) {
  let begun = false;
  return () => {
    if (begun) return;
    begun = true;
    act().catch((error) => {
      begun = false;
      throw error;
    });
  };
}
