/* [data-print]: prints the page, with everything folded away opened first. */
(function () {
  "use strict";

  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-print]")) print();
  });
  addEventListener("beforeprint", () => {
    for (const details of document.querySelectorAll("details:not([open])")) details.open = true;
  });
})();
