// The verdict as the report tells it: a sentence, its parts on rules, what to change.

const SIGNS = { good: "\u2713", caution: "!", bad: "\u2717", unknown: "?" };
const RULE = { width: 300, height: 44, ends: [8, 292], line: 31, letter: 7.6 };

// A figure on a scale from nothing on: wanted values as ticks, its plus-minus thick, the bath's band thin.
function ruleOf({ end, ticks, dot, off, band }) {
  const { width, height, ends, line } = RULE;
  const at = (v) => ends[0] + (ends[1] - ends[0]) * Math.max(0, Math.min(1, v / end));
  const bar = (kind, low, high, thick) => drawn("rect", {
    class: kind, x: at(low), y: line - thick / 2, width: Math.max(1, at(high) - at(low)), height: thick,
  });
  const widest = Math.max(0, ...ticks.map(([, words]) => words.length)) * RULE.letter;
  const middles = spaced(ticks.map(([v]) => at(v)), widest + 8, widest / 2, width - widest / 2);
  return drawn("svg", { class: "rule", viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true" },
    drawn("path", { class: "line", d: `M${ends[0]} ${line}H${ends[1]}M${ends[0]} ${line - 6}v12` }),
    band && bar("band", band[0], band[1], 5),
    off !== null && bar("off", dot - off, dot + off, 14),
    ticks.map(([v, words], n) => [
      drawn("path", { class: "tick", d: `M${at(v)} 16V42` }),
      drawn("text", { x: middles[n], y: 12, "text-anchor": "middle" }, words),
    ]),
    drawn("circle", { class: "dot", cx: at(dot), cy: line, r: 6.5 }));
}

// Ascending values moved apart, between two ends, as near to where they were as two passes make it.
function spaced(values, apart, low, high) {
  let least = low;
  const moved = values.map((v) => { const at = Math.max(v, least); least = at + apart; return at; });
  let most = high;
  for (let n = moved.length - 1; n >= 0; n--) {
    moved[n] = Math.min(moved[n], most);
    most = moved[n] - apart;
  }
  return moved;
}

const signOf = (state) => element("span", { class: "sign", "aria-hidden": "true" }, SIGNS[state]);

function partOf(rule) {
  return element("div", { class: `rulebox ${rule.state}` },
    element("h3", {}, signOf(rule.state), ` ${rule.label} `, element("span", { class: "word" }, rule.state)),
    element("p", {}, element("b", {}, rule.answer), ` ${rule.what}`),
    rule.scale && ruleOf(rule.scale));
}

function showVerdict(told, coarse) {
  $("verdict").className = `${told.state}${coarse ? " coarse" : ""}`;
  $("sign").textContent = SIGNS[told.state];
  $("head").textContent = coarse ? `Coarse: ${told.head}` : told.head;
  $("rules").replaceChildren(...told.rules.map(partOf));
  $("change").hidden = !told.change;
  $("change").replaceChildren(element("b", {}, "Change: "), `${told.change}.`);
}

function showNoVerdict(words) {
  $("verdict").className = "unknown";
  $("sign").textContent = SIGNS.unknown;
  $("head").textContent = words;
  $("rules").replaceChildren();
  $("change").hidden = true;
}
