// Making elements. Words go in as text only, so that nothing a stranger wrote can become a tag.

const $ = (id) => document.getElementById(id);

function fill(made, attributes, children) {
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (value === true) made.setAttribute(key, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(key, value);
  }
  made.append(...children.flat(Infinity).filter((c) => c !== null && c !== undefined && c !== false));
  return made;
}

const element = (tag, attributes = {}, ...children) => fill(document.createElement(tag), attributes, children);

const SVG = "http://www.w3.org/2000/svg";
const drawn = (tag, attributes = {}, ...children) => fill(document.createElementNS(SVG, tag), attributes, children);

const button = (words, act, attributes = {}) => element("button", { type: "button", onclick: act, ...attributes }, words);

// A labelled control: the label stands before it.
let labels = 0;
function labelled(words, control, attributes = {}) {
  control.id ||= `field-${++labels}`;
  return element("div", { class: "field", ...attributes }, element("label", { for: control.id }, words), control);
}

function select(choices, chosen, onchange, attributes = {}) {
  const made = element("select", { onchange: (e) => onchange(e.target.value), ...attributes });
  for (const choice of choices) {
    const [value, words] = Array.isArray(choice) ? choice : [choice, choice];
    made.append(element("option", { value }, words));
  }
  made.value = chosen;
  return made;
}

// A number as a person writes it: at most so many decimals, none that say nothing.
const plain = (value, decimals = 2) => String(Number(value.toFixed(decimals)));

// Something is said where everybody sees it, until the next thing is said or it is closed.
let leaving = 0;
function say(words, tone = "") {
  clearTimeout(leaving);
  $("notice").className = tone;
  $("notice").replaceChildren(element("p", {}, words), button("close", hush));
  if (tone !== "bad") leaving = setTimeout(hush, 8000);
}

function hush() {
  $("notice").replaceChildren();
}

// Lets the page answer the reader before long work goes on.
const breath = () => new Promise((done) => setTimeout(done));

// Runs at most once a while, with the latest arguments.
function later(milliseconds, act) {
  let waiting = 0;
  const run = (...given) => {
    clearTimeout(waiting);
    waiting = setTimeout(() => act(...given), milliseconds);
  };
  run.stop = () => clearTimeout(waiting);
  return run;
}
