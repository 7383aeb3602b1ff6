/* The pacer: a silent beat for a step that has a pace, with sound and vibration for those who want them.
 *
 * A page holds `<div class="rb-pacer" data-interval-ms="6000" data-words="squeeze|two|three" data-name="1 breath
 * every 6 seconds">` with text that can be read without this script. The words fall evenly through one interval, the
 * first of them on the action.
 *
 * Every beat is worked out from the moment of starting, never from the beat before, so that late timers do not add up.
 */
(() => {
  "use strict";

  const rungbook = (window.rungbook ??= {});
  const SHORTEST_FULL_SWING_MS = 340; // at most three strong changes a second (WCAG 2.2, 2.3.1)

  /**
   * The beat that is due `elapsedMs` after the start.
   * @param {number} elapsedMs milliseconds since the start; before the start counts as the start
   * @param {number} intervalMs milliseconds from one action to the next, more than 0
   * @param {string[]} words said evenly through the interval; none makes one beat an interval
   * @returns {{beat: number, interval: number, index: number, word: string, startsAt: number, endsAt: number}}
   *   `beat` and `interval` count from 0 since the start, `index` is the word's place; the last two in milliseconds
   *   since the start
   * @throws {RangeError} if the interval is not a positive number
   */
  function beatAt(elapsedMs, intervalMs, words) {
    if (!Number.isFinite(intervalMs) || intervalMs <= 0) {
      throw new RangeError("intervalMs must be a positive number of milliseconds");
    }
    const perInterval = Math.max(words.length, 1);
    // The tiny addition keeps a time exactly on a beat from being rounded down into the beat before.
    const beat = Math.floor((Math.max(elapsedMs, 0) * perInterval) / intervalMs + 1e-9);
    const index = beat % perInterval;
    return {
      beat,
      interval: Math.floor(beat / perInterval),
      index,
      word: words[index] ?? "",
      startsAt: (beat * intervalMs) / perInterval,
      endsAt: ((beat + 1) * intervalMs) / perInterval,
    };
  }

  function element(tag, attributes = {}, ...children) {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    made.append(...children);
    return made;
  }

  const wantsStillness = () => window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  const canVibrate = () => typeof navigator.vibrate === "function" && navigator.maxTouchPoints > 0;

  function clock(ms) {
    const seconds = Math.floor(ms / 1000);
    return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
  }

  /* Sound: short clicks placed on the audio clock one beat ahead, so that a busy page cannot delay them. */
  let audio = null;

  function openAudio() {
    const Context = window.AudioContext ?? window.webkitAudioContext;
    if (!audio && Context) audio = new Context();
    if (audio?.state === "suspended") audio.resume().catch(() => {});
    return audio;
  }

  function clickIn(delayMs, isAction) {
    const at = audio.currentTime + Math.max(0, delayMs / 1000 - (audio.outputLatency || 0));
    const tone = audio.createOscillator();
    const loudness = audio.createGain();
    tone.frequency.value = isAction ? 1400 : 700;
    loudness.gain.setValueAtTime(0.0001, at);
    loudness.gain.exponentialRampToValueAtTime(isAction ? 0.6 : 0.25, at + 0.004);
    loudness.gain.exponentialRampToValueAtTime(0.0001, at + (isAction ? 0.09 : 0.05));
    tone.connect(loudness).connect(audio.destination);
    tone.start(at);
    tone.stop(at + 0.1);
    return tone;
  }

  let running = null; // the one pacer that runs, with its `stop`

  function choice(text) {
    const box = element("input", { type: "checkbox", autocomplete: "off" });
    box.checked = false;
    return [box, element("label", { class: "rb-pacer-choice" }, box, element("span", {}, text))];
  }

  function enhance(root) {
    const intervalMs = Number(root.dataset.intervalMs);
    if (root.dataset.ready || !Number.isFinite(intervalMs) || intervalMs <= 0) return;
    root.dataset.ready = "yes";
    const words = (root.dataset.words ?? "").split("|").map((word) => word.trim()).filter(Boolean);
    const name = root.dataset.name?.trim() || "the pace";
    const strongSwings = intervalMs >= SHORTEST_FULL_SWING_MS;

    const verb = element("span", { class: "rb-pacer-verb" }, "Start");
    const button = element(
      "button",
      { type: "button", class: "rb-pacer-button", "aria-pressed": "false", "aria-label": `Start or stop the pacer: ${name}` },
      element("span", { class: "rb-pacer-icon", "aria-hidden": "true" }),
      verb,
    );
    const [soundBox, soundChoice] = choice("Sound");
    const [buzzBox, buzzChoice] = choice("Vibration");
    soundChoice.hidden = !(window.AudioContext ?? window.webkitAudioContext);
    buzzChoice.hidden = !canVibrate();

    const disc = element("div", { class: "rb-pacer-disc" });
    const word = element("div", { class: "rb-pacer-word" });
    const tally = element("div", { class: "rb-pacer-tally" });
    const row = element("ol", { class: "rb-pacer-words" }, ...words.map((each) => element("li", {}, each)));
    row.hidden = words.length < 2;
    const face = element(
      "div",
      { class: "rb-pacer-face", "aria-hidden": "true" },
      element("div", { class: "rb-pacer-ring" }, disc, word),
      row,
      tally,
    );
    face.hidden = true;
    const status = element("p", { class: "rb-pacer-status", role: "status" });

    root.append(element("div", { class: "rb-pacer-controls" }, button, soundChoice, buzzChoice), status, face);
    root.classList.add("is-ready");

    let startedAt = 0;
    let timer = 0;
    let shown = null;
    let swing = null;
    let click = null;
    let wakeLock = null;

    function show(beat, elapsed) {
      const isAction = beat.index === 0;
      word.textContent = beat.word || String(beat.interval + 1);
      tally.textContent = `${beat.interval + 1} × · ${clock(elapsed)}`;
      face.classList.toggle("is-action", isAction && strongSwings);
      for (const [place, item] of [...row.children].entries()) item.classList.toggle("is-now", place === beat.index);
      if (isAction || !shown || shown.interval !== beat.interval) startSwing(elapsed - beat.interval * intervalMs);
      if (buzzBox.checked) navigator.vibrate?.(isAction ? 180 : 50);
      shown = beat;
    }

    /* The disc is full on the action, then small, and grows until it meets the ring at the next action. */
    function startSwing(intoInterval) {
      swing?.cancel();
      swing = null;
      if (wantsStillness() || !disc.animate) return;
      const hold = words.length > 1 ? 1 / words.length : 0.3;
      swing = disc.animate(
        [
          { transform: "scale(1)", offset: 0 },
          { transform: "scale(1)", offset: hold },
          { transform: "scale(0.3)", offset: hold },
          { transform: "scale(1)", offset: 1 },
        ],
        { duration: intervalMs, fill: "forwards" },
      );
      swing.currentTime = intoInterval;
    }

    function sayNextAloud(beat, elapsed) {
      click = null;
      if (!soundBox.checked || !openAudio()) return;
      const next = beatAt(beat.endsAt, intervalMs, words);
      click = clickIn(next.startsAt - elapsed, next.index === 0);
    }

    function tick() {
      if (!root.isConnected) return stop("");
      const elapsed = performance.now() - startedAt;
      const beat = beatAt(elapsed, intervalMs, words);
      if (beat.beat !== shown?.beat) {
        show(beat, elapsed);
        sayNextAloud(beat, elapsed);
      }
      timer = setTimeout(tick, Math.max(0, startedAt + beat.endsAt - performance.now()));
    }

    async function keepScreenOn() {
      try {
        const lock = await navigator.wakeLock?.request("screen");
        if (running?.root === root) wakeLock = lock;
        else await lock?.release();
      } catch {
        /* The screen may go dark; the pacer works all the same. */
      }
    }

    function start() {
      running?.stop("Stopped, because another was started.");
      running = { root, stop };
      shown = null;
      button.setAttribute("aria-pressed", "true");
      verb.textContent = "Stop";
      root.classList.add("is-running");
      face.hidden = false;
      face.scrollIntoView({ block: "nearest" });
      status.textContent = "Started. Stop with the button or the Escape key.";
      startedAt = performance.now();
      if (soundBox.checked && openAudio()) clickIn(0, true);
      tick();
      keepScreenOn();
    }

    function stop(why) {
      clearTimeout(timer);
      if (running?.root === root) running = null;
      const count = shown ? shown.interval + 1 : 0;
      shown = null;
      swing?.cancel();
      swing = null;
      try {
        click?.stop(0);
      } catch {
        /* It had already ended. */
      }
      click = null;
      navigator.vibrate && buzzBox.checked && navigator.vibrate(0);
      wakeLock?.release().catch(() => {});
      wakeLock = null;
      button.setAttribute("aria-pressed", "false");
      verb.textContent = "Start";
      root.classList.remove("is-running");
      face.hidden = true;
      face.classList.remove("is-action");
      status.textContent = why ?? `Stopped. Counted ${count} × in ${clock(performance.now() - startedAt)}.`;
    }

    button.addEventListener("click", () => (running?.root === root ? stop() : start()));
    soundBox.addEventListener("change", () => {
      if (soundBox.checked) openAudio();
    });
  }

  function leave() {
    running?.stop("Stopped, because the page was left.");
  }

  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") running?.stop();
  });
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) leave();
  });
  window.addEventListener("pagehide", leave);

  const enhanceAll = () => document.querySelectorAll(".rb-pacer").forEach(enhance);
  rungbook.beatAt = beatAt;
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", enhanceAll);
  else enhanceAll();
  // Where the theme swaps pages without loading them, it tells so here.
  window.document$?.subscribe?.(enhanceAll);
})();
