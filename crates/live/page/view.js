// The part in space: the answer's story in the scene that the report has too, or, before there is an answer, the
// work in grey. What the scene's scripts ask for stands here.

let story = { space: "tank", axes: ["x", "y", "z"], front: 0, view: [0, 0], quantities: [], surfaces: [], wires: [], markers: [] };
let ofPart = [], ofAll = [];
let partBall = { centre: [0, 0, 0], radius: 1 }, wholeBall = partBall;
const tip = $("tip"), readout = $("readout");
const view = { asked: false, lost: false, settling: 0, look: "part" };
const HELP = "Point at the part, or tap it, to read its values. Drag to turn; after a click the wheel zooms; shift-drag or two fingers shift.";
const GREY = { label: "thickness", unit: "", edges: [0, 1], colours: ["#c9cccf"], light: [0.8, 0.3], stripes: [null, null] };
show.markers = true;

// The charts of the report point into the view; this page has none beside it.
const pointInCharts = () => {};

function redraw() {
  if (view.asked || view.lost || !gl || !story.surfaces.length) return;
  view.asked = true;
  requestAnimationFrame(() => {
    view.asked = false;
    if (view.lost || !canvas.clientWidth) return;
    draw();
    placeLeaders();
    clearTimeout(view.settling);
    view.settling = setTimeout(() => { if (story.markers.length) { findHidden(); placeLeaders(); } }, 200);
  });
}

const LOOKS = {
  part: () => lookAt(ofPart, partBall, story.view),
  beside: () => lookAt(ofPart, partBall, story.view.map((a, k) => Math.max(-STEEPEST, Math.min(STEEPEST + 9 * (1 - k), a + BESIDE[k])))),
  tank: () => lookAt(ofAll, wholeBall, [story.front + BESIDE[0], BESIDE[1]]),
};

// A story of what is seen before it is computed.
function greyStory(look) {
  const works = look.bodies.filter((b) => b.mesh && (b.role === "work" || b.role === "thief"));
  return {
    space: look.space, axes: look.axes, front: frontOf(look), view: [frontOf(look), 0.3], quantities: [GREY], markers: [],
    surfaces: works.map((b) => {
      const points = Float32Array.from(b.mesh.points);
      return {
        name: b.name, points, wide: true, triangles: Uint32Array.from(b.mesh.triangles),
        values: [new Float32Array(points.length / 3).fill(Number.NaN)],
      };
    }),
    wires: wiresOf(look),
  };
}

// From the anodes' side: the angle about z.
function frontOf(look) {
  const middle = (role) => {
    const boxes = look.bodies.filter((b) => b.role === role).map((b) => b.box);
    return [0, 1].map((k) => boxes.reduce((sum, [low, high]) => sum + (low[k] + high[k]) / 2 / boxes.length, 0));
  };
  const [work, anode] = [middle("work"), middle("anode")];
  return Math.atan2(work[1] - anode[1], work[0] - anode[0]);
}

function wiresOf(look) {
  const named = look.bodies.filter((b) => b.role !== "work").map((b) => ({ name: b.name, role: b.role, points: Float32Array.from(b.wires || []) }));
  return [{ name: "tank", role: "tank", points: tankWires(look) }, ...named];
}

function tankWires(look) {
  if (isFlat(look)) return Float32Array.from(look.tank.lines || []);
  const size = look.tank.size, level = look.tank.level ?? size[2];
  const lines = [];
  const corner = (n) => [n & 1 ? size[0] : 0, n & 2 ? size[1] : 0, n & 4 ? level : 0];
  for (let n = 0; n < 8; n++) for (const bit of [1, 2, 4]) if (!(n & bit)) lines.push(...corner(n), ...corner(n | bit));
  return Float32Array.from(lines);
}

// Shows another story; the reader keeps the direction from which he looks, unless the part has another place.
function showStory(next) {
  const before = partBall;
  story = next;
  ofPart = story.surfaces.map((s) => s.points);
  ofAll = [...ofPart, ...story.wires.map((w) => w.points)];
  if (!ofPart.length || !gl) { emptyView(); return; }
  partBall = ballAround(ofPart);
  wholeBall = ballAround(ofAll);
  $("stage").classList.remove("empty");
  show.quantity = Math.min(show.quantity, story.quantities.length - 1);
  buildScene();
  const moved = Math.hypot(...partBall.centre.map((c, k) => c - before.centre[k]));
  const other = moved > 0.02 * partBall.radius || Math.abs(partBall.radius - before.radius) > 0.02 * partBall.radius;
  if (other || camera.fit) LOOKS[view.look]();
  showQuantities();
  redraw();
}

function emptyView() {
  if (gl) emptyScene();
  $("stage").classList.add("empty");
  readout.textContent = gl ? "" : "This browser cannot draw the part in space; the report has its picture.";
  $("overlay").replaceChildren();
}

// Wires as they are in the drawings, while the answer is still that of before.
function showWires(look) {
  if (!story.surfaces.length || !gl) return;
  story.wires = wiresOf(look);
  ofAll = [...ofPart, ...story.wires.map((w) => w.points)];
  wholeBall = ballAround(ofAll);
  buildWires();
  redraw();
}

function showQuantities() {
  const chosen = story.scales ? story.quantities : [];
  $("colours").hidden = !chosen.length;
  $("quantity").replaceChildren(...chosen.map((q, n) => element("option", { value: n, selected: n === show.quantity }, q.label)));
  if (chosen.length) showScale();
  else $("scale").replaceChildren();
}

const SCALE = { width: 190, height: 330, left: 62, thick: 24, longest: 48, above: 46 };

// The upright scale: steps with their borders, and beside each the share of the area.
function showScale() {
  const scale = story.scales[show.quantity], { colours } = story.quantities[show.quantity];
  const { width, height, left, thick, longest, above } = SCALE;
  const count = scale.shares.length;
  const each = (height - above - 10) / count;
  const level = (n) => height - 10 - each * n;
  const most = Math.max(...scale.shares, 1e-9);
  const percent = (share) => String(Number((100 * share).toPrecision(2)));
  const made = drawn("svg", { class: "scale", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": scale.sentence },
    drawn("text", { x: 0, y: 14 }, scale.words),
    drawn("text", { x: left + thick + 3, y: 34, class: "soft" }, "% of area"),
    scale.shares.map((share, n) => [
      drawn("rect", { class: "step", x: left, y: level(n + 1), width: thick, height: each, fill: colours[n] }),
      drawn("rect", { class: "area", x: left + thick + 3, y: level(n + 0.5) - 6, width: (longest * share) / most, height: 12 }),
      drawn("text", { x: left + thick + 7 + (longest * share) / most, y: level(n + 0.5) + 4.5 }, percent(share)),
    ]),
    scale.edges.map((words, n) => drawn("text", { x: left - 9, y: level(n) + 4.5, "text-anchor": "end" }, words)));
  $("scale").replaceChildren(made, element("p", { class: "note" }, [scale.striped, "grey: not plated"].filter(Boolean).join("; ")));
}

function showPlaces() {
  const places = (story.places || []).map(([label, figures, place]) =>
    element("li", {}, element("b", {}, label), figures ? ` ${figures} ` : " ", element("span", { class: "soft" }, place)));
  $("places").replaceChildren(...places);
  $("takes").textContent = story.takes && story.takes.length ? `It takes ${story.takes.join(", ")}.` : "";
}

// What the colours are worth just now; nothing where they are the full answer of the job as it stands.
function flag(words) {
  $("flag").hidden = !words;
  $("flag").textContent = words;
}

function onView() {
  readout.textContent = "";
  for (const made of document.querySelectorAll("[data-look]")) {
    made.addEventListener("click", () => {
      view.look = made.dataset.look;
      show.wires = view.look === "tank";
      LOOKS[view.look]();
      redraw();
    });
  }
  $("quantity").addEventListener("change", (e) => { show.quantity = Number(e.target.value); showScale(); redraw(); });
  if (!gl) { emptyView(); return; }
  onPointers();
  onKeys();
  canvas.addEventListener("webglcontextlost", (e) => { e.preventDefault(); view.lost = true; loseScene(); });
  canvas.addEventListener("webglcontextrestored", () => { view.lost = false; if (story.surfaces.length) buildScene(); redraw(); });
  new ResizeObserver(redraw).observe($("stage"));
}
