/* <form data-draft="name of the thing being filled in">: what a person types stays on this tablet until the
   server has taken it. A hidden field named submission_key gets one value per draft, so that the server can
   recognise the same form sent twice. */
(function () {
  "use strict";
  const LIFE_MS = 7 * 24 * 3600 * 1000;
  const SECRET = ["password", "file"];
  let sent = null;

  // Two people share a tablet and never see each other's drafts.
  const keyOf = (form) => `draft:${document.body.dataset.person || ""}:${form.dataset.draft}`;
  const fields = (form) => [...form.elements].filter(
    (field) => field.name && field.name !== "csrfmiddlewaretoken" && !SECRET.includes(field.type)
      && (field.type !== "hidden" || field.name === "submission_key"));
  const choice = (field) => field.type === "checkbox" || field.type === "radio";

  function read(key) {
    try {
      const draft = JSON.parse(localStorage.getItem(key));
      return draft && Date.now() - draft.at < LIFE_MS ? draft : null;
    } catch {
      return null;
    }
  }

  function keep(form) {
    const values = fields(form).map((field) => (
      { name: field.name, value: field.value, ...(choice(field) && { checked: field.checked }) }));
    localStorage.setItem(keyOf(form), JSON.stringify({ at: Date.now(), values }));
  }

  function restore(form) {
    // What the server sent back with errors is newer than what the tablet remembers.
    if (form.dataset.draftReady || form.querySelector("[data-rejected]")) return;
    form.dataset.draftReady = "yes";
    const draft = read(keyOf(form));
    if (!draft) return;
    for (const { name, value, checked } of draft.values) {
      for (const field of fields(form).filter((one) => one.name === name)) {
        if (!choice(field)) field.value = value;
        else if (field.value === value) field.checked = checked;
      }
    }
    form.dataset.draftRestored = "yes";
    form.dispatchEvent(new CustomEvent("draft:restored", { bubbles: true }));
  }

  function prepare(root) {
    for (const form of root.querySelectorAll("form[data-draft]")) restore(form);
  }

  document.addEventListener("input", (event) => {
    const form = event.target.form;
    if (form && form.matches("[data-draft]")) keep(form);
  });

  // The form travels by fetch: a dead network then leaves the page and what was typed as they are.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("[data-draft]") || event.defaultPrevented || form.method !== "post") return;
    event.preventDefault();
    keep(form);
    send(form, event.submitter);
  });

  async function send(form, submitter) {
    sent = { form, submitter };
    const body = new FormData(form, submitter);
    let answer;
    try {
      answer = await fetch(form.action, { method: "POST", body, credentials: "same-origin" });
    } catch {
      document.dispatchEvent(new CustomEvent("network:lost"));
      release(form);
      return;
    }
    sent = null;
    const page = await answer.text();
    if (answer.ok && !page.includes("data-rejected")) localStorage.removeItem(keyOf(form));
    show(answer, page);
  }

  function release(form) {
    delete form.dataset.sending;
    for (const button of form.querySelectorAll("[aria-busy]")) button.removeAttribute("aria-busy");
  }

  // The page that came with the answer is shown as it is: asking for it again would lose its messages.
  function show(answer, page) {
    history[answer.redirected ? "pushState" : "replaceState"](null, "", answer.url);
    document.open();
    document.write(page);
    document.close();
    scrollTo(0, 0);
  }

  addEventListener("online", () => {
    if (sent && document.contains(sent.form)) send(sent.form, sent.submitter);
  });

  document.addEventListener("DOMContentLoaded", () => prepare(document));
  document.addEventListener("htmx:load", (event) => prepare(event.target.parentNode || document));
})();
