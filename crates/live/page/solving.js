// What is computed when. A change is answered on a coarse grid at once and on the job's own grid after it; while
// something is dragged only the coarse one answers. Whatever is older than the last change is cancelled.

const solving = { run: 0, answer: null, text: null, coarse: false, speed: 60000, doing: null };
const COARSE_S = 0.25; // what a coarse answer may take
const COARSE_CELLS = [6000, 60000];
const QUICK_ENOUGH_S = 0.6; // a full answer that comes so soon needs no coarse one before
const MOST_CELLS = 1.5e6; // beyond, the full answer waits to be asked for

const coarseCells = () => Math.round(Math.max(COARSE_CELLS[0], Math.min(COARSE_CELLS[1], COARSE_S * solving.speed)));
const thousands = (n) => Math.round(n).toLocaleString("en-GB");

// One answer, shown; nothing if there is none, or something newer has been asked for meanwhile.
async function solveOnce(text, coarse) {
  solver.cancel();
  const run = ++solving.run;
  doing(coarse ? "coarse answer" : "computing", 0);
  const reply = await solver.ask(
    { ask: "solve", text, cells: coarse ? coarseCells() : null, what: coarse ? "quick" : "full" },
    ({ share, words }) => { if (run === solving.run) doing(`${coarse ? "coarse answer" : "computing"}: ${words}`, share); });
  if (reply.ok) {
    await breath();
    unpackStory(reply.ok.story);
    await breath();
  }
  if (run !== solving.run) return null;
  doing(null);
  showReply(reply, text, coarse);
  return reply.ok || null;
}

const solveCoarse = (text) => solveOnce(text, true);

async function solveFull(text) {
  const answer = await solveOnce(text, false);
  if (!answer) return;
  await breath();
  addTry(text, answer);
}

// The job as it stands, coarse first where the full answer takes its time.
async function solveJob() {
  const text = job.text;
  const kept = tryOf(text);
  if (kept) { solver.cancel(); solving.run++; doing(null); showAnswer(kept.answer, text, false); markTry(); return; }
  const guess = seen.look.cells_guess;
  if ((guess || Infinity) > QUICK_ENOUGH_S * solving.speed && !(await solveCoarse(text))) return;
  if (guess > MOST_CELLS) { doing(null, 0, `About ${thousands(guess)} cells on the job's own grid: press compute.`); return; }
  await solveFull(text);
}

function showReply(reply, text, coarse) {
  if (!reply.ok) {
    if (reply.cancelled) return;
    solving.text = null;
    showNoVerdict(refusal(reply));
    flagNow();
    return;
  }
  const { cells, seconds } = reply.ok;
  if (seconds > 0.02) solving.speed = 0.5 * solving.speed + 0.5 * (cells / seconds);
  showAnswer(reply.ok, text, coarse);
}

function showAnswer(answer, text, coarse) {
  Object.assign(solving, { answer, text, coarse });
  showVerdict(answer.story, coarse);
  showStory(answer.story);
  showPlaces();
  readout.textContent = HELP;
  flagNow();
  showSaving();
  if (document.body.dataset.screen === "report") showReport();
}

// Says what the shown answer is worth.
function flagNow() {
  $("compute").hidden = isAnswered() || document.body.classList.contains("busy");
  if (!solving.text) { flag(""); return; }
  const cells = thousands(solving.answer.cells);
  if (solving.coarse) flag(`coarse: ${cells} cells`);
  else if (solving.text !== job.text) flag("before the last change");
  else flag("");
}

function doing(words, share = 0, left = "") {
  $("doing").textContent = words ? `${words}\u2026` : left;
  $("share").hidden = $("cancel").hidden = !words;
  $("share").value = share || 0;
  document.body.classList.toggle("busy", Boolean(words));
  flagNow();
}

function cancelSolving() {
  solver.cancel();
  solving.run++;
  doing(null, 0, "Cancelled.");
}

const isAnswered = () => solving.text !== null && solving.text === job.text && !solving.coarse;

const solveSoon = later(700, solveJob);

function onSolving() {
  $("compute").addEventListener("click", () => {
    if (!isWhole()) { say("The job's text has a fault; mend it first.", "bad"); showTab("text"); return; }
    solveFull(job.text);
  });
  $("cancel").addEventListener("click", cancelSolving);
  onJob(flagNow);
  onLook((reason) => {
    if (reason === "choose") return;
    $("compute").disabled = !isWhole();
    if (!isWhole()) {
      solver.cancel();
      solving.run++;
      doing(null, 0, "The text has a fault.");
      flagNow();
      return;
    }
    flagNow();
    if (!seen.look.bodies.some((b) => b.role === "work")) { doing(null, 0, "Nothing hangs in the tank to be plated."); return; }
    if (reason === "typing") solveSoon();
    else { solveSoon.stop(); solveJob(); }
  });
}
