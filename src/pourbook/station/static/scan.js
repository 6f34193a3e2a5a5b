// Scans, whatever sent them. Keys that come faster than any hand are a scan, and nothing of it lands in a field; a camera
// sends the same event, `scanned`. Stands in the head without `defer`: a key must not come before it.
(() => {
  "use strict";

  // -- keys: what a scanner types ------------------------------------------------------------

  const FAST_MS = 30; // between two keys of a scanner; hands roll over two or three keys as fast, never four
  const STUTTER_MS = 190; // between two of its first keys where the machine is busy
  const MOST_STUTTERS = 3;
  const LOAD_STUTTER_MS = 280; // the same while a page comes in
  const LOAD_MS = 3000;
  const SILENCE_MS = 200; // ends a scan that no key ends
  const QUIET_MS = 60; // before a page leaves
  const LEAST_KEYS = 4;
  const MODIFIERS = new Set(["Shift", "Control", "Alt", "AltGraph", "Meta", "CapsLock"]);
  const CUT = "pourbook.cut";

  let run = []; // keys that may be a scan: {sign, gap, before}
  let isScan = false;
  let last = -Infinity; // time of the last key, as events count it
  let handled = -Infinity; // when it was come to
  let ended = -Infinity; // when a key ended a scan
  let silence = 0;
  const swallowed = new Set();

  function onKeyDown(event) {
    if (event.isComposing || event.keyCode === 229) return forget();
    if (MODIFIERS.has(event.key)) {
      if (run.length) last = handled = event.timeStamp;
      return undefined;
    }
    const gap = event.timeStamp - (event.timeStamp < handled ? last : handled);
    last = event.timeStamp;
    handled = performance.now();
    if (isScan && gap > SILENCE_MS) finish();
    if (event.key === "Enter" || event.key === "Tab") return onEnding(event);
    const sign = signOf(event);
    if (isScan) swallow(event);
    if (!sign || event.repeat) return isScan ? undefined : forget();
    return onSign(event, sign, gap);
  }

  function onEnding(event) {
    if (isScan) {
      swallow(event);
      ended = event.timeStamp;
      finish();
    } else if (event.timeStamp - ended < SILENCE_MS) swallow(event); // carriage return and line feed
    else forget();
  }

  function onSign(event, sign, gap) {
    if (!isScan && gap > (event.timeStamp < LOAD_MS ? LOAD_STUTTER_MS : STUTTER_MS)) run = [];
    run.push({ sign, gap, before: isScan ? null : fieldNow() });
    if (!isScan) {
      const slow = run.map((key, at) => (at && key.gap > FAST_MS ? at : 0)).filter(Boolean);
      if (slow.length > MOST_STUTTERS) run.splice(0, slow[0]);
      isScan = run.length >= LEAST_KEYS && run.slice(1 - LEAST_KEYS).every((key) => key.gap <= FAST_MS);
      if (isScan) {
        swallow(event);
        restore(run[0].before);
      }
    }
    clearTimeout(silence);
    silence = setTimeout(finish, isScan ? SILENCE_MS : LOAD_STUTTER_MS);
  }

  /** The character of a key; a control character as scanners send the separator of GS1: with Ctrl. */
  function signOf(event) {
    const isChord = (event.ctrlKey || event.metaKey || event.altKey) && !event.getModifierState("AltGraph");
    if (!isChord) return event.key.length === 1 ? event.key : "";
    if (!run.length || !event.ctrlKey) return "";
    if (event.code === "BracketRight") return "\x1d";
    return event.key.length === 1 ? String.fromCharCode(event.key.toUpperCase().charCodeAt(0) & 31) : "";
  }

  function swallow(event) {
    event.preventDefault();
    event.stopPropagation();
    if (event.type === "keydown") swallowed.add(event.code);
  }

  function onKeyUp(event) {
    if (swallowed.delete(event.code)) swallow(event); // a space presses a button when it is let go
  }

  function finish() {
    const code = isScan ? run.map((key) => key.sign).join("") : "";
    forget();
    if (code.trim()) scanned(code, "keys");
  }

  function forget() {
    clearTimeout(silence);
    run = [];
    isScan = false;
  }

  function fieldNow() {
    const field = document.activeElement;
    if (!field || !("value" in field)) return null;
    const [start, end] = [field.selectionStart, field.selectionEnd]; // null where a kind of field has no caret to be asked
    return { field, value: field.value, index: field.selectedIndex, start, end };
  }

  /** The field as it stood before the first key, by an edit like a person's: so that undo and `change` still work. */
  function restore(before) {
    const field = before?.field;
    if (!field?.isConnected || field.value === before.value) return;
    if (field instanceof HTMLSelectElement) {
      field.selectedIndex = before.index;
      field.dispatchEvent(new Event("change", { bubbles: true }));
      return;
    }
    field.select();
    document.execCommand(before.value ? "insertText" : "delete", false, before.value);
    if (field.value !== before.value) field.value = before.value;
    if (before.start !== null) field.setSelectionRange(before.start, before.end);
  }

  // A scan may be cut in two by a page that leaves: what came goes on in the next one.
  function keepCut() {
    const isLikely = run.length > 1 && run.slice(1).every((key) => key.gap <= FAST_MS); // one key may be typing
    if (isScan || isLikely) put(CUT, { signs: run.map((key) => key.sign), isScan, at: Date.now() });
  }

  function takeCut() {
    const cut = take(CUT);
    if (!cut || Date.now() - cut.at > 1000) return;
    run = cut.signs.map((sign) => ({ sign, gap: 0, before: null }));
    isScan = cut.isScan;
    last = handled = performance.now();
    silence = setTimeout(finish, SILENCE_MS);
  }

  // -- what was scanned, in the order in which it came ----------------------------------------

  const WAITING = "pourbook.waiting";
  const SAID = "pourbook.said";
  let waiting = []; // {code, task}: not answered yet
  let isBusy = false;
  let leavingFor = null; // the answer that leads away, followed once nothing else is waiting
  let isLeaving = false; // a task's answer leads away
  let wasTold = false; // words came with a task's answer

  function scanned(code, by) {
    whenReady(() => document.dispatchEvent(new CustomEvent("scanned", { detail: { code, by } })));
  }

  function onScanned(event) {
    waiting.push({ code: event.detail.code, task: taskHere()?.dataset.task ?? null });
    put(WAITING, waiting);
    work();
  }

  async function work() {
    if (isBusy) return;
    isBusy = true;
    while (waiting.length && (await answered(waiting[0].code))) {
      waiting.shift();
      put(WAITING, waiting);
    }
    isBusy = false;
    leave();
  }

  /** Whether an answer came; else the scan stays where it is, to be sent again. */
  async function answered(code) {
    try {
      return await (taskHere() && !isBadge(code) ? postToTask(code) : ask(code));
    } catch {
      say("bad", word("away", code));
      document.dispatchEvent(new CustomEvent("station:lost"));
      return false;
    }
  }

  async function ask(code) {
    const asked = new URLSearchParams({ code, here: document.body.dataset.item ?? "" });
    const response = await fetch(`/scan?${asked}`, { cache: "no-store", signal: AbortSignal.timeout(10_000) });
    const isAnswer = response.headers.get("content-type")?.startsWith("application/json");
    const answer = isAnswer ? await response.json() : { outcome: "bad", said: word("refused", code) };
    if (answer.at_work) await beAtWork(answer.item);
    if (answer.to) answer.to = onwards(answer);
    if (answer.to && answer.outcome === "good") leavingFor = answer;
    else say(answer.outcome, answer.said);
    return true;
  }

  const BADGE = /^(\][a-z]\d)?(https?:.*\/item\/)?p[- ]?\d{6,12}[- ]?[0-9A-Z*]$/i;

  /** A badge says who is at work in the midst of a task, too, but where the task itself asks for people. */
  const isBadge = (code) => BADGE.test(code.trim()) && !("badges" in taskHere().dataset);

  /** Where an answer leads: after the PIN back to this page; out of a task nowhere else. */
  function onwards({ to, at_work: isAtWork }) {
    const here = location.pathname + location.search;
    const back = new URLSearchParams(location.search).get("next") ?? here;
    if (to.startsWith("/sign-in")) return `${to}&next=${encodeURIComponent(back)}`;
    if (taskHere()) return isAtWork ? here : null;
    return to;
  }

  /** Somebody's badge, where nobody signs in. */
  async function beAtWork(name) {
    const headers = { "X-CSRF-Token": document.querySelector("meta[name=csrf-token]")?.content ?? "" };
    await fetch("/at-work", { method: "POST", headers, body: new URLSearchParams({ name }), redirect: "manual" });
  }

  /** The page of the last good scan, with its words; not while keys come in, since a page that leaves hears none. */
  function leave() {
    if (!leavingFor || isBusy || waiting.length) return;
    const quiet = performance.now() - handled;
    if (run.length || quiet < QUIET_MS) setTimeout(leave, QUIET_MS - Math.min(quiet, QUIET_MS / 2));
    else {
      put(SAID, leavingFor);
      const { to } = leavingFor;
      leavingFor = null;
      location.assign(to);
    }
  }

  const taskHere = () => document.querySelector("[data-task]");

  async function postToTask(code) {
    const task = taskHere();
    wasTold = false;
    isLeaving = false;
    const target = document.getElementById("task") ?? task;
    const asked = { target, swap: "outerHTML", values: { scan: code }, headers: { "X-Scan": "1" } };
    await htmx.ajax("POST", task.dataset.task, asked);
    if (!wasTold && !isLeaving) say("good", word("done", code));
    return !isLeaving;
  }

  const isOfScan = (event) => "X-Scan" in event.detail.requestConfig.headers;

  /** Another page comes: what else was scanned waits for it. */
  function onAnswer(event) {
    if (isOfScan(event)) isLeaving = Boolean(event.detail.xhr.getResponseHeader("HX-Redirect"));
  }

  /** A scan that is refused leaves the task as it stands; its words are heard. */
  function onTaskAnswer(event) {
    const { xhr } = event.detail;
    if (!isOfScan(event) || xhr.status < 400) return;
    event.detail.shouldSwap = false;
    const answer = new DOMParser().parseFromString(xhr.responseText, "text/html");
    const told = [...answer.querySelectorAll(".refusal .said, .refusal .remedy")];
    const words = (told.length ? told : [answer.body]).map((part) => part.textContent.trim().replace(/\s+/g, " "));
    say("bad", words.join(" ").slice(0, 600));
  }

  /** Words that come with an answer are said in the region that stands: one put in its place would not be read out. */
  function onPartPutInPlace(event) {
    const { target, fragment } = event.detail;
    const region = target.id === "heard" && fragment.firstElementChild;
    if (!region) return;
    event.detail.shouldSwap = false;
    say(region.dataset.outcome, region.textContent.trim());
  }

  function takeUp() {
    const before = take(SAID);
    const region = document.getElementById("heard");
    if (before) say(before.outcome, before.said);
    else if (region?.dataset.outcome) tell(region.dataset.outcome);
    const here = taskHere()?.dataset.task ?? null;
    const left = take(WAITING) ?? [];
    waiting = left.filter((scan) => scan.task === here);
    const unsent = left.filter((scan) => scan.task !== here).map((scan) => scan.code);
    if (unsent.length) say("bad", word("unsent", unsent.join(", ")));
    work();
  }

  // -- words, sounds, a buzz in the hand -------------------------------------------------------

  const MUTE = "pourbook.mute";
  const TONES = {
    // hertz, start and length in seconds, shape: one that rises, one long and low, two alike
    good: [[880, 0, 0.08, "sine"], [1320, 0.09, 0.12, "sine"]],
    bad: [[140, 0, 0.5, "square"]],
    repeat: [[560, 0, 0.09, "triangle"], [560, 0.18, 0.09, "triangle"]],
  };
  const BUZZ_MS = { good: [40], bad: [300], repeat: [60, 80, 60] };
  let audio = null;

  const word = (name, code) => (document.getElementById("heard")?.dataset[name] ?? "{code}").replace("{code}", code);

  function say(outcome, words) {
    wasTold = true;
    const region = document.getElementById("heard");
    if (!region) return;
    const said = document.createElement("span");
    said.textContent = words;
    region.dataset.outcome = outcome;
    region.replaceChildren(said);
    tell(outcome);
  }

  function tell(outcome) {
    if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.(BUZZ_MS[outcome] ?? []);
    if (localStorage.getItem(MUTE)) return;
    audio ??= new AudioContext();
    audio.resume();
    for (const [hertz, start, length, shape] of TONES[outcome] ?? []) {
      const [tone, loud] = [audio.createOscillator(), audio.createGain()];
      const at = audio.currentTime + start;
      tone.type = shape;
      tone.frequency.value = hertz;
      loud.gain.setValueAtTime(0.2, at);
      loud.gain.setTargetAtTime(0, at + length - 0.02, 0.01);
      tone.connect(loud).connect(audio.destination);
      tone.start(at);
      tone.stop(at + length + 0.05);
    }
  }

  function onClick(event) {
    const button = event.target.closest?.("[data-mute]");
    if (!button) return;
    if (localStorage.getItem(MUTE)) localStorage.removeItem(MUTE);
    else localStorage.setItem(MUTE, "1");
    showMute();
  }

  function showMute() {
    const pressed = String(Boolean(localStorage.getItem(MUTE)));
    for (const button of document.querySelectorAll("[data-mute]")) button.setAttribute("aria-pressed", pressed);
  }

  // -- the page ---------------------------------------------------------------------------------

  const put = (name, value) => sessionStorage.setItem(name, JSON.stringify(value));

  function take(name) {
    const kept = sessionStorage.getItem(name);
    sessionStorage.removeItem(name);
    return JSON.parse(kept);
  }

  function whenReady(act) {
    if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", act, { once: true });
    else act();
  }

  window.addEventListener("keydown", onKeyDown, true);
  window.addEventListener("keyup", onKeyUp, true);
  window.addEventListener("pagehide", keepCut);
  document.addEventListener("compositionstart", forget);
  document.addEventListener("scanned", onScanned);
  document.addEventListener("station:back", work);
  document.addEventListener("htmx:beforeOnLoad", onAnswer);
  document.addEventListener("htmx:beforeSwap", onTaskAnswer);
  document.addEventListener("htmx:oobBeforeSwap", onPartPutInPlace);
  document.addEventListener("click", onClick);
  takeCut();
  whenReady(takeUp);
  whenReady(showMute);
})();
