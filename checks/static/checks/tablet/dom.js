/** Elements without templates: everything is set as text or attribute, never as markup. */

const SVG = "http://www.w3.org/2000/svg";

/**
 * @param {string} tag
 * @param {Object<string, any>} [props] attributes; `on…` listeners, `class`, `text`; false and null are left out
 * @param {...any} children nodes, texts, lists of them; false and null are left out
 * @returns {HTMLElement}
 */
export function h(tag, props = {}, ...children) {
  return fill(document.createElement(tag), props, children);
}

/** The same for a part of a drawing. @returns {SVGElement} */
export function s(tag, props = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), props, children);
}

function fill(element, props, children) {
  for (const [name, value] of Object.entries(props)) {
    if (value === false || value === null || value === undefined) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "text") element.textContent = value;
    else if (name === "value") element.value = value;
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  element.append(...children.flat(Infinity).filter((child) => child !== false && child !== null && child !== undefined));
  return element;
}

/** A sentence of the sheet with its braces filled. */
export function say(sentence, values = {}) {
  return sentence.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
}

/** A button with words; `how` holds more attributes. */
export function button(words, act, how = {}) {
  return h("button", { type: "button", onclick: act, ...how }, words);
}
