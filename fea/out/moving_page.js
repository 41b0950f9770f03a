"use strict";
// The motions of a frame: arrays decoded, one WebGL program for walls and lines, a slow to and fro.
// Screen axes: x right, y up, and nearness towards the viewer, in mm (as in fea/out/camera.py).

const DATA = JSON.parse(document.getElementById("data").textContent);
const at = (id) => document.getElementById(id);

function decode(text, Kind) {
  const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  return new Kind(bytes.buffer);
}

const POINTS = decode(DATA.points, Float32Array), QUADS = decode(DATA.quads, Uint32Array);
const LINES = decode(DATA.lines, Uint32Array);
const MOTIONS = DATA.motions;
const view = { azimuth: DATA.azimuth, elevation: DATA.elevation, zoom: 1 };
const state = { motion: 0, moves: true, phase: 0, scale: 1, speed: 1, last: 0 };

const VERTEX = `#version 300 es
in vec3 point; in vec3 move; in float value;
uniform mat3 rows; uniform vec3 middle; uniform vec3 size; uniform float scale; uniform float share;
out float shown; out vec3 place;
void main() {
  place = point + scale * move;
  shown = value < 0.0 ? -1.0 : value * share;
  gl_Position = vec4((rows * (place - middle)) * size, 1.0);
}`;
const FRAGMENT = `#version 300 es
precision highp float;
in float shown; in vec3 place;
uniform sampler2D map; uniform vec3 lamp; uniform float flat_colour;
out vec4 colour;
void main() {
  vec3 normal = normalize(cross(dFdx(place), dFdy(place)));
  float light = flat_colour > 0.5 ? 0.55 : 0.6 + 0.46 * abs(dot(normal, lamp));
  vec3 paint = flat_colour > 0.5 ? vec3(0.6)
    : shown < -0.5 ? vec3(0.81) : texture(map, vec2(clamp(shown, 0.002, 0.998), 0.5)).rgb;
  colour = vec4(min(paint * light, 1.0), 1.0);
}`;

const box = [[Infinity, -Infinity], [Infinity, -Infinity], [Infinity, -Infinity]];
for (let k = 0; k < POINTS.length; k++) {
  box[k % 3] = [Math.min(box[k % 3][0], POINTS[k]), Math.max(box[k % 3][1], POINTS[k])];
}
const MIDDLE = box.map(([low, high]) => 0.5 * (low + high));
const SPAN = Math.max(...box.map(([low, high]) => high - low), 1);

let gl = null, program = null, moves = null, values = null, count = 0;
const uniform = (name) => gl.getUniformLocation(program, name);

function shader(kind, text) {
  const made = gl.createShader(kind);
  gl.shaderSource(made, text);
  gl.compileShader(made);
  if (!gl.getShaderParameter(made, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(made));
  return made;
}

function attribute(name, array, width) {
  const buffer = gl.createBuffer(), place = gl.getAttribLocation(program, name);
  gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
  gl.bufferData(gl.ARRAY_BUFFER, array, gl.DYNAMIC_DRAW);
  gl.enableVertexAttribArray(place);
  gl.vertexAttribPointer(place, width, gl.FLOAT, false, 0, 0);
  return buffer;
}

function start() {
  gl = at("solid").getContext("webgl2", { antialias: true });
  if (!gl) throw new Error("no WebGL 2");
  program = gl.createProgram();
  gl.attachShader(program, shader(gl.VERTEX_SHADER, VERTEX));
  gl.attachShader(program, shader(gl.FRAGMENT_SHADER, FRAGMENT));
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(program));
  gl.useProgram(program);
  attribute("point", POINTS, 3);
  moves = attribute("move", new Float32Array(POINTS.length), 3);
  values = attribute("value", new Float32Array(POINTS.length / 3), 1);
  const n = QUADS.length / 4, index = new Uint32Array(6 * n + LINES.length);
  for (let q = 0; q < n; q++) {
    [0, 1, 2, 0, 2, 3].forEach((c, i) => { index[6 * q + i] = QUADS[4 * q + c]; });
  }
  index.set(LINES, 6 * n);
  count = 6 * n;
  gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer());
  gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, index, gl.STATIC_DRAW);
  gl.bindTexture(gl.TEXTURE_2D, gl.createTexture());
  const hex = (h, k) => parseInt(h.slice(k, k + 2), 16);
  const map = new Uint8Array(DATA.map.flatMap((h) => [hex(h, 1), hex(h, 3), hex(h, 5), 255]));
  gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, 256, 1, 0, gl.RGBA, gl.UNSIGNED_BYTE, map);
  for (const side of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, side, gl.CLAMP_TO_EDGE);
  for (const filter of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, filter, gl.LINEAR);
  gl.enable(gl.DEPTH_TEST);
  gl.clearColor(1, 1, 1, 1);
}

function fill(buffer, text) {
  gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
  gl.bufferData(gl.ARRAY_BUFFER, Float32Array.from(decode(text, Int16Array), (v) => v / DATA.fine), gl.DYNAMIC_DRAW);
}

function choose(k) {
  state.motion = (k + MOTIONS.length) % MOTIONS.length;
  const chosen = MOTIONS[state.motion], [name, most] = chosen.key;
  at("motion").value = String(state.motion);
  at("subtitle").textContent = DATA.subtitle + ", " + chosen.label;
  at("key").hidden = !name;
  at("range").textContent = `${name}, 0 to ${most}`;
  at("note").textContent = chosen.note;
  fill(moves, chosen.movement);
  fill(values, chosen.values);
  tellScale();
}

function tellScale() {
  const times = MOTIONS[state.motion].times;
  at("times").textContent = times ? `${Number((times * state.scale).toPrecision(3))} x` : "";
}

// A load comes on from nothing and goes off again; a mode swings to both sides.
function share() {
  return DATA.loaded ? 0.5 * (1 - Math.cos(state.phase)) : Math.sin(state.phase);
}

function draw(time) {
  const canvas = at("solid"), ratio = window.devicePixelRatio || 1;
  const wide = Math.round(canvas.clientWidth * ratio), high = Math.round(canvas.clientHeight * ratio);
  if (canvas.width !== wide || canvas.height !== high) { canvas.width = wide; canvas.height = high; }
  if (state.moves) state.phase += 0.004 * state.speed * Math.min(time - state.last, 100);
  state.last = time;
  const sa = Math.sin(view.azimuth), ca = Math.cos(view.azimuth);
  const se = Math.sin(view.elevation), ce = Math.cos(view.elevation);
  const rows = [ca, -sa, 0, sa * se, ca * se, ce, -sa * ce, -ca * ce, se];
  const shown = Math.max(SPAN * 1.15, SPAN * 0.62 * wide / high) / view.zoom;
  gl.viewport(0, 0, wide, high);
  gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
  gl.uniformMatrix3fv(uniform("rows"), true, rows);
  gl.uniform3fv(uniform("middle"), MIDDLE);
  gl.uniform3f(uniform("size"), 2 / shown, 2 * wide / high / shown, -0.25 / SPAN);
  gl.uniform1f(uniform("scale"), MOTIONS[state.motion].size * state.scale * share());
  gl.uniform1f(uniform("share"), DATA.loaded ? share() : 1);
  gl.uniform3f(uniform("lamp"), -0.33, -0.48, 0.81);
  gl.uniform1f(uniform("flat_colour"), 0);
  gl.drawElements(gl.TRIANGLES, count, gl.UNSIGNED_INT, 0);
  gl.uniform1f(uniform("flat_colour"), 1);
  gl.drawElements(gl.LINES, LINES.length, gl.UNSIGNED_INT, 4 * count);
  window.requestAnimationFrame(draw);
}

function listen() {
  MOTIONS.forEach((one, k) => at("motion").add(new Option(one.label, String(k))));
  at("choice").hidden = MOTIONS.length < 2;
  at("ramp").style.background = `linear-gradient(to right, ${DATA.map.filter((_, k) => k % 15 === 0).join(",")})`;
  at("motion").addEventListener("change", () => choose(Number(at("motion").value)));
  at("scale").addEventListener("input", () => { state.scale = Number(at("scale").value); tellScale(); });
  at("speed").addEventListener("input", () => { state.speed = Number(at("speed").value); });
  at("swing").addEventListener("click", () => {
    state.moves = !state.moves;
    at("swing").setAttribute("aria-pressed", String(state.moves));
  });
  const canvas = at("solid");
  canvas.addEventListener("pointerdown", (e) => canvas.setPointerCapture(e.pointerId));
  canvas.addEventListener("pointermove", (e) => {
    if (!canvas.hasPointerCapture(e.pointerId)) return;
    view.azimuth -= 0.008 * e.movementX;
    view.elevation = Math.min(Math.max(view.elevation + 0.008 * e.movementY, -1.57), 1.57);
  });
  canvas.addEventListener("wheel", (e) => {
    e.preventDefault();
    view.zoom = Math.min(Math.max(view.zoom * Math.exp(-0.0012 * e.deltaY), 0.3), 30);
  }, { passive: false });
  canvas.addEventListener("keydown", (e) => {
    if (e.key === "ArrowRight" || e.key === "ArrowDown") choose(state.motion + 1);
    else if (e.key === "ArrowLeft" || e.key === "ArrowUp") choose(state.motion - 1);
    else return;
    e.preventDefault();
  });
}

at("title").textContent = DATA.title;
try {
  start();
  listen();
  choose(0);
  window.requestAnimationFrame(draw);
} catch (error) {
  at("plain").hidden = false;
  at("plain").textContent = "This browser cannot draw in three dimensions (" + error.message + "). To be shown: "
    + MOTIONS.map((one) => one.label).join("; ") + ".";
}
