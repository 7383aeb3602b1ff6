/* Collects the answers of this page and saves them as CSV: sheet, what, answer. Nothing is sent anywhere. */
(() => {
  "use strict";

  const cell = (text) => {
    const inert = /^[=+\-@\t\r\n]/.test(text) ? `'${text}` : text;
    return /[",\r\n]/.test(inert) ? `"${inert.replaceAll('"', '""')}"` : inert;
  };

  function answers() {
    const rows = [];
    for (const sheet of document.querySelectorAll(".sheet")) {
      for (const asked of sheet.querySelectorAll("fieldset")) {
        const chosen = asked.querySelector("input:checked") ?? asked.querySelector("input[type=text]");
        const answer = chosen?.value.trim();
        if (answer) rows.push([sheet.dataset.sheet, asked.dataset.what, answer]);
      }
    }
    return rows;
  }

  function count() {
    const all = document.querySelectorAll("fieldset").length;
    const done = answers().length;
    document.getElementById("count").textContent = `${done} of ${all} answered`;
  }

  document.addEventListener("input", count);
  document.getElementById("save").addEventListener("click", () => {
    const rows = [["sheet", "what", "answer"], ...answers()];
    const file = new Blob([rows.map((row) => `${row.map(cell).join(",")}\r\n`).join("")], { type: "text/csv" });
    const link = document.createElement("a");
    link.href = URL.createObjectURL(file);
    link.download = "answers.csv";
    link.click();
    URL.revokeObjectURL(link.href);
  });
  count();
})();
