// Numbers of the places: beside the part, at the height of their places, never over each other, with lines
// to the places. Beside them the directions of the axes, and the place that is pointed at in a chart.

const GAP = 26, APART = 34, MARGIN = 16;
const AXES = { tank: ["x", "y", "z"], planar: ["x", "", "y"], axisymmetric: ["", "", "z"] };
const spot = { at: null };

// Moves ascending numbers apart, as near to where they were as one pass down and one up allow.
function apart(values, low, high) {
  let least = low;
  const moved = values.map((v) => { const at = Math.max(v, least); least = at + APART; return at; });
  let most = high;
  for (let n = moved.length - 1; n >= 0; n--) {
    moved[n] = Math.min(moved[n], most);
    most = moved[n] - APART;
  }
  return moved;
}

// The box of the picture around the part.
function partBox() {
  const box = [[Infinity, Infinity], [-Infinity, -Infinity]];
  for (const points of ofPart) {
    const every = 3 * Math.max(1, Math.floor(points.length / 3 / 4000));
    for (let n = 0; n < points.length; n += every) {
      const at = project([points[n], points[n + 1], points[n + 2]]);
      if (!at) continue;
      for (const k of [0, 1]) {
        box[0][k] = Math.min(box[0][k], at[k]);
        box[1][k] = Math.max(box[1][k], at[k]);
      }
    }
  }
  return box;
}

// Where the number of each place stands.
function numbersOf(spots) {
  const [low, high] = partBox();
  const middle = 0.5 * (low[0] + high[0]);
  const numbers = spots.map(() => null);
  for (const left of [true, false]) {
    const x = left ? Math.max(low[0] - GAP, MARGIN) : Math.min(high[0] + GAP, camera.size[0] - MARGIN);
    const own = spots.map((at, n) => n).filter((n) => spots[n] && spots[n][0] < middle === left);
    own.sort((a, b) => spots[a][1] - spots[b][1]);
    apart(own.map((n) => spots[n][1]), MARGIN, camera.size[1] - MARGIN).forEach((y, k) => { numbers[own[k]] = [x, y]; });
  }
  return numbers;
}

function placeLeaders() {
  const spots = show.markers ? story.markers.map((m) => project(m.at)) : [];
  const numbers = numbersOf(spots);
  const px = (p) => p.map((c) => c.toFixed(1)).join(" ");
  const drawn = spots.map((at, n) => {
    if (!at) return "";
    const [x, y] = at.map((c) => c.toFixed(1)), [u, v] = numbers[n];
    const line = `M${px(numbers[n])}L${px(at)}`;
    return `<g class="leader${hidden[n] ? " away" : ""}"><path class="under" d="${line}"/><path d="${line}"/>` +
      `<circle class="under" cx="${x}" cy="${y}" r="6"/><circle cx="${x}" cy="${y}" r="6"/>` +
      `<circle class="number" cx="${u}" cy="${v}" r="13"/><text x="${u}" y="${v + 5.5}">${n + 1}</text></g>`;
  });
  $("overlay").setAttribute("viewBox", `0 0 ${camera.size.join(" ")}`);
  $("overlay").innerHTML = drawn.join("") + axes() + names() + pointed();
}

// The directions of the axes, in the corner of the view.
function axes() {
  // On a phone the part needs the room.
  if (camera.size[0] < 420) return "";
  const { right, up } = directions();
  const arms = AXES[story.space].map((name, k) => {
    if (!name) return "";
    const [x, y] = [24 * right[k], -24 * up[k]];
    if (Math.hypot(x, y) < 5) return "";
    return `<path d="M0 0l${x.toFixed(1)} ${y.toFixed(1)}"/><text x="${(1.45 * x).toFixed(1)}" y="${(1.45 * y + 5).toFixed(1)}">${name}</text>`;
  });
  return `<g class="axes" transform="translate(44 ${camera.size[1] - 44})">${arms.join("")}</g>`;
}

// Names of the bodies at their highest points, while the tank is shown.
function names() {
  if (!show.wires) return "";
  const drawn = story.wires.slice(1).map((wire) => {
    const { points } = wire;
    let top = 0;
    for (let n = 0; n < points.length; n += 3) if (points[n + 2] > points[top + 2]) top = n;
    const at = project([points[top], points[top + 1], points[top + 2]]);
    return at ? `<text class="name" x="${at[0].toFixed(1)}" y="${(at[1] - 6).toFixed(1)}">${escaped(wire.name)}</text>` : "";
  });
  return drawn.join("");
}

const escaped = (text) => text.replace(/&/g, "&amp;").replace(/</g, "&lt;");

function pointed() {
  const at = spot.at && project(spot.at);
  return at ? `<circle class="under" cx="${at[0]}" cy="${at[1]}" r="9"/><circle class="spot" cx="${at[0]}" cy="${at[1]}" r="9"/>` : "";
}

let hidden = [];
function findHidden() {
  hidden = story.markers.map((m) => isAway(m.at));
}
