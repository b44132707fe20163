// The job: its text and its files, and the texts it had before. Everything that changes the job goes through
// `change`; who shows the job is told by `onJob`.

const job = { name: "job.toml", text: null, files: new Map() };
const past = { steps: [], at: -1 };
const MOST_STEPS = 500;
const watchers = [];

const onJob = (act) => watchers.push(act);

function tellJob(reason) {
  for (const act of watchers) act(reason);
}

// A new job: what was before can be come back to as well.
function openJob(name, text, files) {
  job.name = name;
  for (const [key, base64] of Object.entries(files)) job.files.set(key, base64);
  step(text, `open ${name}`);
  tellJob("open");
}

// A file of the job as it stands: it goes with its text, back and forth.
function addFile(name, base64) {
  job.files.set(name, base64);
  if (past.at >= 0) past.steps[past.at].files.set(name, base64);
}

function step(text, label) {
  past.steps.length = past.at + 1;
  past.steps.push({ text, label, name: job.name, files: new Map(job.files), when: Date.now() });
  if (past.steps.length > MOST_STEPS) past.steps.shift();
  past.at = past.steps.length - 1;
  job.text = text;
}

// Another text. Steps with the same `join` that follow each other closely are one step.
function change(text, label, join = null) {
  if (text === job.text) return;
  const last = past.steps[past.at];
  const goesOn = join && last && last.join === join && past.at === past.steps.length - 1 && Date.now() - last.when < 1200;
  if (goesOn) {
    Object.assign(last, { text, label, when: Date.now() });
    job.text = text;
  } else {
    step(text, label);
    past.steps[past.at].join = join;
  }
  tellJob(join === "typing" ? "typing" : "change");
}

function travel(by) {
  const to = past.at + by;
  if (to < 0 || to >= past.steps.length) return;
  const undone = past.steps[Math.max(past.at, to)].label;
  past.at = to;
  job.text = past.steps[to].text;
  job.name = past.steps[to].name;
  job.files = new Map(past.steps[to].files);
  past.steps[to].join = null;
  tellJob("travel");
  say(`${by < 0 ? "Undone" : "Done again"}: ${undone}.`);
}

const undo = () => travel(-1);
const redo = () => travel(1);

function showHistory() {
  const before = past.steps[past.at], after = past.steps[past.at + 1];
  $("undo").disabled = past.at <= 0;
  $("redo").disabled = !after;
  $("undo").title = past.at > 0 ? `undo: ${before.label} (Ctrl+Z)` : "undo";
  $("redo").title = after ? `do again: ${after.label} (Ctrl+Shift+Z)` : "redo";
}

function onHistory() {
  $("undo").addEventListener("click", undo);
  $("redo").addEventListener("click", redo);
  document.addEventListener("keydown", (e) => {
    if (!(e.ctrlKey || e.metaKey) || e.altKey) return;
    const key = e.key.toLowerCase();
    const back = key === "z" && !e.shiftKey;
    const forth = (key === "z" && e.shiftKey) || key === "y";
    // A field that is being written in has its own way back; the text of the job has ours.
    const own = e.target.matches("input, select") && e.target.dataset.dirty;
    if ((!back && !forth) || own || job.text === null) return;
    e.preventDefault();
    (back ? undo : redo)();
  });
  onJob(showHistory);
}
