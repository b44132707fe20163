// The numbers of the page: base64 of little-endian arrays, turned into typed arrays.

function unpack(text, Type) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let n = 0; n < raw.length; n++) bytes[n] = raw.charCodeAt(n);
  return new Type(bytes.buffer);
}

const data = JSON.parse(document.getElementById("data").textContent);
const story = data.story;
for (const surface of story.surfaces) {
  surface.points = unpack(surface.points, Float32Array);
  surface.triangles = unpack(surface.triangles, Uint32Array);
  surface.values = surface.values.map((v) => unpack(v, Float32Array));
}
for (const wire of story.wires) wire.points = unpack(wire.points, Float32Array);

// Smallest box around points (x, y, z after each other), as middle and radius of its ball.
function ballAround(lists) {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const points of lists) {
    for (let n = 0; n < points.length; n++) {
      low[n % 3] = Math.min(low[n % 3], points[n]);
      high[n % 3] = Math.max(high[n % 3], points[n]);
    }
  }
  return {
    centre: low.map((l, k) => 0.5 * (l + high[k])),
    radius: 0.5 * Math.hypot(...low.map((l, k) => high[k] - l)),
  };
}

const partBall = ballAround(story.surfaces.map((s) => s.points));
const wholeBall = ballAround([...story.surfaces, ...story.wires].map((s) => s.points));

// Three digits, as the tables write them.
function digits(value) {
  if (!Number.isFinite(value)) return "none";
  const text = Number(value.toPrecision(3));
  return Math.abs(text) >= 1e5 || (text !== 0 && Math.abs(text) < 1e-3) ? text.toExponential(2) : String(text);
}

// A place of the view in the coordinates of the job.
function placeText([x, y, z]) {
  const at = { tank: [x, y, z], planar: [x, z], axisymmetric: [Math.hypot(x, y), z] }[story.space];
  return story.axes.map((axis, k) => `${axis} ${at[k].toFixed(1)}`).join(", ") + " mm";
}
