// Answers that were computed, kept until the page is closed: a small picture and the three verdicts of each. One is
// gone back to with a click; two are compared.

const tries = [];
const picked = new Set();
const KEEP_FILES = 8; // tries whose report and table are kept

const sameFiles = (files) => [...job.files].every(([name, base64]) => !job.text.includes(name) || files.get(name) === base64);
const tryOf = (text) => tries.find((t) => t.text === text && sameFiles(t.files));

function addTry(text, answer) {
  const before = tries.length ? tries[tries.length - 1].at : -1;
  const same = tries.indexOf(tryOf(text));
  const kept = { text, files: new Map(job.files), answer, name: job.name, label: wordsSince(before), at: past.at };
  if (same >= 0) tries[same] = { ...tries[same], answer };
  else tries.push(kept);
  tries.slice(0, -KEEP_FILES).forEach((t) => { t.answer.html = t.answer.csv = null; });
  showTries();
}

// What was done since the last try.
function wordsSince(at) {
  const steps = past.steps.slice(Math.max(0, Math.min(at, past.at - 1) + 1), past.at + 1).map((s) => s.label);
  const last = [...new Set(steps)].slice(-2);
  return (steps.length > 2 ? "\u2026 " : "") + last.join(", ");
}

function showTries() {
  $("strip").replaceChildren(...tries.map(tryItem));
  $("tries-help").hidden = tries.length > 1;
  $("compare").disabled = picked.size !== 2;
  $("compare").textContent = picked.size === 2 ? "compare these two" : "compare two";
}

const answersOf = (t) => t.answer.story.rules.map((r) => r.answer);

function tryItem(t, n) {
  const { story } = t.answer;
  const now = t.text === job.text;
  const choose = element("input", { type: "checkbox", checked: picked.has(t), onchange: (e) => {
    picked[e.target.checked ? "add" : "delete"](t);
    if (picked.size > 2) picked.delete([...picked][0]);
    showTries();
    $("strip").children[n].querySelector("input").focus();
  } });
  const states = element("span", { class: "states" }, story.rules.map((r) => element("span", { class: r.state }, signOf(r.state), ` ${r.label}`, element("span", { class: "unseen" }, ` ${r.state}`))));
  return element("li", { class: now ? "now" : null },
    element("button", { type: "button", class: "try", onclick: () => backTo(t), "aria-current": now ? "true" : null },
      element("img", { src: safePicture(t.answer.picture), alt: "" }),
      element("span", { class: "told" }, element("b", {}, `${n + 1}`), ` ${t.label}`), states),
    element("label", {}, choose, "compare"));
}

// The engine's pictures are addresses of PNGs; nothing else is shown.
const safePicture = (address) => (/^data:image\/png;base64,[A-Za-z0-9+/=]+$/.test(address || "") ? address : "data:,");

function backTo(t) {
  job.name = t.name;
  for (const [name, base64] of t.files) job.files.set(name, base64);
  change(t.text, `back to try ${tries.indexOf(t) + 1}`);
}

function markTry() {
  showTries();
}

const FIGURES = [
  ["thinnest", (s) => firstWork(s).thickness_m.min, micrometres],
  ["mean thickness", (s) => firstWork(s).thickness_m.mean, micrometres],
  ["thickest", (s) => firstWork(s).thickness_m.max, micrometres],
  ["thinnest over mean", (s) => firstWork(s).thickness_m.min / firstWork(s).thickness_m.mean, (v) => digits(v)],
  ["share of the limiting current", (s) => s.verdict.sound.share, (v) => `${digits(100 * v)} %`],
  ["volts", (s) => s.voltage_v, (v) => `${digits(v)} V`],
  ["amperes", (s) => s.current_a, (v) => `${digits(v)} A`],
  ["time", (s) => s.time_s, (v) => `${digits(v / 3600)} h`],
  ["energy", (s) => s.energy_j, (v) => `${digits(v / 3.6e6)} kWh`],
];

const firstWork = (summary) => summary.bodies.find((b) => b.role === "work");
function micrometres(v) {
  return Math.abs(v) >= 1e-3 ? `${digits(1e3 * v)} mm` : `${digits(1e6 * v)} \u00b5m`;
}

function compareTries() {
  const two = tries.filter((t) => picked.has(t));
  const head = two.map((t) => `try ${tries.indexOf(t) + 1}: ${t.label}`);
  const sides = two.map((t) => element("div", { class: "side" },
    element("h3", {}, `try ${tries.indexOf(t) + 1}: ${t.label}`),
    element("img", { src: safePicture(t.answer.picture), alt: `the part of try ${tries.indexOf(t) + 1}, coloured by thickness` }),
    element("p", { class: t.answer.story.state }, element("span", {}, signOf(t.answer.story.state), ` ${t.answer.story.head}`))));
  const rows = FIGURES.flatMap(([words, read, told]) => {
    try {
      const [a, b] = two.map((t) => read(t.answer.summary));
      if (!Number.isFinite(a) || !Number.isFinite(b)) return [];
      const change = digits(a) === digits(b) ? "same" : a !== 0 ? `${b >= a ? "+" : "\u2212"}${digits(Math.abs(100 * (b / a - 1)))} %` : "";
      return [element("tr", {}, element("th", { scope: "row" }, words), [told(a), told(b), change].map((w) => element("td", {}, w)))];
    } catch {
      return []; // a figure that one of them does not have
    }
  });
  const table = element("table", {}, element("thead", {}, element("tr", {}, ["figure", ...head, "change"].map((h) => element("th", { scope: "col" }, h)))), element("tbody", {}, rows));
  showDialog("Two tries beside each other", element("div", { class: "sides" }, sides), element("div", { class: "table", tabindex: 0, role: "region", "aria-label": "figures of both" }, table), linesApart(two));
}

// Lines of the text that only one of them has.
function linesApart([a, b]) {
  const [one, two] = [a, b].map((t) => t.text.split("\n").map((l) => l.trim()).filter((l) => l && !l.startsWith("#")));
  const only = (x, y) => x.filter((l) => !y.includes(l)).slice(0, 20);
  const [gone, come] = [only(one, two), only(two, one)];
  if (!gone.length && !come.length) return null;
  return element("div", {}, element("h3", {}, "What differs in the text"), element("pre", { tabindex: 0 }, [...gone.map((l) => `\u2212 ${l}`), ...come.map((l) => `+ ${l}`)].join("\n")));
}

function showDialog(title, ...content) {
  const dialog = $("dialog");
  dialog.replaceChildren(element("div", { class: "line" }, element("h2", { id: "dialog-title" }, title), button("close", () => dialog.close())), ...content.filter(Boolean));
  dialog.showModal();
}

function onTries() {
  $("compare").addEventListener("click", compareTries);
  onJob(showTries);
}
