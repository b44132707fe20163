// WebGL: surfaces coloured by a quantity, wires, and the section as a picture in space.

const SURFACE_VERTEX = `#version 300 es
in vec3 place; in float value; in float known;
uniform mat4 eye;
out vec3 at; out vec2 what;
void main() { at = place; what = vec2(value, known); gl_Position = eye * vec4(place, 1.0); }`;

// Values that are not known have weight 0; each step between two edges has one colour, contours lie on the
// edges; striped is what lies below x or above y of stripes. Light is weak: a colour never passes for that of
// the step beside it.
const MOST_EDGES = 16;
const SURFACE_FRAGMENT = `#version 300 es
precision highp float;
in vec3 at; in vec2 what;
uniform sampler2D palette; uniform float edges[${MOST_EDGES}]; uniform int count; uniform vec2 stripes; uniform vec2 shades; uniform vec3 light; uniform vec3 towards; uniform float stripe;
out vec4 colour;
void main() {
  vec3 normal = normalize(cross(dFdx(at), dFdy(at)));
  if (dot(normal, towards) > 0.0) normal = -normal;
  float lit = shades.x + shades.y * max(0.0, dot(normal, light));
  vec3 base = vec3(0.79, 0.80, 0.81);
  float value = what.x / max(what.y, 1e-6);
  float slope = max(fwidth(value), 1e-12);
  bool plated = what.y > 0.5;
  bool line = false;
  if (plated) {
    int number = 0;
    for (int n = 0; n < ${MOST_EDGES}; n++) {
      if (n >= count) break;
      if (value >= edges[n]) number = n + 1;
      line = line || abs(value - edges[n]) < 0.55 * stripe / 3.5 * slope;
    }
    base = texelFetch(palette, ivec2(number, 0), 0).rgb;
    bool odd = value < stripes.x || value > stripes.y;
    if (odd && mod(floor((gl_FragCoord.x - gl_FragCoord.y) / stripe), 4.0) == 0.0) base = vec3(1.0);
  }
  colour = line ? vec4(0.114, 0.153, 0.2, 1.0) : vec4(base * lit, 1.0);
}`;

const LINE_VERTEX = `#version 300 es
in vec3 place; uniform mat4 eye;
void main() { gl_Position = eye * vec4(place, 1.0); }`;
const LINE_FRAGMENT = `#version 300 es
precision mediump float;
uniform vec3 paint; out vec4 colour;
void main() { colour = vec4(paint, 1.0); }`;

const CUT_VERTEX = `#version 300 es
in vec3 place; in vec2 spot; uniform mat4 eye; out vec2 uv;
void main() { uv = spot; gl_Position = eye * vec4(place, 1.0); }`;
const CUT_FRAGMENT = `#version 300 es
precision mediump float;
in vec2 uv; uniform sampler2D picture; out vec4 colour;
void main() { colour = texture(picture, uv); if (colour.a < 0.5) discard; colour.a = 0.88; colour.rgb *= 0.88; }`;

const PAINTS = { anode: [0.6, 0.31, 0.12], shield: [0.18, 0.43, 0.56], contact: [0.66, 0.12, 0.36], tank: [0.54, 0.58, 0.61] };
const show = { quantity: 0, wires: false, section: false };
const canvas = document.getElementById("view");
const gl = canvas.getContext("webgl2", { antialias: true, preserveDrawingBuffer: true });

function program(vertex, fragment) {
  const made = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
  }
  gl.linkProgram(made);
  if (!gl.getProgramParameter(made, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(made));
  return made;
}

function buffer(target, values) {
  const made = gl.createBuffer();
  parts.buffers.push(made);
  gl.bindBuffer(target, made);
  gl.bufferData(target, values, gl.STATIC_DRAW);
  return made;
}

function attribute(made, name, values, size) {
  const where = gl.getAttribLocation(made, name);
  buffer(gl.ARRAY_BUFFER, values);
  gl.enableVertexAttribArray(where);
  gl.vertexAttribPointer(where, size, gl.FLOAT, false, 0, 0);
}

// A list of colours as a texture one pixel high, each pixel for itself.
function paletteTexture(colours) {
  const bytes = new Uint8Array(4 * colours.length);
  colours.forEach((c, n) => {
    for (let k = 0; k < 3; k++) bytes[4 * n + k] = parseInt(c.slice(1 + 2 * k, 3 + 2 * k), 16);
    bytes[4 * n + 3] = 255;
  });
  const texture = smoothTexture();
  gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, colours.length, 1, 0, gl.RGBA, gl.UNSIGNED_BYTE, bytes);
  return texture;
}

function smoothTexture() {
  const texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  for (const [key, value] of [
    [gl.TEXTURE_MIN_FILTER, gl.LINEAR], [gl.TEXTURE_MAG_FILTER, gl.LINEAR],
    [gl.TEXTURE_WRAP_S, gl.CLAMP_TO_EDGE], [gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE],
  ]) gl.texParameteri(gl.TEXTURE_2D, key, value);
  return texture;
}

const parts = { surfaces: [], wires: [], cut: null, programs: {}, palettes: [], buffers: [] };

// Gives back what lies on the graphics card, but for the programs, which the next scene needs too.
function emptyScene() {
  for (const made of parts.buffers) gl.deleteBuffer(made);
  for (const made of parts.palettes) gl.deleteTexture(made);
  for (const made of [...parts.surfaces.flatMap((s) => s.arrays), ...parts.wires.map((w) => w.array)]) gl.deleteVertexArray(made);
  Object.assign(parts, { surfaces: [], wires: [], cut: null, palettes: [], buffers: [] });
}

// With the graphics context all of it is gone.
function loseScene() {
  emptyScene();
  parts.programs = {};
}

// Makes the scene of the story anew.
function buildScene() {
  emptyScene();
  parts.programs.surface ||= program(SURFACE_VERTEX, SURFACE_FRAGMENT);
  parts.programs.line ||= program(LINE_VERTEX, LINE_FRAGMENT);
  parts.programs.cut ||= program(CUT_VERTEX, CUT_FRAGMENT);
  parts.palettes = story.quantities.map((q) => paletteTexture(q.colours));
  parts.surfaces = story.surfaces.map(buildSurface);
  buildWires();
  const image = document.querySelector("#section image");
  if (story.section && image) loadCut(image.getAttribute("href"));
}

function buildWires() {
  for (const wire of parts.wires) gl.deleteVertexArray(wire.array);
  parts.wires = story.wires.map((wire) => {
    const array = gl.createVertexArray();
    gl.bindVertexArray(array);
    attribute(parts.programs.line, "place", wire.points, 3);
    return { array, count: wire.points.length / 3, paint: PAINTS[wire.role] || PAINTS.tank };
  });
  gl.bindVertexArray(null);
}

// One vertex array for each quantity.
function buildSurface(surface) {
  const indices = buffer(gl.ELEMENT_ARRAY_BUFFER, surface.triangles);
  const arrays = surface.values.map((values) => {
    const array = gl.createVertexArray();
    gl.bindVertexArray(array);
    attribute(parts.programs.surface, "place", surface.points, 3);
    attribute(parts.programs.surface, "value", values.map((v) => (Number.isNaN(v) ? 0 : v)), 1);
    attribute(parts.programs.surface, "known", values.map((v) => (Number.isNaN(v) ? 0 : 1)), 1);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, indices);
    return array;
  });
  gl.bindVertexArray(null);
  return { arrays, count: surface.triangles.length, type: surface.wide ? gl.UNSIGNED_INT : gl.UNSIGNED_SHORT };
}

function loadCut(address) {
  const image = new Image();
  image.onload = () => {
    const array = gl.createVertexArray();
    gl.bindVertexArray(array);
    attribute(parts.programs.cut, "place", new Float32Array(story.section.flat()), 3);
    attribute(parts.programs.cut, "spot", new Float32Array([0, 1, 1, 1, 1, 0, 0, 0]), 2);
    const texture = smoothTexture();
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, gl.RGBA, gl.UNSIGNED_BYTE, image);
    parts.cut = { array, texture };
    redraw();
  };
  image.src = address;
}

function use(name, eye) {
  const made = parts.programs[name];
  gl.useProgram(made);
  gl.uniformMatrix4fv(gl.getUniformLocation(made, "eye"), false, eye);
  return (key) => gl.getUniformLocation(made, key);
}

function draw() {
  const finer = Math.min(window.devicePixelRatio || 1, 2);
  const [width, height] = [canvas.clientWidth, canvas.clientHeight];
  camera.size = [width, height];
  if (camera.fit) camera.fit();
  canvas.width = Math.round(width * finer);
  canvas.height = Math.round(height * finer);
  gl.viewport(0, 0, canvas.width, canvas.height);
  gl.clearColor(0, 0, 0, 0);
  gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
  gl.enable(gl.DEPTH_TEST);
  gl.depthFunc(gl.LEQUAL);
  const eye = matrix();
  drawSurfaces(use("surface", eye), finer);
  if (show.wires) drawWires(use("line", eye));
  if (show.section && parts.cut) drawCut(use("cut", eye));
  gl.bindVertexArray(null);
}

function drawSurfaces(where, finer) {
  const quantity = story.quantities[show.quantity];
  const { towards, up, right } = directions();
  const inner = quantity.edges.slice(1, -1).slice(0, MOST_EDGES);
  gl.bindTexture(gl.TEXTURE_2D, parts.palettes[show.quantity]);
  gl.uniform1fv(where("edges"), new Float32Array(MOST_EDGES).fill(3e38).map((v, n) => inner[n] ?? v));
  gl.uniform1i(where("count"), inner.length);
  gl.uniform2f(where("shades"), ...quantity.light);
  gl.uniform2f(where("stripes"), quantity.stripes[0] ?? -3e38, quantity.stripes[1] ?? 3e38);
  gl.uniform1f(where("stripe"), 3.5 * finer);
  gl.uniform3f(where("light"), ...towards.map((t, k) => -0.5 * t + 0.65 * up[k] - 0.55 * right[k]));
  gl.uniform3f(where("towards"), ...towards);
  // Surfaces a little farther, so that wires in them show.
  gl.enable(gl.POLYGON_OFFSET_FILL);
  gl.polygonOffset(1, 2);
  for (const surface of parts.surfaces) {
    gl.bindVertexArray(surface.arrays[show.quantity]);
    gl.drawElements(gl.TRIANGLES, surface.count, surface.type, 0);
  }
  gl.disable(gl.POLYGON_OFFSET_FILL);
}

function drawWires(where) {
  for (const wire of parts.wires) {
    gl.uniform3f(where("paint"), ...wire.paint);
    gl.bindVertexArray(wire.array);
    gl.drawArrays(gl.LINES, 0, wire.count);
  }
}

function drawCut() {
  gl.enable(gl.BLEND);
  gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
  gl.bindTexture(gl.TEXTURE_2D, parts.cut.texture);
  gl.bindVertexArray(parts.cut.array);
  gl.drawArrays(gl.TRIANGLE_FAN, 0, 4);
  gl.disable(gl.BLEND);
}
