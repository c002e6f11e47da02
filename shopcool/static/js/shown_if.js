/* <form data-shown-if>: a part with data-if="name" shows only while the field of that name has one of the
   values of data-if-values. Without script every part shows, and the server leaves out what was not asked. */
(function () {
  "use strict";

  function chosen(form, name) {
    return [...form.elements]
      .filter((field) => field.name === name && !field.disabled && (!["checkbox", "radio"].includes(field.type) || field.checked))
      .map((field) => field.value);
  }

  function draw(form) {
    for (const part of form.querySelectorAll("[data-if]")) {
      const wanted = part.dataset.ifValues.split(" ");
      part.hidden = !chosen(form, part.dataset.if).some((value) => wanted.includes(value));
      // What is not asked is not sent, so that it asks for nothing else either.
      for (const field of part.querySelectorAll("input, select, textarea")) field.disabled = part.hidden;
    }
  }

  function drawAll(root) {
    for (const form of root.querySelectorAll("form[data-shown-if]")) draw(form);
  }

  function changed(event) {
    const form = event.target.closest("form[data-shown-if]");
    if (form) draw(form);
  }

  document.addEventListener("input", changed);
  document.addEventListener("draft:restored", changed);
  document.addEventListener("DOMContentLoaded", () => drawAll(document));
  document.addEventListener("htmx:load", (event) => drawAll(event.target.parentNode || document));
})();
