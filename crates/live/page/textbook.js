// Classic cases with known answers: the sliders of each, and the exact curve beside the computed one.

const book = { cases: null, now: null, values: {}, asked: 0 };
const CHART = { width: 640, height: 360, left: 62, right: 110, top: 16, bottom: 46 };

async function showTextbook() {
  if (!book.cases) {
    $("textbook").replaceChildren(element("section", {}, element("p", {}, "Opening the textbook\u2026")));
    const reply = await quick.ask({ ask: "textbook" });
    if (!reply.ok) { $("textbook").replaceChildren(element("section", {}, element("p", { class: "fault" }, refusal(reply)))); return; }
    book.cases = reply.ok;
  }
  const list = element("select", { id: "case", onchange: (e) => openCase(e.target.value) }, book.cases.map((c) => element("option", { value: c.id }, c.title)));
  $("textbook").replaceChildren(
    element("section", { "aria-label": "Textbook" }, element("h2", {}, "The textbook"),
      element("p", {}, "Cells whose answer is known exactly. The line is the formula, the dots are what this page computes just now."),
      labelled("case", list), element("div", { id: "told" }), element("div", { id: "sliders" })),
    element("section", { id: "curve", "aria-label": "Exact and computed" }));
  openCase(book.now || book.cases[0].id);
}

function openCase(id) {
  const one = book.cases.find((c) => c.id === id);
  book.now = id;
  $("case").value = id;
  book.values = Object.fromEntries(one.sliders.map((s) => [s.name, s.value]));
  $("told").replaceChildren(...one.told.map((t) => element("p", {}, t)));
  $("sliders").replaceChildren(...one.sliders.map(sliderOf));
  computeCase();
}

function sliderOf({ name, label, unit, from, to, value, step }) {
  const output = element("output", {}, `${digits(value)} ${printedUnit(unit || "")}`);
  const input = element("input", { type: "range", min: from, max: to, step: step || (to - from) / 100, value, oninput: () => {
    book.values[name] = Number(input.value);
    output.textContent = `${digits(book.values[name])} ${printedUnit(unit || "")}`;
    computeSoon();
  } });
  const made = labelled(label, input, { class: "field slider" });
  made.append(output);
  return made;
}

const computeSoon = later(120, computeCase);

async function computeCase() {
  const mine = ++book.asked;
  solver.cancel();
  $("curve").setAttribute("aria-busy", "true");
  const reply = await solver.ask({ ask: "textbook", id: book.now, values: book.values });
  if (mine !== book.asked || reply.cancelled) return;
  $("curve").removeAttribute("aria-busy");
  if (!reply.ok) { $("curve").replaceChildren(element("p", { class: "fault" }, refusal(reply))); return; }
  const { chart, rows, source } = reply.ok;
  const content = [element("h2", {}, chart ? chart.title : book.cases.find((c) => c.id === book.now).title), chart && chartOf(chart),
    element("div", { class: "table", tabindex: 0, role: "region", "aria-label": "exact and computed figures" }, element("table", {},
      element("thead", {}, element("tr", {}, ["quantity", "computed", "exact", "difference"].map((h) => element("th", { scope: "col" }, h)))),
      element("tbody", {}, rows.map(([head, ...cells]) => element("tr", {}, element("th", { scope: "row" }, head), cells.map((c) => element("td", {}, c))))))),
    element("p", { class: "soft" }, source)];
  $("curve").replaceChildren(...content.filter(Boolean));
}

// Round values between two, about so many.
function ticksOf(low, high, count) {
  const raw = (high - low) / count || 1;
  const size = 10 ** Math.floor(Math.log10(raw));
  const step = size * [1, 2, 5, 10].find((s) => s * size >= raw);
  const ticks = [];
  for (let v = Math.ceil(low / step - 1e-9) * step; v <= high + 1e-9 * step; v += step) ticks.push(Number(v.toPrecision(10)));
  return ticks;
}

function chartOf({ title, x, y, series }) {
  const { width, height, left, right, top, bottom } = CHART;
  const all = series.flatMap((s) => s.points).filter((p) => p.every(Number.isFinite));
  const ends = (k) => [Math.min(...all.map((p) => p[k])), Math.max(...all.map((p) => p[k]))];
  const [x0, x1] = ends(0), high = Math.max(ends(1)[1], 0) * 1.05 || 1, low = Math.min(0, ends(1)[0]);
  const u = (v) => left + ((width - left - right) * (v - x0)) / (x1 - x0 || 1);
  const w = (v) => height - bottom - ((height - top - bottom) * (v - low)) / (high - low);
  const axis = (words, unit) => (unit ? `${words}, ${printedUnit(unit)}` : words);
  return drawn("svg", { class: "chart", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": `${title}: ${axis(y.label, y.unit)} over ${axis(x.label, x.unit)}, ${series.map((s) => s.label).join(" and ")}` },
    ticksOf(x0, x1, 6).map((v) => [drawn("path", { class: "tick", d: `M${u(v)} ${height - bottom}v5` }), drawn("text", { x: u(v), y: height - bottom + 19, "text-anchor": "middle" }, String(v))]),
    ticksOf(low, high, 5).map((v) => [drawn("path", { class: "grid", d: `M${left} ${w(v)}H${width - right}` }), drawn("text", { x: left - 8, y: w(v) + 4, "text-anchor": "end" }, String(v))]),
    drawn("text", { x: (left + width - right) / 2, y: height - 6, "text-anchor": "middle" }, axis(x.label, x.unit)),
    drawn("text", { x: 14, y: (top + height - bottom) / 2, "text-anchor": "middle", transform: `rotate(-90 14 ${(top + height - bottom) / 2})` }, axis(y.label, y.unit)),
    series.map(({ label, points }, n) => {
      const known = points.filter((p) => p.every(Number.isFinite));
      const last = known[known.length - 1] || [x1, 0];
      return drawn("g", { class: `series s${n}` }, label === "computed"
        ? known.map(([a, b]) => drawn("circle", { cx: u(a), cy: w(b), r: 3 }))
        : drawn("path", { d: known.map(([a, b], k) => `${k ? "L" : "M"}${u(a).toFixed(1)} ${w(b).toFixed(1)}`).join("") }),
      drawn("text", { x: width - right + 8, y: spacedLabel(w(last[1]), n) }, label));
    }));
}

const spacedLabel = (y, n) => y + (n ? 14 : -6);
