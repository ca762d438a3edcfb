/* Typing in a study: a number that was typed but not kept yet comes back when the page is opened again. */

const form = document.querySelector("form.study-read");
const text = form.querySelector("input[name=travel_text]");
const store = `study-${form.dataset.study}`;

function remembered() {
  try {
    return JSON.parse(localStorage.getItem(store)) ?? {};
  } catch {
    return {};
  }
}

function remember() {
  try {
    localStorage.setItem(store, JSON.stringify({ place: form.dataset.place, text: text.value }));
  } catch {
    /* A browser that keeps nothing still sends what is typed. */
  }
}

text.addEventListener("input", remember);
if (text.value === text.defaultValue) {
  const { place, text: typed } = remembered();
  if (text.value === "" && place === form.dataset.place && typed) text.value = typed;
  text.focus();
  text.select();
} else {
  remember(); /* Somebody typed before this script ran: selecting now would let the next key replace it. */
}
