/* data-opens="id" shows the dialog with that id, data-closes="id" hides it again. */
(function () {
  "use strict";

  document.addEventListener("click", (event) => {
    const opener = event.target.closest("[data-opens]");
    const closer = event.target.closest("[data-closes]");
    const dialog = document.getElementById(opener ? opener.dataset.opens : closer ? closer.dataset.closes : "");
    if (!dialog) return;
    event.preventDefault();
    if (opener) dialog.showModal();
    else dialog.close();
  });
})();
