// The numbers of a story: base64 of little-endian arrays, turned into typed arrays. Coordinates and values
// come as 16 bits between two ends; the largest stands for what is no number.

function unpack(text, Type) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let n = 0; n < raw.length; n++) bytes[n] = raw.charCodeAt(n);
  return new Type(bytes.buffer);
}

function spread({ low, high, numbers }, into, first, step) {
  const shorts = unpack(numbers, Uint16Array);
  for (let n = 0; n < shorts.length; n++) {
    into[first + step * n] = shorts[n] === 65535 ? Number.NaN : low + ((high - low) * shorts[n]) / 65534;
  }
  return into;
}

// Turns the packed numbers of a story into arrays.
function unpackStory(story) {
  for (const surface of story.surfaces) {
    surface.triangles = unpack(surface.triangles, surface.wide ? Uint32Array : Uint16Array);
    const corners = (packed) => atob(packed.numbers).length / 2;
    const points = new Float32Array(3 * corners(surface.points[0]));
    surface.points.forEach((axis, k) => spread(axis, points, k, 3));
    surface.points = points;
    surface.values = surface.values.map((v) => spread(v, new Float32Array(corners(v)), 0, 1));
  }
  for (const wire of story.wires) wire.points = unpack(wire.points, Float32Array);
  return story;
}

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
