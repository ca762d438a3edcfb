// Draws charts from the figures in the page. The plotting script is large, so it is fetched when a chart comes near.
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

async function draw(holder) {
  await loadPlotting(holder.dataset.plotting);
  const source = JSON.parse(document.getElementById(holder.dataset.figure).textContent);
  const figure = inTheme(source, getComputedStyle(document.documentElement));
  await window.Plotly.react(holder, figure.data, figure.layout, { displayModeBar: false, responsive: true });
  holder.dataset.drawn = "yes";
  if (!drawn.has(holder)) {
    holder.on("plotly_click", follow);
  }
  drawn.add(holder);
}

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

function redraw() {
  drawn.forEach(draw);
}

matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
matchMedia("print").addEventListener("change", redraw);
