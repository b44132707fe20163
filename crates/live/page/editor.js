// The job's text beside the drawings, in step with them; its faults stand below it and at their lines.

function showText() {
  const source = $("source");
  if (job.text !== null && source.value !== job.text) {
    const { scrollTop, scrollLeft, selectionStart } = source;
    source.value = job.text;
    source.selectionStart = source.selectionEnd = Math.min(selectionStart, job.text.length);
    Object.assign(source, { scrollTop, scrollLeft });
  }
  showNumbers();
}

function showNumbers() {
  const count = $("source").value.split("\n").length;
  const faulty = new Set(seen.text === job.text && !seen.faults.length ? [] : seen.faults.map((f) => f.line));
  const lines = Array.from({ length: count }, (_, n) => element("span", { class: faulty.has(n + 1) ? "faulty" : null }, `${faulty.has(n + 1) ? "\u2717 " : ""}${n + 1}\n`));
  $("numbers").replaceChildren(...lines);
  follow();
}

function follow() {
  $("numbers").scrollTop = $("source").scrollTop;
}

function showFaults() {
  const made = seen.faults.map((f) => element("div", { class: "fault" },
    button(`line ${f.line}`, () => goTo(f)), element("p", {}, f.message, f.help ? element("span", { class: "help" }, ` ${f.help}`) : null)));
  if (seen.error) made.push(element("p", { class: "fault" }, seen.error));
  if (made.length) made.push(button("back to the last whole text", backToWhole));
  $("faults").replaceChildren(...made);
  $("tab-text").classList.toggle("faulty", made.length > 0);
  showNumbers();
}

// Marks what is wrong in the text.
function goTo({ line, from, to }) {
  showTab("text");
  const source = $("source");
  const bytes = new TextEncoder().encode(source.value);
  const letters = (until) => new TextDecoder().decode(bytes.slice(0, until)).length;
  source.focus();
  const start = Number.isFinite(from) ? letters(from) : source.value.split("\n").slice(0, line - 1).join("\n").length + 1;
  source.setSelectionRange(start, Number.isFinite(to) ? letters(to) : start);
  source.scrollTop = (line - 4) * parseFloat(getComputedStyle(source).lineHeight);
  follow();
}

function backToWhole() {
  if (seen.text !== null) change(seen.text, "back to the last whole text");
}

function onEditor() {
  const source = $("source");
  source.addEventListener("input", () => change(source.value, "the text", "typing"));
  source.addEventListener("scroll", follow);
  onJob(showText);
  onLook(showFaults);
}
