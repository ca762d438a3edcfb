/* The time zone of the device, where nobody chose another; a form that comes back keeps what was sent. */

const field = document.querySelector("[data-own-zone]");
const { timeZone } = Intl.DateTimeFormat().resolvedOptions();
if (field && timeZone && field.value === "UTC" && !document.querySelector("[role=alert]")) field.value = timeZone;
