/* Running a scenario: its clock, its states, the facilitator's buttons, and a log that becomes the debrief.
 *
 * A page holds `<div class="rb-run" data-run="JSON">` with a plain list of the states inside it. Everything that
 * happens goes into one list of events, and what is shown is worked out from that list and the clock: so the last event
 * can be taken back, and a reload loses nothing. Nothing is sent anywhere; the log stays on this device.
 */
(() => {
  "use strict";

  const rungbook = (window.rungbook ??= {});
  const TICK_MS = 250;

  const clock = (seconds) => {
    const whole = Math.max(0, Math.floor(seconds));
    return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
  };

  /**
   * Where a run stands, worked out from its events.
   * @param {object} run what the page carries: states, variants
   * @param {object[]} events `{at, kind, id?, to?}` in seconds of the scenario clock, oldest first; kinds are `start`,
   *   `move`, `seen` (a step was seen to be done, `id` is `skill/step`), `note`, `stop`, `go`, `end`
   * @returns {{state: object, enteredAt: number, noted: Set<string>, from: object, ended: boolean}} `noted` holds the
   *   moves that were noted in this state, `from` the readings when it was entered
   */
  function standing(run, events) {
    const states = new Map(run.states.map((state) => [state.id, state]));
    let now = { state: states.get(run.states[0].id), enteredAt: 0, noted: new Set(), from: {}, ended: false };
    for (const event of events) {
      if (event.kind === "start") {
        const state = states.get(event.to);
        now = { state, enteredAt: 0, noted: new Set(), from: { ...state.readings }, ended: Boolean(state.exit) };
      } else if (event.kind === "move" && event.to) {
        const from = readingsAt(now, event.at);
        const state = states.get(event.to);
        now = { state, enteredAt: event.at, noted: new Set(), from, ended: Boolean(state.exit) };
      } else if (event.kind === "move") {
        now.noted.add(event.id);
      } else if (event.kind === "end") {
        now = { ...now, ended: true };
      }
    }
    return now;
  }

  /** The readings of a state at a second: they move evenly to the state's values; what it does not name stays. */
  function readingsAt(now, at) {
    const over = now.state.over;
    const share = over > 0 ? Math.min(1, Math.max(0, (at - now.enteredAt) / over)) : 1;
    const shown = { ...now.from };
    for (const [id, value] of Object.entries(now.state.readings)) {
      const from = now.from[id] ?? value;
      shown[id] = from + (value - from) * share;
    }
    return shown;
  }

  /** The move that happens by itself next, with the second at which it does; null when the state can be held. */
  function nextByItself(now) {
    const done = now.state.moves.filter((move) => now.noted.has(move.id)).map((move) => `${move.skill}/${move.step}`);
    let first = null;
    for (const move of now.state.moves) {
      if (move.on === "action" || !move.to || move.after === null) continue;
      if (move.on === "omission" && done.includes(`${move.skill}/${move.step}`)) continue;
      if (!first || move.after < first.move.after) first = { move, at: now.enteredAt + move.after };
    }
    return first;
  }

  /**
   * What the debrief reads from the log: times beside their targets, pauses, and steps called for but never marked.
   * Times are whole seconds, as the saved log holds them, so that the command reads the same from the file.
   */
  function readLog(run, happened) {
    const events = happened.map((event) => ({ ...event, at: Math.round(event.at) }));
    const at = (id) => (id === "start" ? 0 : events.find((event) => event.id === id)?.at);
    const times = run.targets.map((target) => {
      const since = at(target.since);
      const until = events.find((event) => event.id === target.until && event.at >= (since ?? 0))?.at;
      const took = since === undefined || until === undefined ? null : until - since;
      const outside = target.least ? took < target.seconds : took > target.seconds;
      return { ...target, took, late: took !== null && target.seconds !== null && outside };
    });
    const marked = new Set();
    const entered = [];
    const moves = new Map(run.states.flatMap((state) => state.moves.map((move) => [move.id, move])));
    for (const event of events) {
      const move = moves.get(event.id);
      if (event.kind === "move" && move?.on === "action") marked.add(`${move.skill}/${move.step}`);
      if (event.kind === "seen") marked.add(event.id);
      if (event.to) entered.push(event.to);
    }
    const missed = new Map();
    for (const state of run.states.filter((one) => entered.includes(one.id))) {
      for (const need of state.needs) {
        for (const step of need.steps) {
          if (step.critical && !marked.has(`${need.skill}/${step.id}`)) missed.set(`${need.skill}/${step.id}`, step.do);
        }
      }
    }
    const stops = events.filter((event) => event.kind === "stop").length;
    return { times, missed: [...missed.values()], stops };
  }

  /** The log as CSV (RFC 4180), one row an event. */
  function logCsv(run, events) {
    const rows = events.map((event) => [Math.round(event.at), clock(Math.round(event.at)), event.kind, event.id, event.to, event.says]);
    return [["second", "clock", "event", "move", "state", "words"], ...rows]
      .map((row) => `${row.map(rungbook.csvCell).join(",")}\r\n`)
      .join("");
  }

  function element(tag, attributes = {}, ...children) {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    made.append(...children);
    return made;
  }

  const list = (className, lines) =>
    element("ul", { class: className }, ...lines.map((line) => element("li", {}, line)));

  function button(className, words, pressed) {
    const made = element("button", { type: "button", class: className }, words);
    made.addEventListener("click", pressed);
    return made;
  }

  /** A store that a full or forbidden disk cannot break. */
  function keeper(key) {
    return {
      load() {
        try {
          return JSON.parse(localStorage.getItem(key) ?? "null");
        } catch {
          return null;
        }
      },
      save(value) {
        try {
          localStorage.setItem(key, JSON.stringify(value));
        } catch {
          /* The run goes on; only a reload would lose it. */
        }
      },
    };
  }

  function enhance(root) {
    if (root.dataset.ready) return;
    root.dataset.ready = "yes";
    const run = JSON.parse(root.dataset.run);
    const kept = keeper(`rungbook-run:${run.id}`);
    const fresh = () => ({ variant: 0, events: [], passed: 0, since: null, byItself: true });
    let held = kept.load() ?? fresh();
    if (!Array.isArray(held.events) || !run.variants[held.variant]) held = fresh();
    let timer = 0;

    const seconds = () => held.passed + (held.since === null ? 0 : (Date.now() - held.since) / 1000);
    const isOn = () => held.since !== null;
    const variant = () => run.variants[held.variant];
    const now = () => standing(run, held.events);

    function record(event) {
      held.events.push({ at: Math.round(seconds() * 10) / 10, ...event });
      if (now().ended) pause();
      kept.save(held);
      draw();
    }

    function pause() {
      held.passed = seconds();
      held.since = null;
    }

    function go() {
      held.since = Date.now();
    }

    function begin() {
      held.passed = 0;
      go();
      const state = run.states.find((one) => one.id === variant().start);
      record({ at: 0, kind: "start", to: variant().start, says: state.title });
    }

    function move(which, at) {
      const happened = { kind: "move", id: which.id, says: which.says };
      if (which.to) happened.to = which.to;
      if (at !== undefined) happened.at = at;
      record(happened);
    }

    function takeBack() {
      const gone = held.events.pop();
      // What happened by itself would happen again at once.
      if (run.states.some((state) => state.moves.some((one) => one.id === gone.id && one.on !== "action"))) held.byItself = false;
      // A stop that is taken back lets the clock run again; an end that is taken back too.
      if (!isOn() && held.events.length && held.events.at(-1).kind !== "stop" && !now().ended) go();
      if (!held.events.length) Object.assign(held, fresh(), { variant: held.variant });
      kept.save(held);
      draw();
    }

    function again() {
      if (!window.confirm("Start again? The log of this run is lost unless you saved it.")) return;
      held = fresh();
      kept.save(held);
      draw();
    }

    function save() {
      const file = new Blob([logCsv(run, held.events)], { type: "text/csv" });
      const link = element("a", { href: URL.createObjectURL(file), download: `${run.id}-log.csv` });
      link.click();
      URL.revokeObjectURL(link.href);
    }

    /* What is drawn anew at each event, and the few texts that follow the clock. */
    const time = element("output", { class: "rb-run-clock", "aria-label": "Scenario clock" });
    const next = element("p", { class: "rb-run-next" });
    const tiles = element("dl", { class: "rb-run-vitals" });
    const oxygen = element("p", { class: "rb-run-oxygen" });
    const said = element("p", { class: "rb-visually-hidden", role: "status" });
    const body = element("div", { class: "rb-run-body" });
    root.replaceChildren(said, body);
    const numbers = new Map();
    for (const reading of run.readings) {
      const value = element("strong");
      const term = element("dt", { title: reading.name }, reading.short);
      const tile = element("div", { hidden: "" }, term, element("dd", {}, value, " ", element("small", {}, reading.unit)));
      numbers.set(reading.id, { value, tile });
      tiles.append(tile);
    }

    function follow() {
      const at = seconds();
      const stand = now();
      time.textContent = clock(at);
      const due = nextByItself(stand);
      if (!stand.ended && isOn() && due && held.byItself && at >= due.at) {
        move(due.move, due.at);
        return;
      }
      const left = due ? ` in ${clock(Math.ceil(due.at - at))}` : "";
      next.textContent = due ? `${held.byItself ? "By itself" : "Held back"}${left}: ${due.move.says}` : "";
      const readings = readingsAt(stand, at);
      for (const [id, shown] of numbers) {
        // What no state has named yet is not known to anybody: no tile, rather than an empty one.
        shown.tile.hidden = readings[id] === undefined;
        if (readings[id] !== undefined) shown.value.textContent = String(Math.round(readings[id]));
      }
      if (variant().cylinder !== null) {
        oxygen.textContent = `Oxygen left if it was opened at the start: ${clock(variant().cylinder - at)}`;
      }
    }

    function draw() {
      window.clearInterval(timer);
      const stand = now();
      if (!held.events.length) body.replaceChildren(...before());
      else if (stand.ended) body.replaceChildren(...after(stand));
      else body.replaceChildren(...during(stand));
      follow();
      if (isOn()) timer = window.setInterval(follow, TICK_MS);
    }

    function patient() {
      const facts = variant().numbers.map((number) => `${number.name}: ${number.value}${number.flag ? ` (${number.flag})` : ""}`);
      return [element("p", { class: "rb-run-patient" }, variant().patient), list("rb-run-numbers", facts)];
    }

    function before() {
      const choose = element("select", { id: `variant-${run.id}` });
      run.variants.forEach((one, index) => {
        choose.append(element("option", { value: String(index) }, one.seed === null ? "As written" : `Seed ${one.seed}: ${one.patient}`));
      });
      choose.value = String(held.variant);
      choose.addEventListener("change", () => {
        held.variant = Number(choose.value);
        kept.save(held);
        draw();
      });
      const label = element("label", { for: choose.id }, "Variant");
      const start = button("rb-run-main", "Start the clock", begin);
      return [
        ...(run.variants.length > 1 ? [element("p", { class: "rb-run-variant" }, label, choose)] : []),
        ...patient(),
        element("p", { class: "rb-run-stopwords" }, run.stop),
        start,
      ];
    }

    const titled = (state) => (state.number ? `${state.number}. ${state.title}` : state.title);

    function during(stand) {
      const stopped = !isOn();
      said.textContent = stopped ? "Stopped" : stand.state.title;
      const actions = stand.state.moves.filter((one) => one.on === "action");
      const others = stand.state.moves.filter((one) => one.on !== "action" && one.to);
      const buttons = actions.map((one) => {
        const made = button(one.to ? "rb-run-act" : "rb-run-act rb-run-noteonly", one.says, () => move(one));
        made.disabled = stopped || (!one.to && stand.noted.has(one.id));
        if (!one.to && stand.noted.has(one.id)) made.append(element("span", { class: "rb-run-done" }, " noted"));
        return made;
      });
      const early = others.map((one) => {
        const made = button("rb-run-early", `Now: ${one.says}`, () => move(one));
        made.disabled = stopped;
        return made;
      });
      const box = element("input", { type: "checkbox" });
      box.checked = held.byItself;
      box.addEventListener("change", () => {
        held.byItself = box.checked;
        kept.save(held);
        follow();
      });
      const stop = stopped
        ? button("rb-run-main", "Go on", () => {
            go();
            record({ kind: "go", says: "Went on" });
          })
        : button("rb-run-stopbutton", "Stop, stop, stop", () => {
            pause();
            record({ kind: "stop", says: "Safety stop" });
          });
      const note = element("input", { type: "text", id: `note-${run.id}`, autocomplete: "off", maxlength: "200" });
      const write = element("form", { class: "rb-run-write" },
        element("label", { for: note.id }, "Note"), note, element("button", { type: "submit" }, "Add to the log"));
      write.addEventListener("submit", (event) => {
        event.preventDefault();
        if (note.value.trim()) record({ kind: "note", says: note.value.trim() });
      });
      const seen = new Set(held.events.filter((event) => event.kind === "seen").map((event) => event.id));
      const needs = stand.state.needs.map((need) =>
        element("fieldset", { class: "rb-run-need" }, element("legend", {}, `Seen: ${need.title}`),
          ...need.steps.map((step) => {
            const id = `${need.skill}/${step.id}`;
            const box = element("input", { type: "checkbox" });
            box.checked = seen.has(id);
            box.disabled = stopped || seen.has(id);
            box.addEventListener("change", () => record({ kind: "seen", id, says: step.do }));
            const words = element("span", {}, step.do, ...(step.critical ? [element("strong", {}, " critical")] : []));
            return element("label", { class: "rb-run-choice" }, box, words);
          })));
      return [
        element("div", { class: "rb-run-top" }, time, element("h2", { class: "rb-run-state" }, titled(stand.state)), stop),
        ...(stopped ? [element("p", { class: "rb-run-stopwords", role: "alert" }, `Stopped. ${run.stop}`)] : []),
        tiles,
        element("div", { class: "rb-run-actions" }, ...buttons),
        next,
        element("div", { class: "rb-run-side" },
          element("label", { class: "rb-run-choice" }, box, element("span", {}, "Let things happen by themselves")), ...early,
          ...(document.getElementById("pacers") ? [element("a", { class: "rb-run-topacers", href: "#pacers" }, "To the pacers")] : [])),
        element("h3", {}, "What they find"),
        list("rb-run-findings", stand.state.findings),
        ...(stand.state.say.length ? [element("h3", {}, "For you"), list("rb-run-say", stand.state.say)] : []),
        ...needs,
        element("details", { class: "rb-fold rb-run-more" }, element("summary", {}, "Patient and numbers"), ...patient(), oxygen),
        write,
        element("p", { class: "rb-run-tools" },
          button("rb-run-tool", "Take back the last", takeBack),
          button("rb-run-tool", "End here", () => record({ kind: "end", says: "Ended by the facilitator" }))),
        log(),
      ];
    }

    function log() {
      const rows = [...held.events].reverse().map((event) =>
        element("li", {}, element("span", { class: "rb-run-when" }, clock(event.at)), ` ${event.says}`));
      return element("section", { class: "rb-run-log", "aria-label": "Log" }, element("h3", {}, "Log, newest first"), element("ol", { reversed: "" }, ...rows));
    }

    function after(stand) {
      said.textContent = "The scenario has ended";
      const read = readLog(run, held.events);
      const times = read.times.map((one) => {
        const took = one.took === null ? "did not happen" : clock(one.took);
        const beside = one.says ? `; published: ${one.says}${one.took !== null && one.seconds !== null ? (one.late ? (one.least ? ", shorter" : ", longer") : ", within it") : ""}` : "";
        return `${one.name}: ${took}${beside}`;
      });
      const phases = run.debrief.map((phase) =>
        element("li", {}, element("h3", {}, `${phase.name}, ${phase.minutes} min`), element("p", {}, phase.aim), list("", phase.questions)));
      return [
        element("div", { class: "rb-run-top" }, time, element("h2", { class: "rb-run-state" }, stand.state.exit ? stand.state.title : "Ended by the facilitator")),
        element("p", {}, stand.state.exit ?? ""),
        element("h3", {}, "From the log"),
        list("rb-run-times", [...times, `Safety stops: ${read.stops}`]),
        ...(read.missed.length
          ? [element("p", {}, "Critical steps that were called for and never marked:"), list("rb-run-missed", read.missed)]
          : [element("p", {}, "Every critical step that was called for was marked.")]),
        element("h3", {}, "Debrief"),
        element("ol", { class: "rb-run-phases" }, ...phases),
        element("p", { class: "rb-run-tools" },
          button("rb-run-main", "Save the log as CSV", save),
          button("rb-run-tool", "Take back the last", takeBack),
          button("rb-run-tool", "Start again", again)),
        log(),
      ];
    }

    draw();
  }

  Object.assign(rungbook, { standing, readingsAt, nextByItself, readLog, logCsv });
  const all = () => document.querySelectorAll(".rb-run").forEach(enhance);
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", all);
  else all();
})();
