// What was typed and not recorded yet stays through a reload or a lost server: fields with `data-keep`, for this tab.
// The value of `data-keep` says what the field is about; without one it is the page and the field's name.
(() => {
  "use strict";
  const PREFIX = "pourbook.kept:";
  const SENT = "pourbook.sent";

  /** Fields of one name, as in the rows of a table, are told apart by their order. */
  function nameOf(field) {
    if (field.dataset.keep) return PREFIX + field.dataset.keep;
    const alike = [...(field.form ?? document).querySelectorAll("[data-keep]")].filter((one) => one.name === field.name);
    return `${PREFIX}${location.pathname} ${field.name} ${alike.indexOf(field)}`;
  }

  const fieldsOf = (part) => [...(part.querySelectorAll?.("[data-keep]") ?? [])];

  function bringBack(part) {
    for (const field of fieldsOf(part)) {
      const kept = sessionStorage.getItem(nameOf(field));
      if (kept === null || field.value !== field.defaultValue) continue;
      field.value = kept;
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }
  }

  function onInput(event) {
    const field = event.target;
    if (!field.matches?.("[data-keep]")) return;
    if (field.value === field.defaultValue) sessionStorage.removeItem(nameOf(field));
    else sessionStorage.setItem(nameOf(field), field.value);
  }

  const drop = (names) => names.forEach((name) => sessionStorage.removeItem(name));

  // The names are taken before an answer takes the place of its form.
  function onRequest(event) {
    const form = event.detail.elt.closest?.("form");
    if (event.detail.requestConfig.verb !== "get" && form) event.detail.xhr.kept = fieldsOf(form).map(nameOf);
  }

  function onAnswer(event) {
    const { xhr } = event.detail;
    if (xhr.kept && xhr.status >= 200 && xhr.status < 400) drop(xhr.kept);
  }

  // A form that the browser itself sends: recorded, if another page or good words come next.
  function onSubmit(event) {
    const names = fieldsOf(event.target).map(nameOf);
    if (names.length) sessionStorage.setItem(SENT, JSON.stringify({ path: location.pathname, names }));
  }

  function takeUp() {
    const sent = JSON.parse(sessionStorage.getItem(SENT));
    sessionStorage.removeItem(SENT);
    const isGood = document.getElementById("heard")?.dataset.outcome === "good";
    if (sent && (isGood || sent.path !== location.pathname)) drop(sent.names);
    bringBack(document);
  }

  document.addEventListener("input", onInput);
  document.addEventListener("submit", (event) => event.defaultPrevented || onSubmit(event));
  document.addEventListener("htmx:beforeSend", onRequest);
  document.addEventListener("htmx:beforeOnLoad", onAnswer);
  document.addEventListener("htmx:load", (event) => bringBack(event.detail.elt));
  document.addEventListener("DOMContentLoaded", takeUp);
})();
