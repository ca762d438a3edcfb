/** Words and marks that several screens of the app share. */

import { h, s } from "./dom.js";
import { HERE, NEEDS_YOU, RECEIVED, SENDING } from "./store.js";

const SHAPES = {
  inside: ["M-6 0a6 6 0 1 0 12 0a6 6 0 1 0 -12 0"],
  outside_low: ["M-7.5 0 5 -7v14z"],
  outside_high: ["M7.5 0 -5 -7v14z"],
  undecided: ["M0 -6.5 6.5 0 0 6.5 -6.5 0z", "hollow"],
  void: ["M-6 0a6 6 0 1 0 12 0a6 6 0 1 0 -12 0M-4.2 -4.2 4.2 4.2M4.2 -4.2 -4.2 4.2", "line"],
  never_checked: ["M-6 0a6 6 0 1 0 12 0a6 6 0 1 0 -12 0", "hollow dotted"],
};
const STATE_WORDS = {
  inside: "inside",
  outside_low: "outside low",
  outside_high: "outside high",
  undecided: "undecided",
  void: "void",
  never_checked: "never checked",
};
const SENT = {
  [HERE]: "M-5 -7h10v14h-10zM-1.5 5h3",
  [SENDING]: "M0 7V-6M-5 -1 0 -6 5 -1",
  [RECEIVED]: "M-6 0 -2 5 6 -5",
  [NEEDS_YOU]: "M0 -7V2M0 5V7",
};

/** The children of `root` from now on; what is null, false or undefined is left out. */
export function put(root, ...children) {
  root.replaceChildren(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
}

/** A state of a unit or a reading: its word and its mark of own shape. */
export function stateWord(state) {
  const [path, kind] = SHAPES[state] ?? SHAPES.never_checked;
  return h(
    "span",
    { class: `state ${state}` },
    s("svg", { viewBox: "-8 -8 16 16", "aria-hidden": "true" }, s("path", { d: path, class: kind })),
    STATE_WORDS[state] ?? state,
  );
}

/** Where a signed check is: its word and its mark. */
export function sentWord(state) {
  return h(
    "span",
    { class: `sent ${state.replaceAll(" ", "-")}` },
    s("svg", { viewBox: "-8 -8 16 16", "aria-hidden": "true" }, s("path", { d: SENT[state] })),
    state,
  );
}

/** Such as "114 front", or the serial number of a unit on the shelf. */
export function unitName({ number, position, serial }) {
  if (!number) return serial;
  return position && position !== "single" ? `${number} ${position}` : number;
}

/** Such as "07:40", with the day where it is not today. */
export function timeText(moment) {
  const at = new Date(moment);
  const clock = at.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  return at.toDateString() === new Date().toDateString() ? clock : `${dayText(at)}, ${clock}`;
}

/** Such as "3 Feb 2027". */
export function dayText(day) {
  return new Date(day).toLocaleDateString("en-GB", { day: "numeric", month: "short", year: "numeric" });
}

export function count(number, one, many) {
  return `${number} ${number === 1 ? one : many}`;
}
