// Puts it together: screens, tabs, panels of a phone, and what is shown after each change.

function showScreen(name) {
  document.body.dataset.screen = name;
  $("guide").hidden = name !== "guide";
  $("desk").hidden = name !== "desk";
  $("report").hidden = name !== "report";
  $("textbook").hidden = name !== "textbook";
  $("panels").hidden = name !== "desk";
  for (const made of document.querySelectorAll("#screens [data-screen]")) {
    made.setAttribute("aria-current", made.dataset.screen === name || (name === "guide" && made.dataset.screen === "desk") ? "page" : "false");
  }
  if (name === "guide") showGuide();
  if (name === "report") showReport();
  if (name === "textbook") showTextbook();
  if (name === "desk") { showPlans(); redraw(); }
  window.scrollTo(0, 0);
}

function showPanel(name) {
  document.body.dataset.panel = name;
  for (const made of document.querySelectorAll("[data-panel]:is(button)")) made.setAttribute("aria-pressed", String(made.dataset.panel === name));
  if (name === "tank") showPlans();
  redraw();
  window.scrollTo(0, 0);
}

function showTab(name) {
  for (const key of ["forms", "text"]) {
    const on = key === name;
    $(key).hidden = !on;
    $(`tab-${key}`).setAttribute("aria-selected", String(on));
    $(`tab-${key}`).tabIndex = on ? 0 : -1;
  }
  if (name === "text") { showPanel("side"); showText(); }
}

// The whole report, in a frame of its own that can reach nothing of this page.
function showReport() {
  const place = $("report");
  const { answer, coarse, text } = solving;
  const ready = answer && !coarse && text === job.text && answer.html;
  if (!ready) {
    const words = job.text === null ? "There is no job yet: begin with one." : "The report is there once the job as it stands has been computed in full.";
    place.replaceChildren(element("section", {}, element("h2", {}, "The report"), element("p", {}, words)));
    return;
  }
  const frame = element("iframe", { sandbox: "allow-scripts", title: "The report of this job" });
  frame.srcdoc = new TextDecoder().decode(answer.html);
  place.replaceChildren(frame);
}

function showTitle() {
  $("title").textContent = job.text === null ? "An empty tank" : (seen.look && seen.look.title) || job.name;
  document.title = job.text === null ? "ionfall" : `${$("title").textContent} - ionfall`;
}

// After a look: drawings, forms, and the part in grey where no answer is there.
function showAll(reason) {
  if (drag.on) return;
  showTitle();
  showPlans();
  showOverlaps(seen.look ? seen.look.overlaps : []);
  showBody();
  if (reason === "choose") return;
  showForms();
  if (!seen.look) return;
  if (!solving.text || reason === "open") {
    solving.text = solving.answer = null;
    showNoVerdict("Nothing computed yet.");
    showStory(greyStory(seen.look));
    showPlaces();
  } else {
    showWires(seen.look);
  }
}

function onMenus() {
  for (const menu of document.querySelectorAll("details.menu")) {
    menu.addEventListener("keydown", (e) => { if (e.key === "Escape") { menu.open = false; menu.firstElementChild.focus(); } });
    menu.addEventListener("click", (e) => { if (e.target.closest(".choices button")) menu.open = false; });
  }
  document.addEventListener("pointerdown", (e) => {
    for (const menu of document.querySelectorAll("details.menu[open]")) if (!menu.contains(e.target)) menu.open = false;
  });
}

function onScreens() {
  for (const made of document.querySelectorAll("#screens button")) {
    made.addEventListener("click", () => showScreen(made.dataset.screen === "desk" && job.text === null ? "guide" : made.dataset.screen));
  }
  for (const made of document.querySelectorAll("#panels button")) made.addEventListener("click", () => showPanel(made.dataset.panel));
  for (const key of ["forms", "text"]) {
    $(`tab-${key}`).addEventListener("click", () => showTab(key));
    $(`tab-${key}`).addEventListener("keydown", (e) => {
      if (e.key !== "ArrowLeft" && e.key !== "ArrowRight") return;
      const other = key === "forms" ? "text" : "forms";
      showTab(other);
      $(`tab-${other}`).focus();
    });
  }
  $("new").addEventListener("click", () => showScreen("guide"));
}

function begin() {
  onHistory();
  onEditor();
  onMenus();
  onScreens();
  onDrags();
  onView();
  onTries();
  onFiles();
  showAdding();
  onJob((reason) => lookAgain(reason));
  onLook(showAll);
  onSolving();
  window.addEventListener("resize", later(120, () => { if (document.body.dataset.screen === "desk") showPlans(); }));
  showSaving();
  showPanel("answer");
  if (given.text === null || given.text === undefined) {
    showScreen("guide");
  } else {
    showScreen("desk");
    openJob(given.name, given.text, given.files || {});
  }
}

begin();
