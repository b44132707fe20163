// The chosen body: its lengths in figures, turned by quarters, copied, taken out; and what can be hung into the tank.

const ADDED = [
  ["anode", "box", "an anode bar"],
  ["shield", "box", "a shield"],
  ["thief", "box", "a thief"],
  ["contact", "ball", "a contact"],
  ["work", "box", "a work: block"],
  ["work", "ball", "a work: ball"],
  ["work", "cylinder", "a work: cylinder"],
];

function showBody() {
  const body = bodyNamed(seen.chosen);
  if (!seen.look) { $("body").replaceChildren(); return; }
  if (!body) {
    $("body").replaceChildren(element("p", { class: "soft" }, "Take a body to move it; tap it to see its lengths. With the keys: Tab to a body, arrows move it by 1 mm (Shift: 10), [ and ] turn it, Delete takes it out."), unseen());
    return;
  }
  const tools = element("div", { class: "tools" });
  if (body.turnable) {
    for (const about of isFlat(seen.look) ? ["z"] : ["x", "y", "z"]) {
      tools.append(button(`turn about ${about}`, () => edit({ ask: "turn", body: body.name, about, deg: 90 }, `turn ${body.name}`), { title: "by a quarter" }));
    }
  }
  if (body.role !== "stop_off") tools.append(button("copy", () => addedBody({ ask: "copy", body: body.name }, `copy ${body.name}`)));
  tools.append(button("take out", () => removeBody(body)), button("done", () => leaveBody(body)));
  $("body").replaceChildren(
    element("h3", {}, body.name, element("span", { class: "word" }, ` ${roleWords(body)}, ${sizeWords(body)}`)),
    tools,
    element("div", { class: "fields" }, body.dims.map((d) => dimField(body, d))));
}

// Bodies without an outline, such as lacquer behind a plane, are reached here.
function unseen() {
  const bodies = seen.look.bodies.filter((b) => Object.values(b.outline).every((o) => !o.length));
  return bodies.length ? element("div", { class: "tools" }, bodies.map((b) => button(b.name, () => choose(b.name)))) : "";
}

function dimField(body, { path, label, text, mm }) {
  const input = element("input", {
    type: "text", value: text, "data-key": `dim/${path}`, title: Number.isFinite(mm) && !/^[\d.]+ mm$/.test(text) ? `${plain(mm)} mm` : null,
    onchange: (e) => edit({ ask: "set", values: [[path, e.target.value]] }, `${body.name}: ${label}`),
  });
  return labelled(label, input);
}

async function addedBody(request, label) {
  const made = await edit(request, label);
  if (made && made.body) seen.chosen = made.body;
}

// Back to its shape in the drawing, so that the keys go on there.
function leaveBody(body) {
  choose(null);
  const shape = document.querySelector(`#plans [data-key="${CSS.escape(`${shownViews(seen.look)[0]}/${body.name}`)}"]`);
  (shape || $("main")).focus({ preventScroll: true });
}

function removeBody(body) {
  $("main").focus({ preventScroll: true });
  edit({ ask: "remove", body: body.name }, `take out ${body.name}`);
}

function showAdding() {
  const hang = ([kind, shape]) => addedBody({ ask: "add", kind, shape, file: null, unit: "mm" }, `hang ${kind}`);
  const choices = ADDED.map((choice) => button(choice[2], () => hang(choice)));
  $("adding-choices").replaceChildren(...choices, button("a work from a file", () => $("open-file").click()));
}
