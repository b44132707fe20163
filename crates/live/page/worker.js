// The engine in a worker. The page sends the module first, packed or, once a worker has sent it back compiled, as it
// is; then requests with a number. Each is answered by its reply, by what it tells on the way, or by what stopped
// the engine.

let engine = null;
let number = 0;

const text = (at, length) => new TextDecoder().decode(new Uint8Array(engine.memory.buffer, at, length));

const env = {
  tell: (at, length) => postMessage({ number, told: JSON.parse(text(at, length)) }),
  clock: () => performance.now(),
};

function answer(request) {
  const bytes = new TextEncoder().encode(JSON.stringify(request));
  const into = engine.take(bytes.length);
  new Uint8Array(engine.memory.buffer, into, bytes.length).set(bytes);
  const at = engine.ask(bytes.length);
  const length = new DataView(engine.memory.buffer).getUint32(at, true);
  return JSON.parse(text(at + 4, length));
}

// The report and the table are long, and only read if somebody asks for them: they go as bytes, without a copy.
function handedOver(answer) {
  const long = ["html", "csv"].filter((key) => answer && typeof answer[key] === "string");
  return long.map((key) => (answer[key] = new TextEncoder().encode(answer[key])).buffer);
}

// Base64 of gzip to a module, which other workers can have too.
async function unpacked(packed) {
  const bytes = Uint8Array.from(atob(packed), (c) => c.charCodeAt(0));
  const plain = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  const module = await WebAssembly.compile(await new Response(plain).arrayBuffer());
  postMessage({ module });
  return module;
}

async function begin({ module, packed }) {
  const made = await WebAssembly.instantiate(module || (await unpacked(packed)), { env });
  engine = made.exports;
}

let ready = null;

onmessage = async ({ data }) => {
  if (data.module || data.packed) {
    ready = begin(data);
    ready.catch(() => {}); // told with the first request
    return;
  }
  try {
    await ready;
    number = data.number;
    const reply = answer(data.request);
    postMessage({ number, reply }, { transfer: handedOver(reply.ok) });
  } catch (e) {
    postMessage({ number: data.number, trapped: String(e && e.message ? e.message : e) });
  }
};
