// Controls, pointer, keys, printing.

const $ = (id) => document.getElementById(id);
const stage = $("stage"), tip = $("tip"), readout = $("readout"), poster = $("poster");
const markers = [...document.querySelectorAll("#overlay .marker")];
const names = [...document.querySelectorAll("#overlay .name")];
let asked = false, settling = 0;

// Draws once before the next picture of the screen, however often it was asked for.
function redraw() {
  if (asked) return;
  asked = true;
  requestAnimationFrame(() => {
    asked = false;
    draw();
    placeLabels();
    placeTriad();
    clearTimeout(settling);
    settling = setTimeout(fadeHidden, 200);
  });
}

function put(element, x) {
  const at = project(x);
  element.style.visibility = at ? "visible" : "hidden";
  if (at) element.style.transform = `translate(${at[0].toFixed(1)}px, ${at[1].toFixed(1)}px)`;
}

function placeLabels() {
  markers.forEach((m, n) => put(m, story.markers[n].at));
  names.forEach((m, n) => put(m, labelPlace(story.wires[n].points)));
}

// A body's name stands at its highest point.
function labelPlace(points) {
  let best = 0;
  for (let n = 0; n < points.length; n += 3) if (points[n + 2] > points[best + 2]) best = n;
  return [points[best], points[best + 1], points[best + 2]];
}

// The directions of the axes, in the corner of the view.
const AXES = { tank: ["x", "y", "z"], planar: ["x", "", "y"], axisymmetric: ["", "", "z"] }[story.space];

function placeTriad() {
  const { right, up } = directions();
  $("triad").innerHTML = AXES.map((name, k) => {
    if (!name) return "";
    const [x, y] = [24 * right[k], -24 * up[k]];
    return `<line x2="${x.toFixed(1)}" y2="${y.toFixed(1)}"/><text x="${(1.4 * x).toFixed(1)}" y="${(1.4 * y).toFixed(1)}">${name}</text>`;
  }).join("");
}

function fadeHidden() {
  markers.forEach((m, n) => m.classList.toggle("away", isAway(story.markers[n].at)));
}

// Reads the place under a pixel into the tip (if `atPointer`) and the line below the view.
function probe(px, py, atPointer) {
  const hit = strike(ray(px, py));
  tip.hidden = !hit || !atPointer;
  if (!hit) return;
  const { lines, where } = describe(hit);
  readout.textContent = `${lines.join(", ")} at ${where}`;
  if (!atPointer) return;
  tip.replaceChildren();
  lines.concat(where).forEach((line, n) => {
    const row = document.createElement(n === 0 ? "b" : "div");
    row.textContent = line;
    tip.append(row);
  });
  const [width, height] = camera.size;
  const x = Math.min(px + 16, width - tip.offsetWidth - 4);
  const y = py + 16 + tip.offsetHeight > height ? py - tip.offsetHeight - 10 : py + 16;
  tip.style.transform = `translate(${Math.max(4, x)}px, ${Math.max(4, y)}px)`;
}

function onPointers() {
  const down = new Map();
  let asked = false;
  const at = (e) => {
    const box = canvas.getBoundingClientRect();
    return [e.clientX - box.left, e.clientY - box.top];
  };
  const spread = () => {
    const [a, b] = [...down.values()];
    return Math.hypot(a[0] - b[0], a[1] - b[1]);
  };
  canvas.addEventListener("pointerdown", (e) => {
    canvas.setPointerCapture(e.pointerId);
    down.set(e.pointerId, at(e));
    tip.hidden = true;
  });
  canvas.addEventListener("pointermove", (e) => {
    const here = at(e);
    const before = down.get(e.pointerId);
    if (!before) {
      if (!asked) requestAnimationFrame(() => { asked = false; probe(...here, true); });
      asked = true;
      return;
    }
    const [dx, dy] = [here[0] - before[0], here[1] - before[1]];
    if (down.size === 2) {
      const old = spread();
      down.set(e.pointerId, here);
      zoom(old / Math.max(1, spread()));
    } else if (e.shiftKey || e.buttons === 2) {
      shift(dx, dy);
    } else {
      turn(-0.008 * dx, 0.008 * dy);
    }
    down.set(e.pointerId, here);
    redraw();
  });
  const up = (e) => {
    if (down.delete(e.pointerId) && e.pointerType === "touch") probe(...at(e), true);
  };
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", (e) => down.delete(e.pointerId));
  canvas.addEventListener("pointerleave", () => { tip.hidden = true; });
  canvas.addEventListener("contextmenu", (e) => e.preventDefault());
  canvas.addEventListener("wheel", (e) => {
    e.preventDefault();
    zoom(Math.exp(0.0012 * Math.max(-240, Math.min(240, e.deltaY))));
    redraw();
  }, { passive: false });
}

const KEYS = {
  ArrowLeft: () => turn(-0.1, 0),
  ArrowRight: () => turn(0.1, 0),
  ArrowUp: () => turn(0, 0.1),
  ArrowDown: () => turn(0, -0.1),
  "+": () => zoom(0.85),
  "=": () => zoom(0.85),
  "-": () => zoom(1 / 0.85),
  0: () => lookAt(partBall, story.view),
};

function onKeys() {
  canvas.addEventListener("keydown", (e) => {
    const act = KEYS[e.key];
    if (!act || e.ctrlKey || e.metaKey || e.altKey) return;
    e.preventDefault();
    act();
    redraw();
    probe(0.5 * camera.size[0], 0.5 * camera.size[1], false);
  });
}

const LOOKS = {
  part: () => lookAt(partBall, story.view),
  tank: () => lookAt(wholeBall, story.view),
  front: () => lookAt(partBall, [story.front, 0]),
  above: () => lookAt(partBall, [story.front, STEEPEST]),
};

function chooseQuantity(n) {
  show.quantity = n;
  for (const legend of document.querySelectorAll(".legend")) {
    legend.hidden = Number(legend.dataset.quantity) !== n;
  }
  redraw();
}

function onControls() {
  for (const input of document.querySelectorAll("#quantities input")) {
    input.addEventListener("change", () => chooseQuantity(Number(input.value)));
  }
  for (const button of document.querySelectorAll("[data-look]")) {
    button.addEventListener("click", () => {
      LOOKS[button.dataset.look]();
      names.forEach((name) => { name.hidden = button.dataset.look !== "tank"; });
      redraw();
    });
  }
  const toggle = (id, act) => $(id).addEventListener("change", (e) => { act(e.target.checked); redraw(); });
  toggle("show-wires", (on) => { show.wires = on; });
  toggle("show-section", (on) => { show.section = on; });
  toggle("show-markers", (on) => { markers.forEach((m) => { m.hidden = !on; }); });
}

function start() {
  if (!gl || !story.surfaces.length) {
    readout.textContent = "This browser cannot draw the view in space; the picture shows the thickness.";
    return;
  }
  buildScene();
  stage.hidden = false;
  $("tools").hidden = false;
  poster.hidden = true;
  lookAt(partBall, story.view);
  onPointers();
  onKeys();
  onControls();
  new ResizeObserver(redraw).observe(stage);
  // On paper stands what was last looked at.
  window.addEventListener("beforeprint", () => { draw(); poster.src = canvas.toDataURL("image/png"); });
  redraw();
}

start();
