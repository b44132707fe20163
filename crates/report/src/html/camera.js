// A camera that goes round a target: two angles, a distance, a perspective. z is up.

const HALF_ANGLE = 0.23; // tangent of half the angle of view along the smaller side
const STEEPEST = 1.55;
const BESIDE = [-0.45, 0.35];

const camera = { about: 0, above: 0, target: [0, 0, 0], distance: 1, size: [1, 1], fit: null };

// Room for the numbers of places beside what is shown, pixels.
const ROOM = [46, 14];

// Looks at points (lists of x, y, z after each other) from a direction so that all of them fit.
function lookAt(lists, ball, angles) {
  [camera.about, camera.above] = angles;
  camera.target = [...ball.centre];
  camera.fit = () => {
    const { right, up, towards } = directions();
    const smaller = Math.min(...camera.size);
    const tangents = camera.size.map((s, k) => (HALF_ANGLE * Math.max(0.3 * s, s - 2 * ROOM[k])) / smaller);
    let away = 1e-6;
    for (const points of lists) {
      for (let n = 0; n < points.length; n += 3) {
        const arm = [0, 1, 2].map((k) => points[n + k] - camera.target[k]);
        const along = (v) => v[0] * arm[0] + v[1] * arm[1] + v[2] * arm[2];
        const beside = Math.max(Math.abs(along(right)) / tangents[0], Math.abs(along(up)) / tangents[1]);
        away = Math.max(away, beside - along(towards));
      }
    }
    camera.distance = away;
  };
  camera.fit();
}

// From the first turn on the reader has the distance.
function turn(about, above) {
  camera.fit = null;
  camera.about += about;
  camera.above = Math.max(-STEEPEST, Math.min(STEEPEST, camera.above + above));
}

function zoom(factor) {
  camera.fit = null;
  const radius = wholeBall.radius;
  camera.distance = Math.max(0.02 * radius, Math.min(20 * radius, camera.distance * factor));
}

// Moves the target with the picture: pixels across and down.
function shift(across, down) {
  camera.fit = null;
  const { right, up } = directions();
  const size = (2 * HALF_ANGLE * camera.distance) / Math.min(...camera.size);
  for (let k = 0; k < 3; k++) camera.target[k] += size * (down * up[k] - across * right[k]);
}

// The eye and the three directions of the picture.
function directions() {
  const [sa, ca, sb, cb] = [Math.sin(camera.about), Math.cos(camera.about), Math.sin(camera.above), Math.cos(camera.above)];
  const towards = [-cb * ca, -cb * sa, -sb];
  return {
    towards,
    right: [-sa, ca, 0],
    up: [-sb * ca, -sb * sa, cb],
    eye: camera.target.map((t, k) => t - camera.distance * towards[k]),
  };
}

// How many half pictures a unit at unit depth is wide and high.
function stretch() {
  const [width, height] = camera.size;
  const smaller = Math.min(width, height);
  return [smaller / width / HALF_ANGLE, smaller / height / HALF_ANGLE];
}

// Projection and view as one matrix, column by column.
function matrix() {
  const { eye, right, up, towards } = directions();
  const [fx, fy] = stretch();
  const reach = Math.hypot(...wholeBall.centre.map((c, k) => c - eye[k])) + wholeBall.radius;
  const near = Math.max(0.005 * camera.distance, reach - 2.2 * wholeBall.radius - partBall.radius);
  const far = reach * 1.01;
  const a = (far + near) / (far - near);
  const b = (-2 * far * near) / (far - near);
  const dot = (v) => v[0] * eye[0] + v[1] * eye[1] + v[2] * eye[2];
  const m = new Float32Array(16);
  for (let k = 0; k < 3; k++) {
    m[4 * k] = fx * right[k];
    m[4 * k + 1] = fy * up[k];
    m[4 * k + 2] = a * towards[k];
    m[4 * k + 3] = towards[k];
  }
  m[12] = -fx * dot(right);
  m[13] = -fy * dot(up);
  m[14] = -a * dot(towards) + b;
  m[15] = -dot(towards);
  return m;
}

// Where a point lands, in pixels; nothing behind the eye.
function project(x) {
  const { eye, right, up, towards } = directions();
  const arm = x.map((c, k) => c - eye[k]);
  const dot = (v) => v[0] * arm[0] + v[1] * arm[1] + v[2] * arm[2];
  const depth = dot(towards);
  if (depth <= 0) return null;
  const [fx, fy] = stretch();
  return [
    (0.5 + (0.5 * fx * dot(right)) / depth) * camera.size[0],
    (0.5 - (0.5 * fy * dot(up)) / depth) * camera.size[1],
  ];
}

// The ray through a pixel.
function ray(px, py) {
  const { eye, right, up, towards } = directions();
  const [fx, fy] = stretch();
  const across = ((2 * px) / camera.size[0] - 1) / fx;
  const upward = (1 - (2 * py) / camera.size[1]) / fy;
  return { eye, along: towards.map((t, k) => t + across * right[k] + upward * up[k]) };
}
