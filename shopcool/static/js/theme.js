/* Day, night, or as the tablet says. Runs before the first paint, so that a page never flashes. */
(function () {
  "use strict";
  const root = document.documentElement;

  function apply(choice) {
    if (choice === "light" || choice === "dark") root.dataset.theme = choice;
    else delete root.dataset.theme;
    for (const button of document.querySelectorAll("[data-theme-choice]")) {
      button.setAttribute("aria-pressed", String(button.dataset.themeChoice === (choice || "auto")));
    }
  }

  const kept = () => localStorage.getItem("theme");
  apply(kept());
  document.addEventListener("DOMContentLoaded", () => apply(kept()));
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-theme-choice]");
    if (!button) return;
    localStorage.setItem("theme", button.dataset.themeChoice);
    apply(button.dataset.themeChoice);
  });
})();
