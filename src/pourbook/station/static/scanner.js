// What a scanner sends, key by key, whether it is taken for a scanner or not.
(() => {
  "use strict";

  const FAST_MS = 30;
  const LEAST_KEYS = 4;
  const SILENCE_MS = 700; // of a slow scanner, too
  const SHIFTED = { 1: "!", 2: "@", 3: "#", 4: "$", 5: "%", 6: "^", 7: "&", 8: "*", 9: "(", 0: ")" };
  const OTHERS = {
    // without and with Shift, on a US keyboard
    Minus: "-_", Equal: "=+", BracketLeft: "[{", BracketRight: "]}", Backslash: "\\|", Semicolon: ";:", Quote: "'\"",
    Comma: ",<", Period: ".>", Slash: "/?", Backquote: "`~", Space: "  ",
  };

  let keys = [];
  let last = 0;
  let timer = 0;

  /** The character that this key gives on a US keyboard; empty where the key is not known. */
  function american({ code, shiftKey }) {
    if (/^Key[A-Z]$/.test(code)) return shiftKey ? code[3] : code[3].toLowerCase();
    if (/^Digit\d$/.test(code)) return shiftKey ? SHIFTED[code[5]] : code[5];
    if (/^Numpad\d$/.test(code)) return code[6];
    return OTHERS[code]?.[Number(shiftKey)] ?? "";
  }

  function onKey(event) {
    if (event.repeat || ["Shift", "Control", "Alt", "AltGraph", "Meta"].includes(event.key)) return;
    if (!keys.length) last = event.timeStamp;
    keys.push({
      key: event.key, american: american(event), gap: event.timeStamp - last, caps: event.getModifierState("CapsLock"),
      byNumber: event.altKey && event.code.startsWith("Numpad"), isEnd: event.key === "Enter" || event.key === "Tab",
    });
    last = event.timeStamp;
    clearTimeout(timer);
    timer = setTimeout(show, SILENCE_MS);
  }

  function show() {
    const came = keys;
    keys = [];
    const signs = came.filter((key) => !key.isEnd);
    const ends = came.filter((key) => key.isEnd);
    const longest = Math.max(0, ...came.slice(1).map((key) => key.gap));
    // caps lock turns the case of letters; any other difference is another keyboard
    const differs = signs.filter((key) => key.american && key.key !== key.american);
    const ofCase = differs.filter((key) => key.key.toLowerCase() === key.american.toLowerCase());
    const text = signs.map((key) => key.key).join("");
    const isScan = signs.length >= LEAST_KEYS && longest <= 200 && signs.filter((key) => key.gap <= FAST_MS).length > LEAST_KEYS - 1;
    advise({
      well: isScan && ends.length === 1 && differs.length === ofCase.length && !signs.some((key) => key.caps),
      slow: !isScan && signs.length >= LEAST_KEYS,
      short: signs.length < LEAST_KEYS,
      endless: !ends.length,
      twice: ends.length > 1,
      layout: differs.length > ofCase.length || signs.some((key) => key.key === "Dead"),
      caps: signs.some((key) => key.caps),
      codes: signs.some((key) => key.byNumber),
      prefix: /^[^A-Z0-9(\]h]/i.test(text),
    });
    tell(signs, ends, longest);
    document.querySelector("[data-keys]").replaceChildren(...came.map(row));
  }

  function advise(holds) {
    for (const line of document.querySelectorAll("[data-when]")) line.hidden = !holds[line.dataset.when];
  }

  function tell(signs, ends, longest) {
    const line = document.querySelector("[data-figures]");
    const ending = ends.map((key) => key.key).join(" + ") || line.dataset.silence;
    const figures = { keys: signs.length, longest: Math.round(longest), ending };
    line.textContent = line.dataset.words.replace(/\{(\w+)\}/g, (_, name) => figures[name]);
  }

  function row(key, at) {
    const line = document.createElement("tr");
    const cells = [at + 1, key.key, key.american || key.key, at ? Math.round(key.gap) : "–"];
    if (key.american && key.american !== key.key) line.className = "now";
    line.append(...cells.map((text, column) => {
      const cell = document.createElement("td");
      cell.textContent = text;
      if (column === 0 || column === 3) cell.className = "n";
      return cell;
    }));
    return line;
  }

  window.addEventListener("keydown", onKey, true);
})();
