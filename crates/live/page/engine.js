// The engine: two workers that answer requests. `quick` looks at texts and edits them; `solver` computes and is
// ended and begun anew to cancel. What stops a worker is told; the job is the page's and is kept.

class Engine {
  constructor() {
    this.waiting = new Map();
    this.count = 0;
    this.worker = null;
    this.sent = new Map();
  }

  begin() {
    this.worker = new Worker(workerAddress());
    this.sent.clear();
    this.worker.onmessage = ({ data }) => this.hear(data);
    this.worker.onerror = (e) => { e.preventDefault(); this.stop(e.message || "the worker does not start"); };
    this.worker.postMessage(module ? { module } : { packed: $("engine").textContent.trim() });
  }

  hear({ number, told, reply, trapped, module: made }) {
    if (made) { keep(made); return; }
    const waits = this.waiting.get(number);
    if (trapped !== undefined) { this.stop(trapped); return; }
    if (!waits) return;
    if (told) { waits.tell(told); return; }
    this.waiting.delete(number);
    waits.done(reply);
  }

  // Whatever is asked is answered: that it was stopped.
  stop(why) {
    this.end({ error: `The engine stopped: ${why}. Your job is kept; change it or undo, and try again.`, stopped: true });
  }

  cancel() {
    if (this.waiting.size) this.end({ cancelled: true });
  }

  end(reply) {
    if (this.worker) this.worker.terminate();
    this.worker = null;
    const waiting = [...this.waiting.values()];
    this.waiting.clear();
    for (const { done } of waiting) done(reply);
  }

  send(request, tell) {
    const number = ++this.count;
    return new Promise((done) => {
      this.waiting.set(number, { done, tell });
      this.worker.postMessage({ number, request });
    });
  }

  async ask(request, tell = () => {}) {
    // The first to begin unpacks the module for all.
    if (this !== quick) await compiled;
    if (!this.worker) this.begin();
    for (const [name, base64] of job.files) {
      if (this.sent.get(name) === base64) continue;
      this.sent.set(name, base64);
      this.send({ ask: "file", name, base64 }, () => {});
    }
    return this.send(request, tell);
  }
}

const quick = new Engine();
const solver = new Engine();
let module = null;
let address = null;

function workerAddress() {
  address ||= URL.createObjectURL(new Blob([$("worker").textContent], { type: "text/javascript" }));
  return address;
}

const fromBase64 = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0));

function toBase64(bytes) {
  let text = "";
  for (let n = 0; n < bytes.length; n += 32768) text += String.fromCharCode(...bytes.subarray(n, n + 32768));
  return btoa(text);
}

const packedThrough = (bytes, stream) => new Response(new Blob([bytes]).stream().pipeThrough(stream)).arrayBuffer();

// The module, as soon as the first worker has compiled it; its packed text is not needed any more then.
let keep = null;
const compiled = new Promise((done) => {
  keep = (made) => {
    module = made;
    $("engine").remove();
    done();
  };
});

// Edits of the text, one after the other. The answer becomes the job's text; a refusal is said.
let editing = Promise.resolve();
const edit = (request, label, join = null) => (editing = editing.then(() => editNow(request, label, join)));

async function editNow(request, label, join) {
  let from, reply;
  // Written into the text meanwhile: once more from what stands there now.
  do {
    from = job.text;
    reply = await quick.ask({ text: from, ...request });
  } while (job.text !== from);
  if (!reply.ok) { say(refusal(reply), "bad"); return null; }
  change(reply.ok.text, label, join);
  return reply.ok;
}

function refusal(reply) {
  if (reply.error) return reply.error;
  const fault = (reply.faults || [])[0];
  if (!fault) return "The engine gave no answer.";
  return `Line ${fault.line}: ${fault.message}${fault.help ? `; ${fault.help}` : ""}`;
}
