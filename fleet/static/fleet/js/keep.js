/* What was typed survives a sign-in: a form that is sent after the session ended comes back filled.
   Kept in this tab alone, from the sending until the answer; handed back only to the person who typed it. */

const KEY = "typed";
const UNKEPT = new Set(["hidden", "password", "file", "submit", "button"]);

function read() {
  try {
    return JSON.parse(sessionStorage.getItem(KEY));
  } catch {
    return null;
  }
}

function write(kept) {
  try {
    if (kept) sessionStorage.setItem(KEY, JSON.stringify(kept));
    else sessionStorage.removeItem(KEY);
  } catch {
    /* A browser without storage: the form works, and forgets. */
  }
}

function boxes(form) {
  return [...form.elements].filter((box) => box.name && !UNKEPT.has(box.type));
}

function remember(event) {
  const form = event.target;
  const { person } = document.body.dataset;
  if (!person || form.method !== "post" || !form.closest("main")) return;
  const typed = boxes(form).map((box) => [box.name, box.value, box.checked ?? null]);
  if (typed.length) write({ person, path: location.pathname, form: placeOf(form), typed });
}

function placeOf(form) {
  return [...document.querySelectorAll("main form")].indexOf(form);
}

/* Somebody may type before the page has come whole: that is newer than what was kept. */
function isNew(box, choice) {
  if (choice) return box.checked !== box.defaultChecked;
  return box.defaultValue !== undefined && box.value !== box.defaultValue;
}

function fill(form, typed) {
  const left = [...typed];
  for (const box of boxes(form)) {
    const choice = box.type === "radio" || box.type === "checkbox";
    const found = left.findIndex(([name, value]) => name === box.name && (!choice || value === box.value));
    if (found < 0) continue;
    const [[, value, checked]] = left.splice(found, 1);
    if (isNew(box, choice)) continue;
    if (choice) box.checked = checked;
    else box.value = value;
  }
}

function handBack() {
  const kept = read();
  if (!kept) return;
  if (document.querySelector("[data-interrupts]")) {
    write({ ...kept, waits: true });
    return;
  }
  write(null);
  const form = document.querySelectorAll("main form")[kept.form];
  const mine = kept.waits && kept.path === location.pathname && kept.person === document.body.dataset.person;
  if (!mine || !form) return;
  fill(form, kept.typed);
  const said = document.createElement("p");
  said.className = "notice";
  said.setAttribute("role", "status");
  said.textContent = "You had been signed out. What you typed is here again, and was not sent: look it over and send it.";
  form.prepend(said);
}

function sendBack(event) {
  const kept = read();
  if (event.detail.xhr.status !== 403 || !kept) return; // the page is older than the sign-in
  write({ ...kept, waits: true });
  location.reload();
}

document.addEventListener("submit", remember, { capture: true });
document.addEventListener("htmx:afterSwap", () => write(null));
document.addEventListener("htmx:responseError", sendBack);
window.addEventListener("pageshow", handBack);
