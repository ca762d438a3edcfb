/* Draws the list of operations. A trial from the page comes with the session, so it carries the token against forged
   forms; each write gets a key of its own where none was filled in. */
const place = document.querySelector("#interface");

function addHeaders(request) {
  if (request.method && request.method !== "GET") {
    request.headers["X-CSRFToken"] = place.dataset.csrf;
    request.headers["Idempotency-Key"] ||= crypto.randomUUID();
  }
  return request;
}

/* What is drawn calls itself the page's main part, which it is only in a page of its own. */
function nameTheRest() {
  for (const part of place.querySelectorAll("main")) {
    part.setAttribute("role", "group");
    part.setAttribute("aria-label", "Operations");
  }
}

/* The list has a dark dress of its own, which it puts on at this word on the page. */
const dark = matchMedia("(prefers-color-scheme: dark)");

function dress() {
  const theme = document.documentElement.dataset.theme;
  document.documentElement.classList.toggle("dark-mode", theme ? theme === "dark" : dark.matches);
}

dress();
dark.addEventListener("change", dress);

window.SwaggerUIBundle({
  url: place.dataset.schema,
  domNode: place,
  presets: [window.SwaggerUIBundle.presets.apis],
  layout: "BaseLayout",
  docExpansion: "list",
  defaultModelsExpandDepth: 0,
  validatorUrl: null,
  requestInterceptor: addHeaders,
  onComplete: nameTheRest,
});
