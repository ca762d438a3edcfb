/** Light, dark, and one for bright sun; kept on this device. */

import { button } from "./dom.js";

const KEY = "register-tablet-theme";
const NAMES = { "": "as the device", light: "light", dark: "dark", sun: "bright sun" };

function stored() {
  try {
    return localStorage.getItem(KEY) ?? "";
  } catch {
    return ""; // storage refused: the theme then lasts as long as the page
  }
}

export function applyTheme(theme = stored()) {
  if (theme) document.documentElement.dataset.theme = theme;
  else delete document.documentElement.dataset.theme;
}

/** A button that goes to the next theme. */
export function themeButton() {
  let theme = document.documentElement.dataset.theme ?? "";
  const face = () => `Screen: ${NAMES[theme] ?? theme}`;
  const one = button(face(), () => {
    const all = Object.keys(NAMES);
    theme = all[(all.indexOf(theme) + 1) % all.length];
    try {
      localStorage.setItem(KEY, theme);
    } catch {
      // see above
    }
    applyTheme(theme);
    one.textContent = face();
  }, { class: "theme" });
  return one;
}
