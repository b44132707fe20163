// The pointer in the charts: a line through the nearest point with its figures. Charts over time move
// together; a point with a place in the view is shown there, and a place that is pointed at in the view is
// shown in the charts whose way passes it.

const SVG = "http://www.w3.org/2000/svg";

function drawnCharts() {
  return story.charts.flatMap((chart) => {
    const figure = document.getElementById(chart.key);
    const svg = figure && figure.querySelector("svg");
    if (!svg || !chart.lines.length) return [];
    const group = document.createElementNS(SVG, "g");
    group.setAttribute("class", "cursor");
    svg.append(group);
    return [{ ...chart, svg, group }];
  });
}

const charts = drawnCharts();

const across = (chart, x) => {
  const [left, right] = chart.frame;
  return left + ((right - left) * (x - chart.across[0])) / (chart.across[1] - chart.across[0]);
};
const upward = (chart, y) => {
  const [, , bottom, top] = chart.frame;
  return bottom + ((top - bottom) * (y - chart.up[0])) / (chart.up[1] - chart.up[0]);
};

function nearest(points, x) {
  let best = 0;
  points.forEach((p, n) => { if (Math.abs(p[0] - x) < Math.abs(points[best][0] - x)) best = n; });
  return best;
}

// Shows the figures at a value across; nothing hides them.
function pointAt(chart, x) {
  if (x === null) { chart.group.innerHTML = ""; return; }
  const [left, right, bottom, top] = chart.frame;
  const at = chart.lines.map(([, points]) => points[nearest(points, x)]);
  const px = Math.max(left, Math.min(right, across(chart, at[0][0])));
  const dots = at.map((p) => `<circle cx="${across(chart, p[0]).toFixed(1)}" cy="${upward(chart, p[1]).toFixed(1)}" r="4"/>`);
  const words = `${digits(at[0][0])} ${chart.units[0]}: ${at.map((p) => digits(p[1])).join(", ")} ${chart.units[1]}`;
  const end = px > 0.55 * (left + right);
  chart.group.innerHTML = `<path d="M${px.toFixed(1)} ${top}V${bottom}"/>${dots.join("")}` +
    `<text x="${(px + (end ? -8 : 8)).toFixed(1)}" y="${top + 30}" text-anchor="${end ? "end" : "start"}">${escaped(words)}</text>`;
}

// A place of the view in the charts; nothing hides it.
function pointInCharts(x) {
  for (const chart of charts.filter((c) => c.places.length)) {
    const n = x ? nearestOnWay(chart.places, x) : -1;
    pointAt(chart, n < 0 ? null : chart.lines[0][1][n][0]);
  }
}

function onCharts() {
  for (const chart of charts) {
    const same = (other) => other === chart || (chart.key.startsWith("time-") && other.key.startsWith("time-"));
    const move = (e) => {
      const box = chart.svg.getBoundingClientRect();
      const px = ((e.clientX - box.left) / box.width) * chart.svg.viewBox.baseVal.width;
      const [left, right] = chart.frame;
      const x = chart.across[0] + ((px - left) / (right - left)) * (chart.across[1] - chart.across[0]);
      charts.filter(same).forEach((c) => pointAt(c, x));
      if (!chart.places.length) return;
      spot.at = chart.places[nearest(chart.lines[0][1], x)];
      redraw();
    };
    chart.svg.addEventListener("pointermove", move);
    chart.svg.addEventListener("pointerdown", move);
    // A finger that is lifted leaves what it found.
    chart.svg.addEventListener("pointerleave", (e) => {
      if (e.pointerType === "touch") return;
      charts.filter(same).forEach((c) => pointAt(c, null));
      spot.at = null;
      redraw();
    });
  }
}
