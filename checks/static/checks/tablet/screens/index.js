/** One screen of a check: the frame around every step, and the step itself. */

import { briefOf } from "../brief.js";
import { button, h, say } from "../dom.js";
import { firstOpenStep, isReached, neighbour, stepOfField, stepsFor } from "../sequence.js";
import { shown } from "../numbers.js";
import * as adjust from "./adjust.js";
import * as cautions from "./cautions.js";
import * as exercise from "./exercise.js";
import * as fall from "./fall.js";
import * as instruments from "./instruments.js";
import * as reason from "./reason.js";
import * as rise from "./rise.js";
import * as sign from "./sign.js";
import * as verdict from "./verdict.js";
import * as zero from "./zero.js";

const SCREENS = {
  reason, instruments, cautions, zero, exercise, "zero-return": zero, rise, fall, verdict, adjust, sign,
};

/**
 * @typedef {Object} Act what a screen may ask of the app
 * @property {(draft: Object) => void} keep       keep the draft as it stands, with every keystroke
 * @property {(slug: string) => void} go          to another step
 * @property {() => void} leave                   to the list of units
 * @property {(draft: Object, signed: {payload: Object, provisional: Object}) => Promise<void>} sign
 * @property {(draft: Object) => Promise<void>} discard
 * @property {(host: HTMLElement, draft: Object) => void} [photos]
 */

/** The slug of the step at which a check goes on. */
export function firstOpen(draft, sheet) {
  const brief = briefOf(draft, sheet);
  return brief ? firstOpenStep(draft, brief.words, brief.spec.exercise_cycles).slug : "reason";
}

/**
 * Draw the step `slug` of `draft` into `root`.
 * @returns {string} the slug drawn: the open one where `slug` is not reached yet
 */
export function render(root, draft, sheet, act, slug) {
  draft.ui ??= {};
  const brief = briefOf(draft, sheet);
  if (!brief) {
    root.replaceChildren(h("p", { text: "This unit is not among those that this tablet knows. Bring the units up to date, then go on." }));
    return slug;
  }
  const { words } = brief;
  const cycles = brief.spec.exercise_cycles;
  const wanted = words.steps.find((one) => one.slug === slug);
  const step = wanted && isReached(wanted, draft, words, cycles) ? wanted : firstOpenStep(draft, words, cycles);
  const context = {
    draft, brief, act, step, moment: step.moment, words, cycles,
    /** Keep and draw this step again; `focus` names the box that gets the cursor. */
    again: (focus = "") => { act.keep(draft); drawn(focus); },
    keep: () => act.keep(draft),
    next: () => { mended(draft, step.slug); act.keep(draft); act.go(neighbour(step, draft, words, cycles, 1).slug); },
    go: (to) => { act.keep(draft); act.go(to); },
  };
  const drawn = (focus) => draw(root, context, focus);
  drawn(null);
  return step.slug;
}

function draw(root, context, focus) {
  const { draft, brief, step, words, act, cycles } = context;
  const screen = SCREENS[step.kind];
  const part = screen.show(context);
  const steps = stepsFor(draft, words, cycles);
  const caution = words.caution[brief.stimulus][step.kind];
  const maximum = shown(brief.spec.stimulus_max, brief.stimulusUnit, words);
  const back = neighbour(step, draft, words, cycles, -1);
  const heading = h("h1", { tabindex: -1, text: part.heading ?? step.title });
  root.replaceChildren(
    h("div", { class: `hands at-${step.kind}`, "data-step": step.slug },
      head(context, steps),
      h("div", { class: "hands-body" },
        h("div", { class: "main-act" },
          h("div", { class: "hands-top" },
            stepList(context, steps),
            heading),
          brief.unit.safety_flag && h("div", { class: "notice wrong" }, h("p", {}, h("strong", { text: "Inspect this unit before any further check. " }), brief.unit.safety_flag)),
          caution && h("p", { class: "caution-line" }, h("strong", { text: "Caution. " }), say(caution, { maximum })),
          faultsHere(context),
          part.nodes),
        part.more ?? []),
      h("footer", { class: "hands-foot" },
        back ? button("Back", () => context.go(back.slug)) : button("Leave for now", () => act.leave()),
        part.foot)));
  const first = part.entry && (focus !== null || !part.readFirst) ? part.entry : focus === null ? heading : null;
  // A new screen is put into the page after it was drawn, and takes the cursor then.
  if (root.isConnected) first?.focus({ preventScroll: true });
  else requestAnimationFrame(() => root.isConnected && first?.focus({ preventScroll: true }));
  part.drawn?.();
}

function head({ draft, brief, words, cycles, step }, steps) {
  const { unit } = brief;
  const number = unit.number ?? "";
  const seat = unit.position && unit.position !== "single" ? ` · ${unit.position}` : "";
  const reached = steps.indexOf(firstOpenStep(draft, words, cycles));
  return h("header", { class: "hands-head" },
    h("p", { class: "unit" }, number && h("strong", { text: number }), number ? `${seat} · ` : "", unit.model, " · ", h("span", { class: "nowrap", text: unit.serial })),
    h("p", { class: "kept" }, "Kept on this tablet, ", h("span", { class: "nowrap", text: "not signed yet" })),
    h("div", { class: "stages", "aria-hidden": "true" }, steps.map((one, i) => h("span", { class: stateOf(one, i, step, reached) }))));
}

/** Every step with the way to it; a step not reached yet has none. */
function stepList({ draft, words, cycles, step, go }, steps) {
  const reached = steps.indexOf(firstOpenStep(draft, words, cycles));
  const said = { done: ", done", here: ", here", open: "", ahead: ", not yet" };
  return h("details", { class: "steps" },
    h("summary", { text: `Step ${steps.indexOf(step) + 1} of ${steps.length}` }),
    h("nav", { "aria-label": "Steps of the check" },
      h("ol", {}, steps.map((one, i) => {
        const state = stateOf(one, i, step, reached);
        const face = [one.title, h("span", { class: "soft", text: said[state] })];
        return h("li", { class: state }, state === "ahead" ? h("span", {}, face) : button(face, () => go(one.slug), { "aria-current": state === "here" ? "step" : null }));
      }))));
}

function stateOf(one, i, step, reached) {
  if (one.slug === step.slug) return "here";
  return i < reached ? "done" : i === reached ? "open" : "ahead";
}

/** A step passed anew has answered what was refused in it. */
function mended(draft, slug) {
  const errors = draft.refusal?.errors;
  if (errors) draft.refusal = { ...draft.refusal, errors: errors.filter((fault) => stepOfField(fault.field ?? "", draft) !== slug) };
}

/** What the server refused, where it is mended; the last step shows all of it with the way there. */
function faultsHere({ draft, step, words, go }) {
  const faults = (draft.refusal?.errors ?? []).map((fault) => ({ ...fault, slug: stepOfField(fault.field ?? "", draft) }));
  const told = faults.filter((fault) => step.kind === "sign" || fault.slug === step.slug);
  const general = step.kind === "sign" && !faults.length && draft.refusal?.title;
  if (!told.length && !general) return null;
  const many = told.length === 1 ? "One thing to mend." : `${told.length} things to mend.`;
  return h("div", { class: "notice wrong", role: "alert" },
    h("p", {}, h("strong", { text: general || many }), " Everything you typed is still here."),
    told.length > 0 && h("ul", {}, told.map((fault) => {
      const target = words.steps.find((one) => one.slug === fault.slug);
      return h("li", {}, fault.sentence, " ", target && fault.slug !== step.slug && button(`Go to ‘${target.title}’`, () => go(fault.slug)));
    })));
}
