// Opening and saving: jobs, zips of jobs with their files, shapes and pictures; the report, pictures, tables. Only
// what is asked for is kept in the browser.

const MOST_BYTES = 64 * 2 ** 20;
const KEPT = "ionfall job";
const SHAPES = /\.(stl|obj|ply)$/i, PICTURES = /\.(png|jpe?g|pgm|bmp)$/i, JOBS = /\.toml$/i;
const baseName = (path) => path.split(/[\\/]/).pop();

// Files by name from what was chosen or dropped; zips are unpacked.
async function readFiles(list) {
  const files = {};
  for (const file of list) {
    if (file.size > MOST_BYTES) throw new Error(`${file.name} has more than 64 MiB; save it with fewer triangles or points`);
    const bytes = new Uint8Array(await file.arrayBuffer());
    if (!/\.zip$/i.test(file.name)) { files[file.name] = bytes; continue; }
    try {
      Object.assign(files, await unzip(bytes));
    } catch (e) {
      throw new Error(`${file.name} cannot be unpacked: ${e.message}`);
    }
  }
  return files;
}

// Paths as the job in a zip writes them: relative to its folder.
function besideJob(files, name) {
  const folder = name.slice(0, name.length - baseName(name).length);
  const packed = Object.entries(files).filter(([key]) => key !== name);
  return Object.fromEntries(packed.map(([key, bytes]) => [key.startsWith(folder) ? key.slice(folder.length) : baseName(key), toBase64(bytes)]));
}

async function takeFiles(list) {
  let files;
  try {
    files = await readFiles(list);
  } catch (e) {
    say(`${e.message}.`, "bad");
    return;
  }
  const names = Object.keys(files);
  const jobs = names.filter((n) => JOBS.test(n)).sort((a, b) => a.split("/").length - b.split("/").length);
  if (jobs.length) {
    const text = new TextDecoder().decode(files[jobs[0]]);
    showScreen("desk");
    openJob(baseName(jobs[0]), text, besideJob(files, jobs[0]));
    if (jobs.length > 1) say(`Opened ${jobs[0]}; there are ${jobs.length - 1} more jobs beside it.`);
    return;
  }
  const known = names.filter((n) => SHAPES.test(n) || PICTURES.test(n));
  if (!known.length) { say(`${names[0] ?? "This"} is neither a job (.toml, .zip) nor a shape (.stl, .obj, .ply) nor a picture (.png).`, "bad"); return; }
  const asked = namedIn(known);
  for (const name of known) addFile(baseName(name), toBase64(files[name]));
  if (asked && document.body.dataset.screen !== "guide") { say(`${asked} is taken from the new file.`); tellJob("open"); return; }
  if (document.body.dataset.screen === "guide" || job.text === null) { showScreen("guide"); guideFile(baseName(known[0])); return; }
  for (const name of known) await hangFile(baseName(name));
}

// A file that the job names: one that was missing, or another state of it.
const namedIn = (names) => names.map(baseName).find((n) => job.text !== null && job.text.includes(`"${n}"`));

async function hangFile(name) {
  const relief = PICTURES.test(name);
  await addedBody({ ask: "add", kind: "work", shape: relief ? "relief" : "mesh", file: name, unit: "mm", ...(relief ? { width: "100 mm", depth: "3 mm" } : {}) }, `hang ${name}`);
}

function download(name, content, type) {
  const address = URL.createObjectURL(content instanceof Blob ? content : new Blob([content], { type }));
  const link = element("a", { href: address, download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
}

const stem = () => job.name.replace(/\.toml$/i, "") || "job";
const namedFiles = () => [...job.files].filter(([name]) => job.text.includes(name));

function savedZip() {
  const files = { [job.name]: new TextEncoder().encode(job.text) };
  for (const [name, base64] of namedFiles()) files[name.replace(/^(\.*[\\/])+/, "")] = fromBase64(base64);
  return zip(files);
}

async function savePicture() {
  const blob = await new Promise((done) => canvas.toBlob(done, "image/png"));
  if (blob) download(`${stem()}.png`, blob, "image/png");
}

function saveDrawing() {
  const style = "<style>.shape{fill:#d9c8b4;stroke:#1d2733}.wall,.level,.chain{fill:none;stroke:#55606c}.water{fill:#e7f1f5}.near,.grips,.guides{display:none}text{font:12px sans-serif}</style>";
  for (const made of plan.drawings) {
    const copy = made.svg.cloneNode(true);
    copy.setAttribute("xmlns", SVG);
    const text = new XMLSerializer().serializeToString(copy).replace(/(<svg[^>]*>)/, `$1${style}`);
    download(`${stem()}-${made.key}.svg`, text, "image/svg+xml");
  }
}

function keepHere() {
  try {
    localStorage.setItem(KEPT, JSON.stringify({ name: job.name, text: job.text, files: Object.fromEntries(namedFiles()) }));
    say("Kept in this browser. It is offered when the page is opened again, until you forget it here.");
  } catch {
    say("This browser has no room for it, or does not keep anything; save the job as a file instead.", "bad");
  }
  showSaving();
}

function keptJob() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEPT));
    return kept && typeof kept.text === "string" && typeof kept.name === "string" ? kept : null;
  } catch {
    return null;
  }
}

function forget() {
  try { localStorage.removeItem(KEPT); } catch { /* nothing can be kept here, so nothing is */ }
  say("Nothing of the job is kept in this browser any more.");
  showSaving();
}

function showSaving() {
  const has = job.text !== null, { answer } = solving;
  const full = has && answer && !solving.coarse && solving.text === job.text;
  const wait = full ? "" : " (after computing)";
  const choice = (words, act, on) => button(words, () => { $("save").open = false; act(); }, { disabled: !on });
  $("save-choices").replaceChildren(
    choice("the job (.toml)", () => download(job.name, job.text, "application/toml"), has),
    choice("the job with its files (.zip)", async () => download(`${stem()}.zip`, await savedZip()), has),
    choice(`the report (.html)${wait}`, () => download(`${stem()}-report.html`, answer.html, "text/html"), full && answer.html),
    choice("the part as shown (.png)", savePicture, has && answer),
    choice("the drawings (.svg)", saveDrawing, has && seen.look),
    choice(`thickness of every facet (.csv)${wait}`, () => download(`${stem()}-facets.csv`, answer.csv, "text/csv"), full && answer.csv),
    choice("keep in this browser", keepHere, has),
    choice("forget what is kept here", forget, keptJob()));
}

function onFiles() {
  const input = $("open-file");
  $("open").addEventListener("click", () => input.click());
  input.addEventListener("change", async () => { await takeFiles([...input.files]); input.value = ""; });
  document.addEventListener("dragover", (e) => { e.preventDefault(); document.body.classList.add("dropping"); });
  document.addEventListener("dragleave", (e) => { if (!e.relatedTarget) document.body.classList.remove("dropping"); });
  document.addEventListener("drop", (e) => {
    e.preventDefault();
    document.body.classList.remove("dropping");
    if (e.dataTransfer.files.length) takeFiles([...e.dataTransfer.files]);
  });
  onJob(showSaving);
}
