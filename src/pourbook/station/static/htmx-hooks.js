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

  for (const told of ["station:lost", "htmx:sendError", "htmx:sseError"]) document.addEventListener(told, lost);
  window.addEventListener("offline", lost);
})();
