// What the job's text says, as the engine understood it: asked for after every change, the latest only. While the
// text has faults the last whole drawing stays.

const seen = { look: null, text: null, faults: [], error: null, chosen: null };
const lookers = [];
const onLook = (act) => lookers.push(act);

let looking = 0;

async function lookAgain(reason) {
  const mine = ++looking;
  const text = job.text;
  if (text === null) return;
  const reply = await quick.ask({ ask: "look", text });
  if (mine !== looking) return;
  seen.faults = reply.faults || [];
  seen.error = reply.error || null;
  if (reply.ok) {
    seen.look = inSpace(reply.ok);
    seen.text = text;
    if (!bodyNamed(seen.chosen)) seen.chosen = null;
  }
  for (const act of lookers) act(reason);
}

// The plane of a job in two dimensions is drawn as the view from above, and everything has three coordinates; what
// is not in the tank at all has a box without size.
function inSpace(look) {
  const three = (x) => [...x, 0, 0].slice(0, 3);
  const flat = look.tank.size.length < 3;
  for (const body of look.bodies) {
    body.box = body.box ? body.box.map(three) : [[0, 0, 0], [0, 0, 0]];
    if (flat) body.outline = { top: body.outline.front, front: [], side: [] };
  }
  look.tank.low = three(look.tank.low);
  look.tank.high = three(look.tank.size).map((s, k) => look.tank.low[k] + s);
  return look;
}

const isFlat = (look) => look.tank.size.length < 3;
const bodyNamed = (name) => (seen.look ? seen.look.bodies.find((b) => b.name === name) : undefined);
const isWhole = () => seen.text === job.text && !seen.faults.length && !seen.error;

function choose(name) {
  if (seen.chosen === name) return;
  seen.chosen = name;
  for (const act of lookers) act("choose");
}
