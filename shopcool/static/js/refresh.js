/* <section id="board" data-refresh="30">: the section renews itself every so many seconds from the same
   address, except while someone types in it, has changed a field, or has opened something.
   data-version="…": the server is asked by that entity tag and answers without a page while nothing changed.
   <time data-seen data-zone="Europe/Prague">: when it last answered; [data-unseen] shows while it does not. */
(function () {
  "use strict";
  const CHANGED = "data-changed";

  document.addEventListener("input", (event) => {
    const part = event.target.closest("[data-refresh]");
    if (part) part.setAttribute(CHANGED, "");
  });

  const busy = (part) => part.hasAttribute(CHANGED) || part.contains(document.activeElement)
    || part.querySelector("details[open], dialog[open]") || document.hidden;

  async function ask(part) {
    const headers = { "X-Refresh": "yes" };
    if (part.dataset.version) headers["If-None-Match"] = part.dataset.version;
    try {
      return await fetch(location.href, { credentials: "same-origin", cache: "no-store", headers });
    } catch {
      return null;
    }
  }

  function say(part, answered) {
    for (const words of document.querySelectorAll("[data-unseen]")) words.hidden = answered;
    if (!answered && !part.dataset.version) document.dispatchEvent(new CustomEvent("network:lost"));
    if (!answered) return;
    for (const moment of document.querySelectorAll("[data-seen]")) {
      const style = { hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: moment.dataset.zone };
      moment.textContent = new Intl.DateTimeFormat(document.documentElement.lang, style).format(new Date());
    }
  }

  async function renew(part) {
    if (busy(part)) return;
    const answer = await ask(part);
    const gone = !answer || ((!answer.ok || answer.redirected) && answer.status !== 304);
    if (!answer || part.dataset.version) say(part, !gone);
    if (gone || answer.status === 304) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.getElementById(part.id);
    // The person may have begun to type while the answer was under way.
    if (!fresh || busy(part)) return;
    part.replaceChildren(...fresh.childNodes);
    if (fresh.dataset.version) part.dataset.version = fresh.dataset.version;
    if (window.htmx) window.htmx.process(part);
  }

  document.addEventListener("DOMContentLoaded", () => {
    for (const part of document.querySelectorAll("[data-refresh][id]")) {
      setInterval(renew, Number(part.dataset.refresh) * 1000, part);
    }
  });
})();
