/* [data-timer]: a clock that reckons from the moment it was started, so that neither a locked screen nor a
   reload stops it. data-timer-start is that moment; without it a button starts the clock and this tablet
   remembers the moment under data-timer-key. When it is over the button starts it again, and an empty field
   named by data-timer-fills is given the minutes that went by. */
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
    const over = length > 0 && gone >= length;
    const button = timer.querySelector("[data-timer-button]");
    if (button) button.hidden = !over;
    if (over && !timer.hasAttribute("data-over")) ring(timer, button, gone);
  }

  function ring(timer, button, gone) {
    timer.setAttribute("data-over", "");
    timer.querySelector("[data-timer-word]").textContent = timer.dataset.timerOver;
    if (button) button.textContent = button.dataset.timerAgain;
    timer.dispatchEvent(new CustomEvent("timer:over", { bubbles: true }));
    fill(timer, Math.floor(gone / 60));
  }

  function fill(timer, minutes) {
    const field = timer.dataset.timerFills && timer.closest("form").elements[timer.dataset.timerFills];
    if (!field || field.value) return;
    field.value = `${minutes} min`;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  const drawAll = () => document.querySelectorAll("[data-timer]").forEach(draw);

  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-timer-button]");
    if (!button) return;
    const timer = button.closest("[data-timer]");
    localStorage.setItem(`timer:${timer.dataset.timerKey}`, new Date().toISOString());
    timer.removeAttribute("data-over");
    timer.querySelector("[data-timer-word]").textContent = "";
    draw(timer);
  });
  document.addEventListener("visibilitychange", drawAll);
  document.addEventListener("DOMContentLoaded", drawAll);
  setInterval(drawAll, 500);
})();
