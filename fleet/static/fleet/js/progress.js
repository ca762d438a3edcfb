/* A page that asks for itself each second leaves what is being pressed where it is: a button exchanged between the
   pressing and the letting go would hear of neither. A second later the page asks again. */

document.addEventListener("htmx:beforeSwap", (event) => {
  const { target, requestConfig } = event.detail;
  if (!requestConfig.triggeringEvent && target.querySelector(":active")) event.detail.shouldSwap = false;
});
