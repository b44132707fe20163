// Two linked drawings of the tank, to one scale: from above, and below it from the front or from the side. A body
// is a shape that can be taken; the chosen one has its lengths, which can be typed into, and grips.

const VIEWS = {
  top: { words: "from above", axes: [0, 1] },
  front: { words: "from the front", axes: [0, 2] },
  side: { words: "from the side", axes: [1, 2] },
};
const AROUND = { left: 66, right: 14, top: 12, bottom: 52 };
const plan = { second: "front", drawings: [], scale: 1, wide: 0 };

// What is drawn: both views of a tank, the one plane of a job in two dimensions.
const shownViews = (look) => (isFlat(look) ? ["top"] : ["top", plan.second]);

function viewWords(look, key) {
  return isFlat(look) ? { planar: "the section", axisymmetric: "half the section, axis at the left" }[look.space] || "the section" : VIEWS[key].words;
}

function showPlans() {
  const look = seen.look;
  const place = $("plans");
  if (!look) { place.replaceChildren(); return; }
  const focused = document.activeElement && place.contains(document.activeElement) ? document.activeElement.dataset.key : null;
  const keys = shownViews(look);
  plan.wide = Math.max(280, place.clientWidth || 430);
  plan.scale = scaleOf(look, keys);
  plan.drawings = keys.map((key, n) => drawing(look, key, n));
  place.replaceChildren(...plan.drawings.map((d) => d.figure));
  place.classList.toggle("stale", !isWhole());
  if (focused) {
    const again = place.querySelector(`[data-key="${CSS.escape(focused)}"]`);
    if (again) again.focus({ preventScroll: true });
  }
}

// Millimetres to pixels: as large as width and height of the screen allow.
function scaleOf(look, keys) {
  const { low, high } = look.tank;
  const size = high.map((h, k) => Math.max(h - low[k], 1e-9));
  const across = Math.max(...keys.map((key) => size[VIEWS[key].axes[0]]));
  const upward = keys.reduce((sum, key) => sum + size[VIEWS[key].axes[1]], 0);
  const room = Math.max(300, Math.min(800, window.innerHeight - 90)) - keys.length * (AROUND.top + AROUND.bottom + 30);
  return Math.min((plan.wide - AROUND.left - AROUND.right) / across, Math.max(160, room) / upward);
}

// Where a view's millimetres lie on a sheet so wide.
function sheetOf(look, key, wide, scale) {
  const { axes } = VIEWS[key];
  const { low, high } = look.tank;
  const [a, b] = axes;
  const height = (high[b] - low[b]) * scale + AROUND.top + AROUND.bottom;
  return {
    key, axes, look, height, wide,
    x: (v) => AROUND.left + (v - low[a]) * scale,
    y: (v) => height - AROUND.bottom - (v - low[b]) * scale,
    low: [low[a], low[b]], high: [high[a], high[b]],
  };
}

function drawing(look, key, n) {
  const made = sheetOf(look, key, plan.wide, plan.scale);
  const { height } = made;
  const words = viewWords(look, key);
  made.svg = drawn("svg", { class: "plan", viewBox: `0 0 ${plan.wide} ${height}`, width: plan.wide, height, role: "group", "aria-label": `The tank ${words}` },
    tankOf(made), bodiesOf(made), namesOf(made), drawn("g", { class: "guides" }), gripsOf(made));
  const lengths = element("div", { class: "lengths" }, lengthsOf(made));
  made.figure = element("figure", { class: "planbox" },
    element("figcaption", {}, words, n === 1 ? otherView() : null),
    element("div", { class: "sheet", style: `height:${height}px` }, made.svg, lengths));
  return made;
}

// A view of a tank that cannot be worked on.
function stillOf(look, key, wide, scale) {
  const made = sheetOf(look, key, wide, scale);
  const shapes = look.bodies.map((body) => drawn("g", { class: `thing still ${body.role}` }, drawn("path", { class: "shape", d: pathOf(made, outlineOf(body, key)) })));
  return drawn("svg", { class: "plan", viewBox: `0 0 ${wide} ${made.height}`, role: "img", "aria-label": `The tank ${viewWords(look, key)}` }, tankOf(made), shapes, namesOf(made));
}

function otherView() {
  const other = plan.second === "front" ? "side" : "front";
  return button(`${VIEWS[other].words} instead`, () => { plan.second = other; showPlans(); }, { "data-key": "other-view" });
}

function tankOf({ x, y, axes, low, high, look }) {
  const box = { x: x(low[0]), y: y(high[1]), width: x(high[0]) - x(low[0]), height: y(low[1]) - y(high[1]) };
  const level = axes[1] === 2 && look.tank.level ? look.tank.level : high[1];
  const mark = axes[1] === 2 && level < high[1] ? drawn("path", { class: "level", d: `M${box.x} ${y(level)}h${box.width}` }) : null;
  return drawn("g", { class: "vessel" },
    drawn("rect", { class: "water", x: box.x, y: y(level), width: box.width, height: y(low[1]) - y(level) }),
    drawn("rect", { class: "wall", ...box }), mark);
}

const outlineOf = (body, key) => body.outline[key] || [];
const pathOf = ({ x, y }, polygons) => polygons.map((p) => `M${p.map(([a, b]) => `${x(a).toFixed(1)} ${y(b).toFixed(1)}`).join("L")}Z`).join("");

// The large ones first, so that a small one before them can be taken.
function bodiesOf(made) {
  const [a, b] = made.axes;
  const area = ({ box }) => (box[1][a] - box[0][a]) * (box[1][b] - box[0][b]);
  const order = [...made.look.bodies].sort((p, q) => (p.name === seen.chosen) - (q.name === seen.chosen) || area(q) - area(p));
  return order.map((body) => bodyOf(made, body));
}

const TAKES = { work: "work", thief: "thief", anode: "anode", shield: "shield", contact: "contact", stop_off: "lacquer" };
const roleWords = (body) => TAKES[body.role] || body.role.replace(/_/g, " ");

function sizeWords({ box }) {
  return box[0].slice(0, isFlat(seen.look) ? 2 : 3).map((l, k) => plain(box[1][k] - l, 1)).join(" \u00d7 ") + " mm";
}

function placeWords({ box }) {
  return seen.look.axes.map((axis, k) => `${axis} ${plain(box[0][k], 1)} to ${plain(box[1][k], 1)}`).join(", ") + " mm";
}

function bodyOf(made, body) {
  const d = pathOf(made, outlineOf(body, made.key));
  if (!d) return null;
  const chosen = body.name === seen.chosen;
  const over = overlapping(body.name);
  const state = `${chosen ? " chosen" : ""}${over ? " over" : ""}${body.movable ? "" : " fixed"}`;
  const group = drawn("g", {
    class: `thing ${body.role}${state}`, tabindex: 0, role: "button", "aria-pressed": String(chosen), "data-body": body.name, "data-key": `${made.key}/${body.name}`,
    "aria-label": `${body.name}, ${roleWords(body)}, ${sizeWords(body)}, ${placeWords(body)}${over ? ", touches something" : ""}`,
  }, drawn("path", { class: "near", d }), drawn("path", { class: "shape", d }));
  onThing(group, made, body);
  return group;
}

const overlapping = (name) => seen.look.overlaps.some((o) => o.bodies.includes(name));

// Names stand in their bodies where they fit, else beside them where nothing else is; upright bodies have them
// along. The chosen body has none, its name stands below.
function namesOf(made) {
  const here = made.look.bodies.filter((b) => pathOf(made, outlineOf(b, made.key)));
  const boxes = new Map(here.map((b) => [b.name, boxIn(made, b)]));
  const taken = [];
  const free = (place, own) => [...boxes].every(([name, box]) => name === own || !crosses(place, box)) && taken.every((t) => !crosses(place, t)) && place[0] > AROUND.left && place[2] < made.wide - AROUND.right && place[1] > 0;
  return here.filter((b) => b.name !== seen.chosen).map((body) => {
    const box = boxes.get(body.name);
    const words = body.copies > 1 ? `${body.copies} \u00d7 ${body.name}` : body.name;
    const place = placesFor(box, 6.6 * words.length + 8).find(({ inside, at }) => inside || free(at, body.name));
    if (!place) return null;
    taken.push(place.at);
    const [u, v] = [(place.at[0] + place.at[2]) / 2, (place.at[1] + place.at[3]) / 2];
    const turned = place.upright ? `rotate(-90 ${u} ${v})` : null;
    return drawn("text", { class: "name", "data-body": body.name, x: u, y: v + 4, "text-anchor": "middle", transform: turned, "data-turned": turned }, words);
  });
}

const boxIn = ({ x, y, axes: [a, b] }, { box }) => [x(box[0][a]), y(box[1][b]), x(box[1][a]), y(box[0][b])];
const crosses = (p, q) => p[0] < q[2] && p[2] > q[0] && p[1] < q[3] && p[3] > q[1];

// Where a name so long may stand, the best place first.
function placesFor([left, top, right, bottom], long) {
  const [u, v] = [(left + right) / 2, (top + bottom) / 2];
  const across = (x, y) => ({ at: [x - long / 2, y - 8, x + long / 2, y + 8] });
  const along = (x) => ({ at: [x - 8, v - long / 2, x + 8, v + long / 2], upright: true });
  const inside = [];
  if (right - left > long && bottom - top > 16) inside.push({ ...across(u, v), inside: true });
  else if (bottom - top > long && right - left > 15) inside.push({ ...along(u), inside: true });
  return [...inside, along(right + 10), along(left - 10), across(u, top - 10), across(u, bottom + 10), across(right + long / 2 + 3, v), across(left - long / 2 - 3, v)];
}

// Lengths along both axes as a chain: to the wall, the body, to the other wall; without a body the tank itself.
function lengthsOf(made) {
  const body = bodyNamed(seen.chosen);
  const stands = made.axes.map((axis, n) => (body ? chainOf(made, body, axis, n) : wholeOf(made, axis, n)));
  made.chains = stands.map((s) => s.path);
  const svg = made.svg;
  svg.insertBefore(drawn("path", { class: "chain", d: made.chains.join("") }), svg.lastChild);
  return stands.flatMap((s) => s.fields);
}

function chainOf(made, body, axis, n) {
  const [low, high] = [made.low[n], made.high[n]];
  const [from, to] = [body.box[0][axis], body.box[1][axis]];
  const name = seen.look.axes[axis] || "xyz"[axis];
  const sizable = body.sizable;
  return chain(made, n, [low, from, to, high], [
    { words: `${body.name}: from the wall along ${name}`, value: from - low, enabled: body.movable, set: (v) => moveBy(body, axis, v - (from - low)) },
    { words: `${body.name}: length along ${name}`, value: to - from, enabled: sizable, set: (v) => resize(body, axis, [from, from + v]) },
    { words: `${body.name}: to the other wall along ${name}`, value: high - to, enabled: body.movable, set: (v) => moveBy(body, axis, high - to - v) },
  ]);
}

function wholeOf(made, axis, n) {
  const words = ["length of the tank", "width of the tank", "height of the tank"][axis];
  const editable = !isFlat(made.look);
  return chain(made, n, [made.low[n], made.high[n]], [
    { words, value: made.high[n] - made.low[n], enabled: editable, set: (v) => sizeTank(axis, v) },
  ]);
}

// Ticks at the ends, and a field at the middle of each length, moved apart where they would lie over each other.
function chain(made, n, ends, lengths) {
  const across = n === 0;
  const at = across ? made.x : made.y;
  const base = across ? made.height - AROUND.bottom + 14 : AROUND.left - 12;
  const path = across
    ? `M${at(ends[0])} ${base}H${at(ends[ends.length - 1])}${ends.map((e) => `M${at(e)} ${base - 4}v8`).join("")}`
    : `M${base} ${at(ends[0])}V${at(ends[ends.length - 1])}${ends.map((e) => `M${base - 4} ${at(e)}h8`).join("")}`;
  const middles = lengths.map((_, k) => (at(ends[k]) + at(ends[k + 1])) / 2);
  const order = across ? middles : middles.map((m) => -m);
  const [least, most] = across ? [28, plan.wide - 28] : [-(made.height - 14), -12];
  const placed = spaced(order, across ? 58 : 25, least, most).map((m) => (across ? m : -m));
  const fields = lengths.map((l, k) => lengthField(made, l, across ? [placed[k], base + 20] : [28, placed[k]], `${made.key}/${n}/${k}`));
  return { path, fields };
}

function lengthField(made, { words, value, enabled, set }, [left, top], key) {
  const take = (input) => {
    const asked = Number(input.value.replace(",", ".").replace(/\s*mm$/, ""));
    delete input.dataset.dirty;
    if (input.value.trim() && Number.isFinite(asked)) { if (Math.abs(asked - value) > 1e-6) set(asked); } else {
      say(`${words}: "${input.value}" is no length; write millimetres, such as 25.`, "bad");
      input.value = plain(value);
    }
  };
  return element("input", {
    class: "length", type: "text", inputmode: "decimal", value: plain(value), "aria-label": `${words}, mm`, title: `${words}, mm`, disabled: !enabled, "data-key": key,
    style: `left:${left.toFixed(0)}px;top:${top.toFixed(0)}px`,
    oninput: (e) => { e.target.dataset.dirty = "1"; },
    onchange: (e) => take(e.target),
    onkeydown: (e) => {
      if (e.key === "Escape") { e.target.value = plain(value); delete e.target.dataset.dirty; e.target.blur(); }
      if (e.key !== "ArrowUp" && e.key !== "ArrowDown") return;
      e.preventDefault();
      set(value + (e.key === "ArrowUp" ? 1 : -1) * (e.shiftKey ? 10 : 1));
    },
  });
}

function showOverlaps(overlaps) {
  const rest = overlaps.length - 4;
  $("overlaps").replaceChildren(...overlaps.slice(0, 4).map((o) => element("p", { class: "caution" }, signOf("caution"), ` ${o.text}`)),
    ...(rest > 0 ? [element("p", { class: "soft" }, `and ${rest} more`)] : []));
}
