/* [data-timer]: a clock that reckons from the moment it was started, so that neither a locked screen nor a
   reload stops it. data-timer-start is that moment; without it a button starts the clock and this tablet
   remembers the moment under data-timer-key. */
(function () {
  "use strict";

  function startOf(timer) {
    const moment = timer.dataset.timerStart || (timer.dataset.timerKey && localStorage.getItem(`timer:${timer.dataset.timerKey}`));
    return moment ? Date.parse(moment) : null;
  }

  function text(seconds) {
    const whole = Math.max(0, Math.floor(seconds));
    const hours = Math.floor(whole / 3600);
    const minutes = Math.floor(whole / 60) % 60;
    const rest = String(whole % 60).padStart(2, "0");
    return hours ? `${hours}:${String(minutes).padStart(2, "0")}:${rest}` : `${minutes}:${rest}`;
  }

  function draw(timer) {
    const start = startOf(timer);
    if (start === null) return;
    const length = Number(timer.dataset.timerSeconds);
    const gone = (Date.now() - start) / 1000;
    timer.querySelector("[data-timer-clock]").textContent = text(length ? length - gone : gone);
    const button = timer.querySelector("[data-timer-button]");
    if (button) button.hidden = true;
    if (length && gone >= length && !timer.hasAttribute("data-over")) {
      timer.setAttribute("data-over", "");
      timer.querySelector("[data-timer-word]").textContent = timer.dataset.timerOver;
      timer.dispatchEvent(new CustomEvent("timer:over", { bubbles: true }));
    }
  }

  const drawAll = () => document.querySelectorAll("[data-timer]").forEach(draw);

  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-timer-button]");
    if (!button) return;
    const timer = button.closest("[data-timer]");
    localStorage.setItem(`timer:${timer.dataset.timerKey}`, new Date().toISOString());
    draw(timer);
  });
  document.addEventListener("visibilitychange", drawAll);
  document.addEventListener("DOMContentLoaded", drawAll);
  setInterval(drawAll, 500);
})();
