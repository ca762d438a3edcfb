// Draws charts from the figures in the page. The plotting script is large, so it is fetched when a chart comes near,
// else when the page has come to rest: paper shows all charts.
const holders = document.querySelectorAll("[data-figure]");
const drawn = new Set();
let loading;

function loadPlotting(address) {
  loading ??= new Promise((resolve, reject) => {
    const script = document.createElement("script");
    script.src = address;
    script.onload = resolve;
    script.onerror = reject;
    document.head.append(script);
  });
  return loading;
}

// Figures name our custom properties; their values depend on the theme.
function inTheme(value, styles) {
  if (typeof value === "string") {
    const name = /^var\((--[a-z-]+)\)$/.exec(value);
    return name ? styles.getPropertyValue(name[1]).trim() : value;
  }
  if (Array.isArray(value)) {
    return value.map((item) => inTheme(item, styles));
  }
  if (value && typeof value === "object") {
    return Object.fromEntries(Object.entries(value).map(([key, item]) => [key, inTheme(item, styles)]));
  }
  return value;
}

// Room for words along an axis, in pixels a letter; and the width of A4 between its margins.
const LETTER = 7;
const PAPER = 688;

// Words that are longer than their axis go on in a second line.
function folded(text, room) {
  const most = Math.max(12, Math.floor(room / LETTER));
  const lines = [""];
  for (const word of text.split(" ")) {
    const longer = `${lines.at(-1)} ${word}`.trim();
    if (longer.length <= most || !lines.at(-1)) {
      lines[lines.length - 1] = longer;
    } else {
      lines.push(word);
    }
  }
  return lines.join("<br>");
}

function fold(layout, width) {
  for (const [name, axis] of Object.entries(layout).filter(([key]) => /^[xy]axis\d*$/.test(key))) {
    if (axis.title?.text) {
      const room = name.startsWith("x") ? width - 80 : (layout.height ?? 300) - 60;
      axis.title.text = folded(axis.title.text, room);
    }
  }
}

function plot(holder, size = {}) {
  const source = JSON.parse(document.getElementById(holder.dataset.figure).textContent);
  const figure = inTheme(source, getComputedStyle(document.documentElement));
  Object.assign(figure.layout, size);
  fold(figure.layout, size.width ?? holder.clientWidth);
  return window.Plotly.react(holder, figure.data, figure.layout, { displayModeBar: false });
}

// A chart is drawn one time after the other: two drawings at once mix up their places.
const turns = new Map();

function draw(holder) {
  const next = () => drawNow(holder);
  const turn = (turns.get(holder) ?? Promise.resolve()).then(next, next);
  turns.set(holder, turn);
  return turn;
}

async function drawNow(holder) {
  await loadPlotting(holder.dataset.plotting);
  await plot(holder);
  holder.dataset.drawn = "yes";
  if (!drawn.has(holder)) {
    holder.on("plotly_click", follow);
    drawn.add(holder);
    sized.observe(holder);
  }
}

// A chart follows the size of its place, whatever changed that.
const sized = new ResizeObserver((entries) => {
  for (const { target } of entries) {
    const { width, height } = target._fullLayout;
    if (target.clientWidth && (target.clientWidth !== width || target.clientHeight !== height)) {
      window.Plotly.Plots.resize(target);
    }
  }
});

// A point may carry the address of the page of what it stands for.
function follow(event) {
  const address = event.points[0]?.customdata;
  if (typeof address === "string" && address.startsWith("/")) {
    window.location.assign(address);
  }
}

const near = new IntersectionObserver(
  (entries) => {
    for (const entry of entries.filter((item) => item.isIntersecting)) {
      near.unobserve(entry.target);
      draw(entry.target);
    }
  },
  { rootMargin: "300px" },
);
holders.forEach((holder) => near.observe(holder));

const rested = window.requestIdleCallback ?? ((act) => setTimeout(act, 1000));
window.addEventListener("load", () =>
  rested(() =>
    holders.forEach((holder) => {
      near.unobserve(holder);
      if (!turns.has(holder)) {
        draw(holder);
      }
    }),
  ),
);

function redraw() {
  drawn.forEach(draw);
}

matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);

// Paper is light and has its own width; what is drawn for it must be there before the dialog opens.
window.addEventListener("beforeprint", () => {
  const root = document.documentElement;
  const chosen = root.dataset.theme;
  root.dataset.theme = "light";
  drawn.forEach((holder) => plot(holder, { width: PAPER, height: holder.clientHeight }));
  if (chosen) {
    root.dataset.theme = chosen;
  } else {
    delete root.dataset.theme;
  }
});
window.addEventListener("afterprint", () =>
  drawn.forEach(async (holder) => {
    await draw(holder);
    window.Plotly.Plots.resize(holder);
  }),
);
