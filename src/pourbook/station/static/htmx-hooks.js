// What every request of htmx carries, and what a page shows while the station does not answer.
(() => {
  "use strict";
  const ASK_AGAIN_MS = 2000;
  let asking = 0;

  document.addEventListener("htmx:configRequest", (event) => {
    event.detail.headers["X-CSRF-Token"] = document.querySelector("meta[name=csrf-token]")?.content ?? "";
  });

  /** The banner with its words, or none: a region is read out when its words change. */
  function show(isAway) {
    const banner = document.getElementById("away");
    if (!banner || banner.hidden !== isAway) return;
    banner.hidden = !isAway;
    banner.textContent = isAway ? banner.dataset.words : "";
  }

  function lost() {
    show(true);
    asking ||= setInterval(ask, ASK_AGAIN_MS);
  }

  async function ask() {
    try {
      const answer = await fetch("/healthz", { cache: "no-store", signal: AbortSignal.timeout(ASK_AGAIN_MS - 200) });
      if (!answer.ok) return;
    } catch {
      return;
    }
    clearInterval(asking);
    asking = 0;
    show(false);
    document.dispatchEvent(new CustomEvent("station:back"));
  }

  // -- focus: where it was, or where the work goes on, though what had it was disabled or is gone --------------

  let focused = null; // the element before a request

  document.addEventListener("htmx:beforeRequest", () => {
    const element = document.activeElement;
    focused = element && element !== document.body ? element : null;
  }, true);

  document.addEventListener("htmx:afterSettle", () => requestAnimationFrame(refocus));

  /** What took the place of an element: by its id, or a button by what it sends. */
  function successor({ id, name, value, type }) {
    if (id) return document.getElementById(id);
    if (!name || type !== "submit") return null;
    return [...document.getElementsByName(name)].find((one) => one.value === value) ?? null;
  }

  function refocus() {
    if (!focused || (document.activeElement && document.activeElement !== document.body)) return;
    const next = focused.isConnected ? focused : successor(focused) ?? document.getElementById("task");
    if (!next || next.disabled) return;
    focused = null;
    if (!next.matches("a, button, input, select, textarea, summary, [tabindex]")) next.tabIndex = -1;
    next.focus({ preventScroll: true });
  }

  for (const told of ["station:lost", "htmx:sendError", "htmx:sseError"]) document.addEventListener(told, lost);
  window.addEventListener("offline", lost);
})();
