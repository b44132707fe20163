// The engine in a worker. The page sends the compiled module first, then requests with a number; each is
// answered by its reply, by what it tells on the way, or by what stopped the engine.

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

let ready = null;

onmessage = async ({ data }) => {
  if (data.module) {
    ready = WebAssembly.instantiate(data.module, { env }).then((made) => { engine = made.exports; });
    return;
  }
  try {
    await ready;
    number = data.number;
    postMessage({ number, reply: answer(data.request) });
  } catch (e) {
    postMessage({ number: data.number, trapped: String(e && e.message ? e.message : e) });
  }
};
