// Which place of the work a ray meets first, and what is known there.

// Nearest triangle on a ray (T. Moller, B. Trumbore 1997: solve for distance and two weights).
function strike({ eye, along }) {
  let best = null;
  for (const surface of story.surfaces) {
    const { points, triangles } = surface;
    for (let n = 0; n < triangles.length; n += 3) {
      const [a, b, c] = [3 * triangles[n], 3 * triangles[n + 1], 3 * triangles[n + 2]];
      const ux = points[b] - points[a], uy = points[b + 1] - points[a + 1], uz = points[b + 2] - points[a + 2];
      const vx = points[c] - points[a], vy = points[c + 1] - points[a + 1], vz = points[c + 2] - points[a + 2];
      const px = along[1] * vz - along[2] * vy, py = along[2] * vx - along[0] * vz, pz = along[0] * vy - along[1] * vx;
      const volume = ux * px + uy * py + uz * pz;
      if (volume === 0) continue;
      const tx = eye[0] - points[a], ty = eye[1] - points[a + 1], tz = eye[2] - points[a + 2];
      const s = (tx * px + ty * py + tz * pz) / volume;
      if (s < 0 || s > 1) continue;
      const qx = ty * uz - tz * uy, qy = tz * ux - tx * uz, qz = tx * uy - ty * ux;
      const t = (along[0] * qx + along[1] * qy + along[2] * qz) / volume;
      if (t < 0 || s + t > 1) continue;
      const distance = (vx * qx + vy * qy + vz * qz) / volume;
      if (distance > 0 && (!best || distance < best.distance)) {
        best = { surface, distance, corners: [a / 3, b / 3, c / 3], weights: [1 - s - t, s, t] };
      }
    }
  }
  if (best) best.at = eye.map((e, k) => e + best.distance * along[k]);
  return best;
}

// Each quantity at a struck place, in words; the shown one first.
function valuesAt(hit) {
  const read = (n) => hit.corners.reduce((sum, v, k) => sum + hit.weights[k] * hit.surface.values[n][v], 0);
  const order = story.quantities.map((_, n) => n).sort((a, b) => (b === show.quantity) - (a === show.quantity));
  return order.map((n) => ({ quantity: story.quantities[n], value: read(n) }));
}

// Lines of text about a struck place.
function describe(hit) {
  const values = valuesAt(hit);
  const bare = values.every(({ value }) => Number.isNaN(value));
  const lines = bare
    ? ["not plated here"]
    : values.filter(({ value }) => !Number.isNaN(value)).map(({ quantity, value }) => `${quantity.label} ${digits(value)} ${quantity.unit}`);
  return { lines, where: `${hit.surface.name}, ${placeText(hit.at)}` };
}

// Nearest point of a chart's way to a place of the view, if it is near.
function nearestOnWay(places, x) {
  let best = { far: 0.06 * partBall.radius, n: -1 };
  places.forEach((p, n) => {
    const far = Math.hypot(...p.map((c, k) => c - x[k]));
    if (far < best.far) best = { far, n };
  });
  return best.n;
}

// Is a place hidden behind the work?
function isAway(x) {
  const { eye } = directions();
  const hit = strike({ eye, along: x.map((c, k) => c - eye[k]) });
  return hit !== null && hit.distance < 1 - (0.01 * partBall.radius) / camera.distance;
}
