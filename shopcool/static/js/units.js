/* [data-units-toggle]: shows every quantity in its other units first, and remembers it on this tablet. */
(function () {
  "use strict";
  const root = document.documentElement;

  function apply(choice) {
    if (choice === "other") root.dataset.units = "other";
    else delete root.dataset.units;
    for (const button of document.querySelectorAll("[data-units-toggle]")) {
      button.setAttribute("aria-pressed", String(choice === "other"));
    }
  }

  document.addEventListener("click", (event) => {
    if (!event.target.closest("[data-units-toggle]")) return;
    const choice = root.dataset.units === "other" ? "usual" : "other";
    localStorage.setItem("units", choice);
    apply(choice);
  });
  document.addEventListener("DOMContentLoaded", () => apply(localStorage.getItem("units")));
})();
