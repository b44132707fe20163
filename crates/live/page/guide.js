// The first screen without a job: what hangs in the tank, in which bath, before which anodes, for how much metal. Each
// question has an answer already; beside them the tank is drawn as they are answered.

const given = JSON.parse($("start").textContent);
const BUILT_IN = [["plate", "a plate"], ["ball", "a ball"], ["tube", "a tube"], ["medal", "a medal"]];
const guide = {
  look: null, asked: 0,
  answers: {
    title: "My part", tank: [300, 200, 200], bath: { kind: "acid copper", recipe: "electroforming" }, agitation: "air", work: { shape: "medal" },
    anodes: 2, current: "2 A/dm2", wanted: "0.1 mm",
  },
};
const AGITATIONS = ["still", "rod", "air", "pumped", "ultrasonic"];
const MESH_UNITS = ["mm", "cm", "m", "in"];

const shapes = () => (given.shapes || []).map((s) => (Array.isArray(s) ? s : typeof s === "string" ? [s, s] : [s.word, s.label])).concat(given.shapes && given.shapes.length ? [] : BUILT_IN);

function showGuide() {
  const { answers } = guide;
  const { work } = answers;
  $("guide").replaceChildren(
    element("section", { id: "questions", "aria-label": "A tank in a minute" },
      element("h2", {}, "Where will the metal land?"),
      element("p", { class: "lead" }, "Say what hangs in your tank. Every question has a usual answer already, so you can press the button at once and change things afterwards."),
      element("form", { onsubmit: (e) => { e.preventDefault(); beginJob(); } },
        question("What hangs there?", workQuestion(work)),
        question("How large is the tank inside?", tankQuestion()),
        question("Which bath?", bathQuestion()),
        question("How many anodes?", choicesOf("anodes", [[1, "one"], [2, "two"], [3, "three"], [4, "four"]], answers.anodes, (v) => answer("anodes", Number(v)))),
        question("How much current, on average over the part?", quantityField("current", "mean current density", ["A/dm2", "A/m2", "mA/cm2", "A/ft2"])),
        question("How thick should the metal be, at the thinnest place?", quantityField("wanted", "wanted thickness", ["mm", "um", "mil", "in"])),
        element("p", { class: "go" }, element("button", { type: "submit", class: "main", id: "begin" }, "Show me where the metal lands")), element("p", { id: "wrong", class: "fault", role: "status" }))),
    element("section", { id: "preview", "aria-label": "The tank as you describe it" }, element("h2", {}, "Your tank"), element("div", { id: "sketch" }), element("div", { id: "figures" })),
    element("section", { id: "others", "aria-label": "Finished jobs" }, element("h2", {}, "Or begin with a finished job"), element("div", { class: "cards" }, othersOf())));
  askPreview();
}

let questions = 0;
function question(words, ...fields) {
  const id = `question-${++questions}`;
  return element("div", { class: "question", role: "group", "aria-labelledby": id }, element("h3", { id }, words), element("div", { class: "answer" }, fields.flat()));
}

function answer(key, value) {
  guide.answers[key] = value;
  askPreview();
}

function choicesOf(name, choices, chosen, act) {
  return choices.map(([value, words]) => element("label", { class: "tile" },
    element("input", { type: "radio", name, value, checked: value === chosen, onchange: (e) => act(e.target.value) }), words));
}

function workQuestion(work) {
  const chosen = work.shape && !work.file ? work.shape : "file";
  const tiles = choicesOf("work", shapes(), chosen, (shape) => { guide.answers.work = { shape }; showGuide(); focusChoice("work"); });
  const pick = element("button", { type: "button", class: `tile${work.file ? " picked" : ""}`, onclick: () => $("open-file").click() }, work.file ? `my file: ${work.file}` : "my own shape or picture\u2026");
  const hint = element("p", { class: "hint" }, "STL, OBJ or PLY from a drawing program; a picture (PNG) becomes a relief, bright is high. It stays on this machine.");
  const fields = [];
  if (work.file && work.shape !== "relief") fields.push(labelled("drawn in", select(MESH_UNITS, work.unit, (unit) => { work.unit = unit; askPreview(); })));
  if (work.shape === "relief") {
    for (const [key, words] of [["width", "how wide"], ["depth", "how deep the relief"]]) {
      fields.push(labelled(words, element("input", { type: "text", value: work[key], onchange: (e) => { work[key] = e.target.value; askPreview(); } })));
    }
  }
  return [...tiles, pick, ...fields, hint];
}

function focusChoice(name) {
  const chosen = document.querySelector(`#guide input[name="${name}"]:checked`);
  if (chosen) chosen.focus();
}

function tankQuestion() {
  return ["length", "width", "height"].map((words, k) => labelled(`${words}, mm`, element("input", {
    type: "text", inputmode: "decimal", value: guide.answers.tank[k],
    onchange: (e) => {
      const value = Number(e.target.value.replace(",", "."));
      if (value > 0) { guide.answers.tank[k] = value; askPreview(); } else e.target.value = guide.answers.tank[k];
    },
  }), { class: "field short" }));
}

function bathQuestion() {
  const { answers, look } = guide;
  const chosen = element("select", { id: "guide-bath", onchange: (e) => answer("bath", bathsOf(guide.look)[Number(e.target.value)]) });
  fillBaths(chosen, look);
  return [
    labelled("bath", chosen),
    labelled("stirred by", select(AGITATIONS, answers.agitation, (v) => answer("agitation", v))),
  ];
}

function quantityField(key, words, units) {
  const [number, unit] = guide.answers[key].split(" ");
  const input = element("input", { type: "text", inputmode: "decimal", value: number, onchange: () => put() });
  const choice = select(units.map((u) => [u, printedUnit(u)]), unit, () => put(), { "aria-label": `unit of ${words}` });
  const put = () => {
    const value = Number(input.value.replace(",", "."));
    if (value > 0) answer(key, `${plain(value, 6)} ${choice.value}`);
    else [input.value] = guide.answers[key].split(" ");
  };
  const made = labelled(words, input, { class: "field quantity" });
  made.append(choice);
  return made;
}

function othersOf() {
  const kept = keptJob();
  const cards = (given.examples || []).map((e) => button(e.title, () => { showScreen("desk"); openJob(e.name, e.text, e.files || {}); }, { class: "card" }));
  if (kept) cards.unshift(button(`the job kept in this browser: ${kept.name}`, () => { showScreen("desk"); openJob(kept.name, kept.text, kept.files || {}); }, { class: "card kept" }));
  cards.push(button("open a job or a zip\u2026", () => $("open-file").click(), { class: "card" }));
  return cards;
}

// A shape or picture of the reader's own for the part.
function guideFile(name) {
  guide.answers.work = PICTURES.test(name) ? { shape: "relief", file: name, width: "100 mm", depth: "3 mm" } : { shape: "mesh", file: name, unit: "mm" };
  if (guide.answers.title === "My part") guide.answers.title = name.replace(/\.\w+$/, "");
  showGuide();
  const begin = $("begin");
  begin.scrollIntoView({ block: "nearest" });
  begin.focus({ preventScroll: true });
}

// The tank as it is described by now.
const askPreview = later(120, async () => {
  const mine = ++guide.asked;
  const made = await quick.ask({ ask: "new", answers: guide.answers });
  if (mine !== guide.asked) return;
  if (!made.ok) { showSketch(null, saidOfPart(made)); return; }
  const look = await quick.ask({ ask: "look", text: made.ok.text });
  if (mine !== guide.asked) return;
  showSketch(look.ok ? inSpace(look.ok) : null, look.ok ? "" : saidOfPart(look));
});

// There is no text to be seen yet, so a fault has no line; one of a file has its name.
function saidOfPart(reply) {
  const [fault] = reply.faults || [];
  if (!fault) return refusal(reply);
  const { file } = guide.answers.work;
  return `${file ? `${file}: ` : ""}${fault.message}${fault.help ? `; ${fault.help}` : ""}.`;
}

function showSketch(look, fault) {
  const first = look && !guide.look;
  if (look) guide.look = look;
  const place = $("sketch");
  if (!place) return;
  $("begin").disabled = Boolean(fault);
  $("wrong").textContent = fault;
  if (fault) { place.replaceChildren(element("p", { class: "soft" }, "Nothing can be drawn yet.")); return; }
  const size = look.tank.size;
  const wide = 440, scale = Math.min((wide - AROUND.left - AROUND.right) / size[0], 400 / (size[1] + size[2]));
  place.replaceChildren(...["top", "front"].map((key) => element("figure", { class: "planbox" }, element("figcaption", {}, viewWords(look, key)), stillOf(look, key, wide, scale))),
    ...look.overlaps.map((o) => element("p", { class: "caution" }, signOf("caution"), ` ${o.text}`)));
  const { own } = look.shelf;
  $("figures").replaceChildren(element("h3", {}, "This bath, as it is known"), element("div", { class: "table", tabindex: 0, role: "region", "aria-label": "figures of the bath" }, figureTable(own)));
  if (first) fillBaths($("guide-bath"), look);
}

// The shelf of baths is known with the first look only.
const bathsOf = (look) => (look ? look.shelf.baths : [guide.answers.bath]);

function fillBaths(field, look) {
  const { kind, recipe } = guide.answers.bath;
  const usual = (b) => (b.current ? `, usually ${printedUnit(b.current)}` : "");
  field.replaceChildren(...bathsOf(look).map((b, n) => element("option", { value: n, selected: b.kind === kind && (b.recipe || null) === (recipe || null) }, `${b.label || b.kind}${usual(b)}`)));
}

async function beginJob() {
  const made = await quick.ask({ ask: "new", answers: guide.answers });
  if (!made.ok) { say(refusal(made), "bad"); return; }
  showScreen("desk");
  openJob(`${guide.answers.title.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "") || "job"}.toml`, made.ok.text, {});
}
