/* The banner that says when the workshop's network is out of reach. */
(function () {
  "use strict";

  function say(lost) {
    const banner = document.querySelector("[data-network-banner]");
    if (banner) banner.hidden = !lost;
  }

  addEventListener("offline", () => say(true));
  addEventListener("online", () => say(false));
  document.addEventListener("network:lost", () => say(true));
  document.addEventListener("htmx:sendError", () => say(true));
  document.addEventListener("htmx:afterOnLoad", () => say(false));
  document.addEventListener("DOMContentLoaded", () => say(!navigator.onLine));
})();
