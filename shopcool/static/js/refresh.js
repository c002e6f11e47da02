/* <section id="board" data-refresh="30">: the section renews itself every so many seconds from the same
   address, except while someone types in it, has changed a field, or has opened something. */
(function () {
  "use strict";
  const CHANGED = "data-changed";

  document.addEventListener("input", (event) => {
    const part = event.target.closest("[data-refresh]");
    if (part) part.setAttribute(CHANGED, "");
  });

  const busy = (part) => part.hasAttribute(CHANGED) || part.contains(document.activeElement)
    || part.querySelector("details[open], dialog[open]") || document.hidden;

  async function renew(part) {
    if (busy(part)) return;
    let answer;
    try {
      answer = await fetch(location.href, { credentials: "same-origin", headers: { "X-Refresh": "yes" } });
    } catch {
      document.dispatchEvent(new CustomEvent("network:lost"));
      return;
    }
    if (!answer.ok || answer.redirected) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.getElementById(part.id);
    // The person may have begun to type while the answer was under way.
    if (!fresh || busy(part)) return;
    part.replaceChildren(...fresh.childNodes);
    if (window.htmx) window.htmx.process(part);
  }

  document.addEventListener("DOMContentLoaded", () => {
    for (const part of document.querySelectorAll("[data-refresh][id]")) {
      setInterval(renew, Number(part.dataset.refresh) * 1000, part);
    }
  });
})();
