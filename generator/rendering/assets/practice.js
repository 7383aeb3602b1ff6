/* The practice checklist: ticks that stay on this device, and one attempt as a row of CSV.
 *
 * A page holds `<form class="rb-practice" data-skill="ID" data-revision="REV">` with a row for each step:
 * `<label class="rb-tick"><input type="checkbox" name="STEP">…</label>`, and `data-critical` on the row of a critical step.
 * Optional on the form, as JSON: `data-ladder`, a list of `{"rung", "name", "trainer", "trainer_name", "steps"}` (ids and
 * their names; `steps` only where a rung practises some of them), and `data-roles`, a list of `{"id", "name"}`.
 *
 * What is kept: which steps are ticked, on which day, and an attempt id of its moment and chance. Never a code of a learner or an evaluator.
 */
(() => {
  "use strict";

  const rungbook = (window.rungbook ??= {});

  const COLUMNS = [
    "date", "learner", "skill", "rung", "trainer", "evaluator", "role", "team_role", "attempt", "revision", "missed",
    "unseen", "note",
  ];

  /** A cell that no spreadsheet takes for a formula: text that starts like one gets an apostrophe before it. */
  function inert(text) {
    const plain = String(text ?? "").trim();
    return /^[=+\-@\t\r\n＝＋－＠]/.test(plain) ? `'${plain}` : plain;
  }

  /** One field after RFC 4180, section 2: quoted where it holds a comma, a quote or a line break. */
  function quoted(text) {
    return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  }

  /**
   * Rows of the attempts format, each ended by CR LF.
   * @param {object[]} attempts objects with the names of the columns; `missed` and `unseen` are lists of step ids
   * @param {boolean} withHeader whether the first row names the columns
   * @returns {string}
   */
  function attemptsCsv(attempts, withHeader = true) {
    const rows = attempts.map((attempt) =>
      COLUMNS.map((column) => {
        const value = attempt[column];
        return quoted(inert(Array.isArray(value) ? value.join(" ") : value));
      }),
    );
    return [...(withHeader ? [COLUMNS] : []), ...rows].map((row) => `${row.join(",")}\r\n`).join("");
  }

  /**
   * How far the list is, in words: "7 of 14 steps, 2 critical left".
   * @param {{ticked: boolean, critical: boolean}[]} steps
   * @returns {string}
   */
  function progressText(steps) {
    const done = steps.filter((step) => step.ticked).length;
    const left = steps.filter((step) => step.critical && !step.ticked).length;
    const count = `${done} of ${steps.length} steps`;
    if (!steps.some((step) => step.critical)) return count;
    return left ? `${count}, ${left} critical left` : `${count}, no critical step left`;
  }

  /* Storage that may be refused: a private window, a full disk, a rule of the browser. Then ticks last as long as the page. */
  function openStore() {
    try {
      const probe = "rungbook/probe";
      window.localStorage.setItem(probe, "1");
      window.localStorage.removeItem(probe);
      return { lasts: true, area: window.localStorage };
    } catch {
      const kept = new Map();
      return {
        lasts: false,
        area: {
          get length() {
            return kept.size;
          },
          key: (place) => [...kept.keys()][place] ?? null,
          getItem: (key) => kept.get(key) ?? null,
          setItem: (key, value) => void kept.set(key, value),
          removeItem: (key) => void kept.delete(key),
        },
      };
    }
  }

  const keysUnder = (area, prefix) =>
    Array.from({ length: area.length }, (_, place) => area.key(place)).filter((key) => key?.startsWith(prefix));

  function today() {
    const now = new Date();
    const two = (number) => String(number).padStart(2, "0");
    return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
  }

  // Attempts of one day are taken in the order of their ids, so an id begins with the moment it was made.
  function newAttemptId() {
    const random = crypto.getRandomValues(new Uint8Array(5));
    return `a${Date.now()}-${Array.from(random, (byte) => byte.toString(16).padStart(2, "0")).join("")}`;
  }

  function fromJson(text) {
    try {
      const value = JSON.parse(text || "[]");
      return Array.isArray(value) ? value : [];
    } catch {
      return [];
    }
  }

  function element(tag, attributes = {}, ...children) {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    made.append(...children);
    return made;
  }

  const button = (text, extra = {}) => element("button", { type: "button", class: "rb-practice-button", ...extra }, text);

  let fields = 0; // numbers the ids of fields, so that two lists in one page do not clash

  function field(label, control, hint) {
    control.id = `rb-practice-field-${(fields += 1)}`;
    const parts = [element("label", { for: control.id }, label)];
    if (hint) {
      parts.push(element("p", { id: `${control.id}-hint`, class: "rb-practice-hint" }, hint));
      control.setAttribute("aria-describedby", `${control.id}-hint`);
    }
    return element("div", { class: "rb-practice-field" }, ...parts, control);
  }

  const textbox = (extra = {}) =>
    element("input", { type: "text", autocomplete: "off", autocapitalize: "off", spellcheck: "false", ...extra });

  // A code has no blank in it, so that a name in full is refused.
  const codebox = () => textbox({ required: "", maxlength: "40", pattern: "[A-Za-z0-9][A-Za-z0-9._\\-]*" });

  function select(options, first) {
    const made = element("select", { autocomplete: "off" });
    if (first !== undefined) made.append(element("option", { value: "" }, first));
    made.append(...options.map(({ value, text }) => element("option", { value }, text)));
    return made;
  }

  function enhance(form) {
    const { skill, revision } = form.dataset;
    if (form.dataset.ready || !skill || !revision) return;
    form.dataset.ready = "yes";
    const store = openStore();
    const kept = `rungbook/ticks/${skill}/`;
    const mine = `${kept}${revision}/`;
    const attemptKey = `rungbook/attempt/${skill}/${revision}`;

    const steps = [...form.querySelectorAll(".rb-tick input[type=checkbox]")].map((box) => {
      const row = box.closest(".rb-tick");
      return {
        id: box.name,
        box,
        text: (row.querySelector(".rb-tick-text") ?? row).textContent.replace(/\s+/g, " ").trim(),
        critical: row.hasAttribute("data-critical") || box.hasAttribute("data-critical"),
      };
    });
    const state = () => steps.map(({ box, critical }) => ({ ticked: box.checked, critical }));
    const tickDays = () => steps.map(({ id }) => store.area.getItem(mine + id)).filter(Boolean).sort();

    const progress = element("p", { class: "rb-practice-progress", role: "status" });
    const notices = element("div", { class: "rb-practice-notices" });
    const said = element("p", { class: "rb-practice-said", role: "status" });
    const clearButton = button("Clear all ticks", { "aria-expanded": "false" });
    const exportButton = button("Save this attempt as CSV", { "aria-expanded": "false" });
    const confirmation = element("div", { class: "rb-practice-confirm", role: "group" });
    const panel = element("div", { class: "rb-practice-export" });
    confirmation.hidden = panel.hidden = true;

    function keep(step) {
      try {
        if (step.box.checked) store.area.setItem(mine + step.id, today());
        else store.area.removeItem(mine + step.id);
      } catch {
        tellUnkept();
      }
    }

    function attemptId() {
      const before = store.area.getItem(attemptKey);
      if (before) return before;
      const made = newAttemptId();
      try {
        store.area.setItem(attemptKey, made);
      } catch {
        tellUnkept();
      }
      return made;
    }

    function restore() {
      for (const { id, box } of steps) box.checked = store.area.getItem(mine + id) !== null;
      show();
    }

    function show() {
      progress.textContent = progressText(state());
      clearButton.disabled = !steps.some(({ box }) => box.checked);
      if (!panel.hidden) showUnticked();
    }

    function notice(name, text, ...more) {
      notices.querySelector(`[data-notice="${name}"]`)?.remove();
      notices.append(element("div", { class: "rb-practice-notice", "data-notice": name }, element("p", {}, text), ...more));
    }

    function tellUnkept() {
      notice("unkept", "This browser does not let the page keep ticks. They are lost when the page closes.");
    }

    function tellOfOldTicks() {
      const old = keysUnder(store.area, kept).filter((key) => !key.startsWith(mine));
      if (!old.length) return;
      const forget = button("Forget the old ticks");
      forget.addEventListener("click", () => {
        old.forEach((key) => store.area.removeItem(key));
        keysUnder(store.area, `rungbook/attempt/${skill}/`)
          .filter((key) => key !== attemptKey)
          .forEach((key) => store.area.removeItem(key));
        notices.querySelector('[data-notice="changed"]')?.remove();
        said.textContent = "The old ticks are forgotten.";
        steps[0]?.box.focus();
      });
      notice(
        "changed",
        `The sheet has changed: this is revision ${revision}. Ticks made on an earlier revision are not shown.`,
        forget,
      );
    }

    function tellOfOtherDay() {
      const [first] = tickDays();
      if (first && first < today()) notice("day", `Some ticks here were made on ${first}. Clear them before a new attempt.`);
    }

    /* Clearing asks first, in the page; Escape and "Keep" lead back. */
    function closeConfirmation() {
      confirmation.hidden = true;
      clearButton.setAttribute("aria-expanded", "false");
    }

    function askToClear() {
      const count = steps.filter(({ box }) => box.checked).length;
      const keepThem = button("Keep them");
      const clearThem = button(`Clear ${count} ${count === 1 ? "tick" : "ticks"}`, { "data-weight": "strong" });
      const question = element("p", { id: `rb-practice-ask-${skill}` }, "Clear every tick of this skill on this device?");
      confirmation.replaceChildren(question, clearThem, keepThem);
      confirmation.setAttribute("aria-labelledby", question.id);
      keepThem.addEventListener("click", () => {
        closeConfirmation();
        clearButton.focus();
      });
      clearThem.addEventListener("click", () => {
        clear();
        closeConfirmation();
        steps[0]?.box.focus();
      });
      confirmation.hidden = false;
      clearButton.setAttribute("aria-expanded", "true");
      keepThem.focus();
    }

    function clear() {
      for (const { id, box } of steps) {
        box.checked = false;
        store.area.removeItem(mine + id);
      }
      store.area.removeItem(attemptKey);
      notices.querySelector('[data-notice="day"]')?.remove();
      show();
      said.textContent = "All ticks are cleared.";
    }

    /* The export asks for codes when it is opened and forgets them when it is closed. */
    const ladder = fromJson(form.dataset.ladder);
    const roles = fromJson(form.dataset.roles);
    const ask = {
      learner: codebox(),
      date: element("input", { type: "date", required: "", autocomplete: "off" }),
      rung: ladder.length
        ? select(ladder.map(({ rung, name }) => ({ value: rung, text: name || rung })), "Choose")
        : textbox({ maxlength: "60" }),
      trainer: textbox({ maxlength: "60" }),
      evaluator: codebox(),
      role: select([{ value: "peer", text: "Peer" }, { value: "instructor", text: "Instructor" }], "Choose"),
      team_role: roles.length
        ? select(roles.map(({ id, name }) => ({ value: id, text: name || id })), "Choose")
        : textbox({ maxlength: "60" }),
      note: textbox({ maxlength: "300" }),
    };
    for (const name of ["rung", "trainer", "role"]) ask[name].required = true;
    ask.team_role.required = roles.length > 0;
    // The rung's own trainer is filled in; another can be typed, with the names of the ladder's trainers at hand.
    const trainers = element("datalist", { id: `rb-practice-trainers-${skill}` });
    for (const [id, name] of new Map(ladder.map(({ trainer, trainer_name }) => [trainer, trainer_name || trainer])))
      trainers.append(element("option", { value: id, label: name }));
    ask.trainer.setAttribute("list", trainers.id);
    const untickedList = element("fieldset", { class: "rb-practice-unticked" });
    const save = button("Save as a CSV file", { "data-weight": "strong" });
    const copy = button("Copy the row without its header");
    const close = button("Close");
    copy.hidden = typeof navigator.clipboard?.writeText !== "function";

    const rungSteps = () => {
      const listed = ladder.find(({ rung }) => rung === ask.rung.value)?.steps;
      return listed?.length ? steps.filter(({ id }) => listed.includes(id)) : steps;
    };
    const unticked = () => rungSteps().filter(({ box }) => !box.checked);

    function showUnticked() {
      const unseen = new Set(marked());
      const rows = unticked().map(({ id, text }) => {
        const box = element("input", { type: "checkbox", value: id, autocomplete: "off" });
        box.checked = unseen.has(id);
        return element("label", { class: "rb-practice-unseen" }, box, element("span", {}, `Not seen: ${text}`));
      });
      untickedList.hidden = !rows.length;
      untickedList.replaceChildren(
        element("legend", {}, "Steps without a tick"),
        element(
          "p",
          { class: "rb-practice-hint" },
          "Each counts as missed. Mark “not seen” only where nobody could see whether it was done.",
        ),
        ...rows,
      );
    }

    const marked = () => [...untickedList.querySelectorAll("input:checked")].map((box) => box.value);

    function attempt() {
      const unseen = marked();
      return {
        ...Object.fromEntries(Object.entries(ask).map(([name, control]) => [name, control.value])),
        skill,
        revision,
        attempt: attemptId(),
        missed: unticked().map(({ id }) => id).filter((id) => !unseen.includes(id)),
        unseen,
      };
    }

    function complete() {
      const wrong = Object.values(ask).find((control) => !control.checkValidity());
      if (!wrong) return true;
      right(wrong);
      const what = element(
        "p",
        { id: `${wrong.id}-error`, class: "rb-practice-error" },
        wrong.validity.patternMismatch
          ? "Use letters and digits, no blanks: a code, not a name."
          : "The row needs this.",
      );
      wrong.before(what);
      wrong.setAttribute("aria-invalid", "true");
      wrong.setAttribute("aria-errormessage", what.id);
      wrong.setAttribute("aria-describedby", what.id);
      wrong.focus();
      return false;
    }

    function right(control) {
      document.getElementById(`${control.id}-error`)?.remove();
      if (!control.hasAttribute("aria-invalid")) return;
      for (const name of ["aria-invalid", "aria-errormessage", "aria-describedby"]) control.removeAttribute(name);
    }

    function openExport() {
      ask.date.value = tickDays().at(-1) ?? today();
      panel.hidden = false;
      exportButton.setAttribute("aria-expanded", "true");
      showUnticked();
      ask.learner.focus();
    }

    function closeExport() {
      for (const control of Object.values(ask)) {
        control.value = "";
        right(control);
      }
      untickedList.replaceChildren();
      panel.hidden = true;
      exportButton.setAttribute("aria-expanded", "false");
    }

    function saveFile() {
      if (!complete()) return;
      const row = attempt();
      const url = URL.createObjectURL(new Blob([attemptsCsv([row])], { type: "text/csv;charset=utf-8;header=present" }));
      const link = element("a", { href: url, download: `attempt-${skill}-${row.date}-${row.attempt}.csv` });
      link.click();
      setTimeout(() => URL.revokeObjectURL(url), 10_000);
      finish("The file is saved. Clear the ticks before the next attempt.");
    }

    function copyRow() {
      if (!complete()) return;
      navigator.clipboard.writeText(attemptsCsv([attempt()], false)).then(
        () => finish("The row is copied. Clear the ticks before the next attempt."),
        () => {
          said.textContent = "This browser does not let the page copy. Save the file instead.";
        },
      );
    }

    function finish(text) {
      closeExport();
      said.textContent = text;
      exportButton.focus();
    }

    panel.append(
      element("p", {}, "One row for one attempt. Use codes, never names. The codes go into the file and are not kept here."),
      field("Learner code", ask.learner),
      field("Date of the attempt", ask.date),
      field("Rung", ask.rung),
      field("Trainer", ask.trainer),
      trainers,
      field("Evaluator code", ask.evaluator),
      field("Evaluator is a", ask.role),
      field("Team role of the learner", ask.team_role, roles.length ? "" : "Leave empty in a skill for one person."),
      untickedList,
      field("Note", ask.note, "A few words, no names."),
      element("div", { class: "rb-practice-actions" }, save, copy, close),
    );

    for (const step of steps) {
      step.box.autocomplete = "off"; // or a reload may bring back the browser's own memory of the box
      step.box.addEventListener("change", () => {
        keep(step);
        said.textContent = "";
        if (!confirmation.hidden) closeConfirmation();
        show();
      });
    }
    clearButton.addEventListener("click", () => (confirmation.hidden ? askToClear() : closeConfirmation()));
    exportButton.addEventListener("click", () => (panel.hidden ? openExport() : closeExport()));
    save.addEventListener("click", saveFile);
    copy.addEventListener("click", copyRow);
    close.addEventListener("click", () => finish(""));
    ask.rung.addEventListener("change", () => {
      const plan = ladder.find(({ rung }) => rung === ask.rung.value);
      if (plan?.trainer) ask.trainer.value = plan.trainer;
      showUnticked();
    });
    for (const control of Object.values(ask)) control.addEventListener("input", () => right(control));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (!panel.hidden) saveFile();
    });
    form.addEventListener("keydown", (event) => {
      if (event.key !== "Escape") return;
      if (confirmation.contains(document.activeElement)) {
        closeConfirmation();
        clearButton.focus();
      } else if (panel.contains(document.activeElement)) finish("");
    });
    window.addEventListener("storage", (event) => {
      if (event.key === null || event.key.startsWith(mine)) restore();
    });
    window.addEventListener("pagehide", closeExport); // a page kept for "back" must not keep the codes

    form.prepend(notices);
    form.append(
      progress,
      element("div", { class: "rb-practice-actions" }, exportButton, clearButton),
      confirmation,
      panel,
      said,
    );
    form.classList.add("is-ready");
    if (!store.lasts) tellUnkept();
    tellOfOldTicks();
    tellOfOtherDay();
    restore();
  }

  const enhanceAll = () => document.querySelectorAll("form.rb-practice").forEach(enhance);
  const csvCell = (value) => quoted(inert(value));

  Object.assign(rungbook, { attemptsCsv, csvCell, inert, progressText, ATTEMPT_COLUMNS: COLUMNS });
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", enhanceAll);
  else enhanceAll();
  // Where the theme swaps pages without loading them, it tells so here.
  window.document$?.subscribe?.(enhanceAll);
})();
