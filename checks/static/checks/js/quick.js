/* Typing in a sheet: Enter goes on, what is typed is kept after every pause, the unit follows the instrument. */

const PAUSE = 700;
const form = document.querySelector("form.quick");
const told = document.querySelector("[data-kept]");

const boxes = () => [...form.querySelectorAll("input:not([type=hidden]), select, textarea, button.primary")];
const box = (name) => form.elements.namedItem(name);

/** Where Enter leads from a box: past the rest of the rise or the fall on an empty line, past the as-left stroke where the rod was not turned. */
function after(here) {
  const [moment, line, number, part] = here.name.split("-");
  const empty = here.value.trim() === "";
  if (empty && number && part === "p" && line === "rise") return box(`${moment}-setting-p`);
  if (empty && ((line === "fall" && part === "p") || line === "hold")) return beyond(moment);
  if (empty && here.name === "turns") return box("note");
  const all = boxes();
  return all[all.indexOf(here) + 1];
}

function beyond(moment) {
  return box(moment === "found" ? "turns" : "note");
}

function goOn(event) {
  const here = event.target;
  if (event.key !== "Enter" || event.shiftKey || event.isComposing || here.tagName === "BUTTON") return;
  event.preventDefault();
  after(here).focus();
}

/* The unit in which the chosen instrument is read, until somebody chooses another. */
function followUnit(event) {
  const unit = event.target.selectedOptions?.[0]?.dataset.unit;
  const list = box("p_unit");
  if (event.target.name === "stimulus" && [...list.options].some((one) => one.value === unit)) list.value = unit;
}

let waiting = 0;
let sending = Promise.resolve();
let changes = 0;

function keepSoon() {
  changes += 1;
  clearTimeout(waiting);
  told.textContent = "not kept yet";
  waiting = setTimeout(() => (sending = sending.then(keep)), PAUSE);
}

/* An answer counts for what was sent: where more was typed meanwhile, that is not kept yet. */
async function keep() {
  const sent = changes;
  const words = await answered();
  if (sent === changes) told.textContent = words;
}

async function answered() {
  const typed = new FormData(form);
  typed.set("action", "keep");
  try {
    const answer = await fetch(location.href, { method: "POST", body: typed, redirect: "manual" });
    if (answer.type === "opaqueredirect") {
      return "not kept: you are signed out. Leave this page open, sign in in another tab, then type on.";
    }
    const said = await answer.json();
    return answer.ok ? `kept as draft ${clock(new Date(said.kept))}` : said.sentence;
  } catch {
    return "not kept: the server cannot be reached. Leave this page open.";
  }
}

function clock(moment) {
  return moment.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", second: "2-digit" });
}

/* What stands in a box is replaced by what is typed next. */
const choose = () => document.activeElement?.select?.();

/* Somebody may have typed before this script ran: selecting then would let the next key replace it. */
const isTyped = (one) => one.defaultValue !== undefined && one.value !== one.defaultValue;
if (boxes().some(isTyped)) keepSoon();
else choose();
form.addEventListener("focusin", choose);
form.addEventListener("keydown", goOn);
form.addEventListener("change", followUnit);
form.addEventListener("input", keepSoon);
document.addEventListener("submit", () => clearTimeout(waiting)); /* signed, or thrown away */
