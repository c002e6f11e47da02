/* <form data-once>: a second press while the first is under way does nothing. */
(function () {
  "use strict";

  function release(form) {
    delete form.dataset.sending;
    for (const button of form.querySelectorAll("[aria-busy]")) button.removeAttribute("aria-busy");
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("[data-once]") || event.defaultPrevented) return;
    if (form.dataset.sending) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    form.dataset.sending = "yes";
    // The name and value of the button still have to travel, so it is marked busy and not disabled.
    if (event.submitter) event.submitter.setAttribute("aria-busy", "true");
  }, true);

  // A page that comes back from the history, or a request that has ended, may send again.
  addEventListener("pageshow", () => document.querySelectorAll("[data-once]").forEach(release));
  document.addEventListener("htmx:afterRequest", (event) => {
    const form = event.target.closest("[data-once]");
    if (form) release(form);
  });
})();
