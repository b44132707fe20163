// Controls, tables to be copied, printing, and the way back after a lost graphics context.

const $ = (id) => document.getElementById(id);
const stage = $("stage"), tip = $("tip"), readout = $("readout"), poster = $("poster");
let asked = false, settling = 0, lost = false;
show.markers = true;

const HELP = "Point at the part, or tap it, to read its values. Drag to turn; after a click the wheel zooms; shift-drag or two fingers shift.";

// Draws once before the next picture of the screen, however often it was asked for.
function redraw() {
  if (asked || lost || stage.hidden) return;
  asked = true;
  requestAnimationFrame(() => {
    asked = false;
    draw();
    placeLeaders();
    clearTimeout(settling);
    settling = setTimeout(() => { findHidden(); placeLeaders(); }, 200);
  });
}

const LOOKS = {
  part: () => lookAt(ofPart, partBall, story.view),
  beside: () => lookAt(ofPart, partBall, story.view.map((a, k) => Math.max(-STEEPEST, Math.min(STEEPEST + 9 * (1 - k), a + BESIDE[k])))),
  tank: () => lookAt(ofAll, wholeBall, [story.front + BESIDE[0], BESIDE[1]]),
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
      show.wires = button.dataset.look === "tank";
      LOOKS[button.dataset.look]();
      redraw();
    });
  }
  const toggle = (id, act) => $(id).addEventListener("change", (e) => { act(e.target.checked); redraw(); });
  toggle("show-section", (on) => { show.section = on; });
  toggle("show-markers", (on) => { show.markers = on; });
}

// A button beside each table that copies it with tabs between its fields.
function onTables() {
  for (const table of document.querySelectorAll(".table table")) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "copy";
    button.textContent = "copy";
    button.setAttribute("aria-label", `copy the table ${table.caption.textContent}`);
    button.addEventListener("click", async () => {
      const rows = [...table.rows].map((row) => [...row.cells].map((c) => c.textContent.trim()).join("\t"));
      try {
        await navigator.clipboard.writeText(rows.join("\n"));
        button.textContent = "copied";
      } catch {
        getSelection().selectAllChildren(table);
        button.textContent = "selected";
      }
      setTimeout(() => { button.textContent = "copy"; }, 1500);
    });
    table.parentElement.prepend(button);
  }
}

// What was on the graphics card is gone; once there is one again it is made anew.
function onLoss() {
  canvas.addEventListener("webglcontextlost", (e) => { e.preventDefault(); lost = true; loseScene(); });
  canvas.addEventListener("webglcontextrestored", () => { lost = false; buildScene(); redraw(); });
}

function start() {
  onTables();
  onCharts();
  if (!gl || !story.surfaces.length) {
    readout.textContent = "This browser cannot draw the view in space; the picture shows the thickness.";
    return;
  }
  buildScene();
  stage.hidden = false;
  $("tools").hidden = false;
  poster.classList.add("spare");
  readout.textContent = HELP;
  camera.size = [canvas.clientWidth, canvas.clientHeight];
  LOOKS.part();
  onPointers();
  onKeys();
  onControls();
  onLoss();
  new ResizeObserver(redraw).observe(stage);
  redraw();
}

start();
