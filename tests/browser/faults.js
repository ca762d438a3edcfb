// What is wrong with the page as it stands: a list of lines. Run by looking.py in the page.
({ least, sideways }) => {
  const root = document.documentElement;
  const name = (one) => {
    const words = (one.getAttribute("aria-label") || one.textContent || one.name || "").trim().replace(/\s+/g, " ");
    const classes = typeof one.className === "string" && one.className ? "." + one.className.trim().split(/\s+/).join(".") : "";
    return `${one.tagName.toLowerCase()}${classes} '${words.slice(0, 40)}'`;
  };
  const seen = (one) => one.checkVisibility({ visibilityProperty: true, opacityProperty: true });
  const unseen = (one) => one.closest(".visually-hidden, .skip, #interface");
  // Things of one sort are told once, with how many there are.
  const sorts = new Map();
  const fault = (kind, one, said) => {
    const sort = `${kind} ${one.tagName}.${one.className} ${one.parentElement?.tagName}.${one.parentElement?.className}`;
    const known = sorts.get(sort) ?? { said: `${kind}: ${said}`, count: 0 };
    sorts.set(sort, { ...known, count: known.count + 1 });
  };
  if (root.scrollWidth > root.clientWidth) {
    fault("wide", root, `${root.scrollWidth} in ${root.clientWidth}`);
  }
  for (const one of document.body.querySelectorAll("*")) {
    if (one.closest("svg, .chart") || unseen(one) || !seen(one) || one.scrollWidth <= one.clientWidth + 1) {
      continue;
    }
    const { overflowX, display } = getComputedStyle(one);
    if (display !== "inline" && (overflowX === "hidden" || overflowX === "clip") && !one.matches("input, select")) {
      fault("cut", one, `${name(one)} ${one.scrollWidth} in ${one.clientWidth}`);
    }
    if (sideways && (overflowX === "auto" || overflowX === "scroll") && !one.matches("input, textarea")) {
      fault("sideways", one, `${name(one)} ${one.scrollWidth} in ${one.clientWidth}`);
    }
  }
  // Indices of a formula are as large as whoever made the letters set them.
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const one = texts.currentNode.parentElement;
    if (!texts.currentNode.data.trim() || one.closest("math, script, style, noscript, title, desc, option") || unseen(one) || !seen(one)) {
      continue;
    }
    // A drawing that shrinks takes its letters along.
    const drawn = one.getScreenCTM ? Math.hypot(one.getScreenCTM().a, one.getScreenCTM().b) : 1;
    const size = parseFloat(getComputedStyle(one).fontSize) * drawn;
    if (size < 11.95) {
      fault("small text", one, `${size.toFixed(1)} px ${name(one)}`);
    }
  }
  for (const one of document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button]")) {
    if (one.closest("svg, .modebar") || unseen(one) || !seen(one) || one.matches(":disabled")) {
      continue;
    }
    // A word within a sentence is as tall as its line; a box is as large as the label that belongs to it.
    const inLine = getComputedStyle(one).display === "inline" && one.parentElement.textContent.trim() !== one.textContent.trim();
    if (inLine) {
      continue;
    }
    const boxes = [one, ...(one.matches("[type=checkbox], [type=radio]") ? one.labels ?? [] : [])].map((it) => it.getBoundingClientRect());
    const tall = Math.max(...boxes.map((box) => box.height));
    const broad = Math.max(...boxes.map((box) => box.width));
    if (tall > 0 && broad > 0 && (tall < least - 0.5 || broad < 23.5)) {
      fault("small target", one, `${Math.round(broad)} x ${Math.round(tall)} ${name(one)}`);
    }
  }
  return [...sorts.values()].map(({ said, count }) => (count > 1 ? `${said} (${count} of them)` : said));
}
