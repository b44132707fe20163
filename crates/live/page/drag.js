// Bodies taken in the drawings, with a pointer, a finger or the keys: moved, turned, sized. What is taken follows at
// once; the engine hears of it in pauses and answers on a coarse grid; what is let go is one step of the history.

const NEAR = 7; // pixels within which something snaps
const drag = { on: null };
const AXIS_NAMES = ["x", "y", "z"];

// Which way a turn to the left on the drawing goes about the axis that it looks along.
const NORMAL = { top: ["z", 1], front: ["y", -1], side: ["x", 1] };

function onThing(group, made, body) {
  group.addEventListener("pointerdown", (e) => {
    if (e.button > 0) return;
    e.preventDefault();
    group.focus({ preventScroll: true });
    take(e, made, body, body.movable ? "move" : "none");
  });
  group.addEventListener("keydown", (e) => keyOn(e, made, body));
}

function take(e, made, body, kind, more = {}) {
  e.stopPropagation();
  drag.on = { made, body, kind, start: [e.clientX, e.clientY], pointer: e.pointerId, by: [0, 0, 0], deg: 0, moved: false, box: body.box, ...more };
}

function onDrags() {
  window.addEventListener("pointermove", (e) => {
    const d = drag.on;
    if (!d || e.pointerId !== d.pointer) return;
    const [dx, dy] = [e.clientX - d.start[0], e.clientY - d.start[1]];
    if (!d.moved && Math.hypot(dx, dy) < 4) return;
    d.moved = true;
    if (d.kind === "move") dragMove(d, dx, dy, e);
    if (d.kind === "turn") dragTurn(d, e);
    if (d.kind === "size") dragSize(d, dx, dy, e);
  });
  window.addEventListener("pointerup", (e) => letGo(e, true));
  window.addEventListener("pointercancel", (e) => letGo(e, false));
  document.addEventListener("keydown", (e) => {
    if (e.key === "Escape" && drag.on) { drag.on.moved = false; letGo({ pointerId: drag.on.pointer }, false); }
  });
}

async function letGo(e, done) {
  const d = drag.on;
  if (!d || e.pointerId !== d.pointer) return;
  drag.on = null;
  tryOut.stop();
  if (!done || !d.moved) {
    if (done) choose(d.body.name);
    showPlans();
    return;
  }
  seen.chosen = d.body.name;
  const made = await editOf(d);
  if (!made) showPlans();
}

const request = {
  move: (d) => ({ ask: "move", body: d.body.name, by: d.by.map(rounded) }),
  turn: (d) => ({ ask: "turn", body: d.body.name, about: NORMAL[d.made.key][0], deg: d.deg * NORMAL[d.made.key][1] }),
  size: (d) => ({ ask: "size", body: d.body.name, box: d.box.map((p) => p.map(rounded)) }),
};
const rounded = (v) => Number(v.toFixed(3));
const DOINGS = { move: "move", turn: "turn", size: "size" };
const editOf = (d) => edit(request[d.kind](d), `${DOINGS[d.kind]} ${d.body.name}`);

// In a pause of the dragging the coarse grid answers for what is being tried.
const tryOut = later(50, async (d) => {
  const text = job.text;
  const reply = await quick.ask({ text, ...request[d.kind](d) });
  if (drag.on !== d || job.text !== text || !reply.ok) return;
  solveCoarse(reply.ok.text);
  const look = await quick.ask({ ask: "look", text: reply.ok.text });
  if (drag.on === d && look.ok) showOverlaps(look.ok.overlaps);
});

function dragMove(d, dx, dy, e) {
  const [a, b] = d.made.axes;
  const raw = [dx / plan.scale, -dy / plan.scale];
  const snapped = [a, b].map((axis, n) => (e.altKey ? { by: raw[n] } : snap(d.body, axis, raw[n])));
  d.by[a] = snapped[0].by;
  d.by[b] = snapped[1].by;
  ghost(d.body.name, d.by);
  guides(d.made, snapped, `${AXIS_NAMES.filter((_, k) => k === a || k === b).map((name, n) => `${seen.look.axes[[a, b][n]] || name} ${plain(d.body.box[0][[a, b][n]] + d.by[[a, b][n]], 1)}`).join(", ")} mm`);
  tryOut(d);
}

// To an end or the middle of another body or of the tank, if that is near; else to a round place.
function snap(body, axis, raw) {
  const own = spots(body.box, axis);
  const look = seen.look;
  const tank = spots([look.tank.low, look.tank.high], axis);
  const others = look.bodies.filter((o) => o.name !== body.name).flatMap((o) => spots(o.box, axis));
  let best = { far: NEAR / plan.scale, by: null, at: null };
  for (const to of [...tank, ...others]) {
    for (const from of own) {
      const by = to - from, far = Math.abs(by - raw);
      if (far < best.far) best = { far, by, at: to };
    }
  }
  return best.by === null ? { by: toStep(body.box[0][axis] + raw) - body.box[0][axis], at: null } : best;
}

const spots = ([low, high], axis) => [low[axis], (low[axis] + high[axis]) / 2, high[axis]].filter(Number.isFinite);
const stepOf = () => (plan.scale > 5 ? 0.2 : plan.scale > 2.5 ? 0.5 : plan.scale > 0.6 ? 1 : 5);
const toStep = (v) => Math.round(v / stepOf()) * stepOf();

// A body shown elsewhere, in all drawings.
function ghost(name, by) {
  for (const { svg, axes } of plan.drawings) {
    for (const made of svg.querySelectorAll(`[data-body="${CSS.escape(name)}"]`)) {
      made.setAttribute("transform", `translate(${by[axes[0]] * plan.scale} ${-by[axes[1]] * plan.scale}) ${made.dataset.turned || ""}`);
    }
  }
}

// Lines where something snapped, and where it is now.
function guides(made, snapped, words) {
  const group = made.svg.querySelector(".guides");
  const lines = [];
  if (snapped[0].at !== null && snapped[0].at !== undefined) lines.push(`M${made.x(snapped[0].at)} 0V${made.height}`);
  if (snapped[1].at !== null && snapped[1].at !== undefined) lines.push(`M0 ${made.y(snapped[1].at)}H${plan.wide}`);
  group.replaceChildren(drawn("path", { d: lines.join("") || "M0 0" }), drawn("text", { x: plan.wide - AROUND.right, y: AROUND.top + 14, "text-anchor": "end" }, words));
}

function dragTurn(d, e) {
  const box = d.made.svg.getBoundingClientRect();
  const [u, v] = middleOf(d);
  const angle = (x, y) => (Math.atan2(-(y - box.top - v), x - box.left - u) * 180) / Math.PI;
  const raw = angle(e.clientX, e.clientY) - angle(...d.start);
  const step = e.shiftKey ? 1 : 15;
  d.deg = ((Math.round(raw / step) * step + 540) % 360) - 180;
  d.made.svg.querySelector(`[data-body="${CSS.escape(d.body.name)}"]`).setAttribute("transform", `rotate(${-d.deg} ${u} ${v})`);
  guides(d.made, [{}, {}], `turned by ${d.deg} degrees`);
  tryOut(d);
}

function middleOf({ made, body }) {
  const [a, b] = made.axes;
  return [made.x((body.box[0][a] + body.box[1][a]) / 2), made.y((body.box[0][b] + body.box[1][b]) / 2)];
}

// One end of the box follows the pointer.
function dragSize(d, dx, dy, e) {
  const { axis, end } = d;
  const n = d.made.axes.indexOf(axis);
  const raw = n === 0 ? dx / plan.scale : -dy / plan.scale;
  const from = d.body.box[end][axis];
  const one = { name: d.body.name, box: [d.body.box[end], d.body.box[end]] };
  const found = e.altKey ? { by: raw } : snap(one, axis, raw);
  const other = d.body.box[1 - end][axis];
  const least = stepOf();
  const to = end === 1 ? Math.max(other + least, from + found.by) : Math.min(other - least, from + found.by);
  d.box = d.body.box.map((p, k) => p.map((v, j) => (k === end && j === axis ? to : v)));
  const share = (to - other) / (from - other);
  const at = n === 0 ? d.made.x(other) : d.made.y(other);
  for (const made of plan.drawings.filter((m) => m.axes.includes(axis))) {
    const k = made.axes.indexOf(axis), still = k === 0 ? made.x(other) : made.y(other);
    const scale = k === 0 ? `translate(${still} 0) scale(${share} 1) translate(${-still} 0)` : `translate(0 ${still}) scale(1 ${share}) translate(0 ${-still})`;
    made.svg.querySelector(`[data-body="${CSS.escape(d.body.name)}"]`).setAttribute("transform", scale);
  }
  guides(d.made, n === 0 ? [found, {}] : [{}, found], `${plain(Math.abs(to - other), 1)} mm`);
  tryOut(d);
}

// Grips of the chosen body: at the middle of its sides to size it, beside it to turn it.
function gripsOf(made) {
  const body = bodyNamed(seen.chosen);
  const group = drawn("g", { class: "grips", "aria-hidden": "true" });
  if (!body || !pathOf(made, outlineOf(body, made.key))) return group;
  const [a, b] = made.axes;
  const [left, right, low, high] = [made.x(body.box[0][a]), made.x(body.box[1][a]), made.y(body.box[0][b]), made.y(body.box[1][b])];
  const [u, v] = middleOf({ made, body });
  const grip = (x, y, kind, more, words) => {
    const g = drawn("g", { class: `grip ${kind}`, onpointerdown: (e) => { e.preventDefault(); take(e, made, body, more.kind, more); } },
      drawn("circle", { class: "near", cx: x, cy: y, r: 15 }),
      kind === "turn" ? drawn("circle", { cx: x, cy: y, r: 6 }) : drawn("rect", { x: x - 4.5, y: y - 4.5, width: 9, height: 9 }), drawn("title", {}, words));
    group.append(g);
  };
  if (body.sizable) {
    grip(left - 7, v, "size", { kind: "size", axis: a, end: 0 }, "drag to size");
    grip(right + 7, v, "size", { kind: "size", axis: a, end: 1 }, "drag to size");
    grip(u, low + 7, "size", { kind: "size", axis: b, end: 0 }, "drag to size");
    grip(u, high - 7, "size", { kind: "size", axis: b, end: 1 }, "drag to size");
  }
  if (body.turnable) grip(right + 18, Math.max(14, high - 18), "turn", { kind: "turn" }, "drag to turn");
  return group;
}

// Keys on a body: arrows move it, brackets turn it, delete takes it out. Moves that follow each other are one step.
const nudge = { body: null, by: [0, 0, 0] };
const settle = later(400, () => {
  const { body, by } = nudge;
  nudge.body = null;
  if (body) edit({ ask: "move", body: body.name, by: by.map(rounded) }, `move ${body.name}`);
});

function keyOn(e, made, body) {
  if (e.ctrlKey || e.metaKey) return;
  const far = e.shiftKey ? 10 : 1;
  const arrows = { ArrowLeft: [0, -far], ArrowRight: [0, far], ArrowDown: [1, -far], ArrowUp: [1, far] };
  const way = arrows[e.key];
  const turn = { "[": 15, "]": -15 }[e.key];
  if (way && body.movable) {
    if (nudge.body && nudge.body.name !== body.name) return;
    if (!nudge.body) Object.assign(nudge, { body, by: [0, 0, 0] });
    nudge.by[made.axes[way[0]]] += way[1];
    ghost(body.name, nudge.by);
    settle();
  } else if (turn && body.turnable) {
    const [about, sign] = NORMAL[made.key];
    edit({ ask: "turn", body: body.name, about, deg: turn * sign }, `turn ${body.name}`);
  } else if (e.key === "Enter" || e.key === " ") {
    choose(body.name);
  } else if (e.key === "Escape") {
    choose(null);
  } else if (e.key === "Delete") {
    removeBody(body);
  } else {
    return;
  }
  e.preventDefault();
}

function moveBy(body, axis, far) {
  const by = [0, 0, 0];
  by[axis] = far;
  edit({ ask: "move", body: body.name, by: by.map(rounded) }, `move ${body.name}`);
}

function resize(body, axis, [from, to]) {
  const box = body.box.map((p) => [...p]);
  box[0][axis] = from;
  box[1][axis] = to;
  edit({ ask: "size", body: body.name, box }, `size ${body.name}`);
}

function sizeTank(axis, length) {
  const size = seen.look.tank.size.map((s, k) => plain(k === axis ? length : s, 3));
  edit({ ask: "set", values: [["tank.size", `${size.join(" x ")} mm`]] }, "size of the tank");
}
