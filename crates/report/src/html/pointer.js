// Mouse, fingers, wheel and keys. A finger that taps reads a place, and what it read stays; one that draws
// turns the part; two shift it and zoom. The wheel, and a finger up or down, scroll the page until the view
// has been clicked or tapped.

const TAP = 8; // pixels that a tap may slip

// Reads the place under a pixel into the tip (if `atPointer`) and the line below the view.
function probe(px, py, atPointer) {
  const hit = strike(ray(px, py));
  tip.hidden = !hit || !atPointer;
  pointInCharts(hit && hit.at);
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

// Around a finger something is found that lies within half of 44 pixels.
function probeNear(px, py) {
  for (const far of [0, 11, 22]) {
    for (let n = 0; n < (far ? 8 : 1); n++) {
      const at = [px + far * Math.cos((n * Math.PI) / 4), py + far * Math.sin((n * Math.PI) / 4)];
      if (strike(ray(...at))) { probe(...at, true); return; }
    }
  }
  probe(px, py, true);
}

function onPointers() {
  const down = new Map();
  let waiting = false, slipped = 0, taken = false;
  const take = (on) => {
    taken = on;
    canvas.style.touchAction = on ? "none" : "";
  };
  const at = (e) => {
    const box = canvas.getBoundingClientRect();
    return [e.clientX - box.left, e.clientY - box.top];
  };
  const middle = () => [0, 1].map((k) => [...down.values()].reduce((sum, p) => sum + p[k], 0) / down.size);
  const width = () => {
    const [a, b] = [...down.values()];
    return Math.hypot(a[0] - b[0], a[1] - b[1]);
  };
  canvas.addEventListener("pointerdown", (e) => {
    canvas.setPointerCapture(e.pointerId);
    down.set(e.pointerId, at(e));
    if (e.pointerType !== "touch") take(true);
    if (down.size === 1) slipped = 0;
  });
  canvas.addEventListener("pointermove", (e) => {
    const here = at(e);
    const before = down.get(e.pointerId);
    if (!before) {
      if (!waiting) requestAnimationFrame(() => { waiting = false; probe(...here, true); });
      waiting = true;
      return;
    }
    const [dx, dy] = [here[0] - before[0], here[1] - before[1]];
    slipped += Math.hypot(dx, dy);
    if (slipped > TAP) tip.hidden = true;
    if (down.size === 2) {
      const [old, from] = [width(), middle()];
      down.set(e.pointerId, here);
      const to = middle();
      zoom(old / Math.max(1, width()));
      shift(to[0] - from[0], to[1] - from[1]);
      slipped = 2 * TAP;
    } else if (e.shiftKey || e.buttons === 2) {
      shift(dx, dy);
    } else if (slipped > TAP || e.pointerType !== "touch") {
      turn(-0.008 * dx, 0.008 * dy);
    }
    down.set(e.pointerId, here);
    redraw();
  });
  canvas.addEventListener("pointerup", (e) => {
    if (!down.delete(e.pointerId) || e.pointerType !== "touch" || slipped > TAP) return;
    take(true);
    probeNear(...at(e));
  });
  canvas.addEventListener("pointercancel", (e) => down.delete(e.pointerId));
  canvas.addEventListener("pointerleave", (e) => {
    // What a finger has read stays.
    if (e.pointerType === "touch") return;
    tip.hidden = true;
    take(false);
    pointInCharts(null);
  });
  document.addEventListener("pointerdown", (e) => { if (e.target !== canvas) take(false); });
  canvas.addEventListener("contextmenu", (e) => e.preventDefault());
  canvas.addEventListener("wheel", (e) => {
    if (!taken) return;
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
  0: () => LOOKS.part(),
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
