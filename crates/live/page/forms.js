// Figures of the job as short forms. A quantity has its number and its unit apart; a sum of figures stays a text.

const open = new Set(["Bath", "Supply", "Plan", "Wanted"]);
const QUANTITY = /^\s*(-?[\d.]+(?:[eE][-+]?\d+)?)\s+(\S.*?)\s*$/;
const PRINTED = [[/dm2/g, "dm\u00b2"], [/cm2/g, "cm\u00b2"], [/\bm2/g, "m\u00b2"], [/ft2/g, "ft\u00b2"], [/\bum\b/g, "\u00b5m"], [/degC/g, "\u00b0C"], [/degF/g, "\u00b0F"], [/m3/g, "m\u00b3"]];
const printedUnit = (unit) => PRINTED.reduce((text, [from, to]) => text.replace(from, to), unit);

function showForms() {
  const look = seen.look;
  const place = $("forms");
  if (!look) { place.replaceChildren(); return; }
  const focused = place.contains(document.activeElement) ? document.activeElement.dataset.key : null;
  place.replaceChildren(...look.forms.map(groupOf));
  place.classList.toggle("stale", !isWhole());
  const again = focused && place.querySelector(`[data-key="${CSS.escape(focused)}"]`);
  if (again) again.focus({ preventScroll: true });
}

function groupOf({ group, fields }) {
  const [given, rest] = [true, false].map((is) => fields.filter((f) => (f.text !== null) === is));
  const made = element("details", { class: "group", open: open.has(group), ontoggle: (e) => { if (e.target === made) open[made.open ? "add" : "delete"](group); } },
    element("summary", {}, group), element("div", { class: "fields" }, given.map(fieldOf)), restOf(group, rest), group === "Bath" ? shelfOf() : null);
  return made;
}

// What is not given stands behind a fold, so that the form stays short.
function restOf(group, fields) {
  if (!fields.length) return null;
  const key = `${group} rest`;
  const made = element("details", { class: "shelf", open: open.has(key), ontoggle: () => open[made.open ? "add" : "delete"](key) },
    element("summary", {}, `not given: ${fields.length} more`), element("div", { class: "fields" }, fields.map(fieldOf)));
  return made;
}

function fieldOf(field) {
  const { path, label, text, hint, choices } = field;
  const key = `form/${path}`;
  const put = (value) => {
    const gone = value.trim() === "";
    if (gone && text === null) return;
    edit(gone ? { ask: "unset", path } : { ask: "set", values: [[path, value]] }, `${label} ${gone ? "not given" : value}`, path);
  };
  const described = hint && hint !== label ? `${key}-hint`.replace(/[^\w-]/g, "-") : null;
  const common = { "data-key": key, "aria-describedby": described };
  const control = choices && (text === null || choices.includes(text))
    ? select(text === null ? [["", "not given"], ...choices] : choices, text ?? "", put, common)
    : quantityOf(field, put, common);
  const made = control instanceof Element && control.matches("select") ? labelled(label, control) : control;
  if (described) made.append(element("p", { class: "hint", id: described }, hint));
  return made;
}

// Number and unit; one field where it is no plain quantity.
function quantityOf({ label, text, units }, put, common) {
  const found = QUANTITY.exec(text ?? "");
  const apart = units && units.length && (text === null || (found && units.includes(found[2])));
  const input = element("input", {
    type: "text", inputmode: apart ? "decimal" : null, value: apart && found ? found[1] : text ?? "", placeholder: text === null ? "not given" : null,
    oninput: (e) => { e.target.dataset.dirty = "1"; }, ...common,
  });
  if (!apart) {
    input.addEventListener("change", () => put(input.value));
    return labelled(label, input);
  }
  const unit = units.length > 1
    ? select(units.map((u) => [u, printedUnit(u)]), found ? found[2] : units[0], () => send(), { "aria-label": `unit of ${label}`, "data-key": `${common["data-key"]}/unit` })
    : element("span", { class: "unit" }, printedUnit(units[0]));
  const send = () => {
    const bare = input.value.trim().replace(",", ".");
    if (!bare) put("");
    else put(/^-?[\d.]+(e[-+]?\d+)?$/i.test(bare) ? `${bare} ${unit.value ?? units[0]}` : input.value);
  };
  input.addEventListener("change", send);
  const made = labelled(label, input, { class: "field quantity" });
  input.after(unit);
  return made;
}

// The bath's figures as they are known: value, band, grade, source.
function shelfOf() {
  const { own } = seen.look.shelf;
  if (!own.length) return null;
  return element("details", { class: "shelf" }, element("summary", {}, "its figures, how sure they are"),
    element("div", { class: "table", tabindex: 0, role: "region", "aria-label": "figures of the bath" }, figureTable(own)));
}

function figureTable(figures) {
  return element("table", {}, element("thead", {}, element("tr", {}, ["figure", "value", "band", "how sure", "from"].map((h) => element("th", { scope: "col" }, h)))),
    element("tbody", {}, figures.map((f) => element("tr", {}, element("th", { scope: "row" }, f.name), [printedUnit(f.text), printedUnit(f.band), f.grade, f.source].map((t) => element("td", {}, t))))));
}
