// The scene as it stands in the page: arrays decoded, and the parallel projection.
// Screen axes: x right, y up, and nearness towards the viewer, in mm (as in fea/out/camera.py).

const DATA = JSON.parse(document.getElementById("data").textContent);
const THEME = DATA.theme;

function decode(text, Kind) {
  const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  return new Kind(bytes.buffer);
}

const WALLS = {
  points: decode(DATA.walls.points, Float32Array),
  movement: decode(DATA.walls.movement, Float32Array),
  quads: decode(DATA.walls.quads, Uint32Array),
  member: decode(DATA.walls.member, Uint32Array),
  section: decode(DATA.walls.section, Uint32Array),
  fields: DATA.walls.fields.map((f) => ({ ...f, values: decode(f.values, Float32Array) })),
  edges: decode(DATA.walls.edges, Uint32Array),
  inward: decode(DATA.walls.inward, Float32Array),
};

// What the reader sees: turned by azimuth and elevation, moved and zoomed.
const view = { azimuth: 0, elevation: 0, x: 0, y: 0, mmPerPixel: 1 };
const state = { scale: DATA.scale, phase: 1, field: 0, station: null, body: true };

function axes() {
  const sa = Math.sin(view.azimuth), ca = Math.cos(view.azimuth);
  const se = Math.sin(view.elevation), ce = Math.cos(view.elevation);
  return [[ca, -sa, 0], [sa * se, ca * se, ce], [-sa * ce, -ca * ce, se]];
}

const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const project = (p, rows) => [dot(rows[0], p), dot(rows[1], p), dot(rows[2], p)];
const shownScale = () => state.scale * state.phase;

function pointAt(array, k) { return [array[3 * k], array[3 * k + 1], array[3 * k + 2]]; }

function movedPoint(k, scale) {
  const p = pointAt(WALLS.points, k), m = pointAt(WALLS.movement, k);
  return [p[0] + scale * m[0], p[1] + scale * m[1], p[2] + scale * m[2]];
}

function everyPoint() {
  const found = [];
  for (let k = 0; k < WALLS.points.length / 3; k++) found.push(pointAt(WALLS.points, k));
  for (const line of DATA.lines) found.push(...line.points);
  return found;
}

const BOX = (() => {
  const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  for (const p of everyPoint()) for (let k = 0; k < 3; k++) {
    low[k] = Math.min(low[k], p[k]); high[k] = Math.max(high[k], p[k]);
  }
  return Number.isFinite(low[0]) ? { low, high } : { low: [0, 0, 0], high: [1, 1, 1] };
})();
const LENGTH = Math.max(BOX.high[0] - BOX.low[0], 1);
const MIDDLE = BOX.low.map((v, k) => 0.5 * (v + BOX.high[k]));

// Set a standing view and fit the window to the frame at rest and deflected.
function stand(name, width, height) {
  const views = {
    standard: [DATA.azimuth, DATA.elevation], left: [0, 0], above: [0, Math.PI / 2],
    front: [Math.PI / 2, 0],
  };
  [view.azimuth, view.elevation] = views[name];
  const rows = axes();
  const low = [Infinity, Infinity], high = [-Infinity, -Infinity];
  const take = (p) => {
    const q = project(p, rows);
    for (let k = 0; k < 2; k++) { low[k] = Math.min(low[k], q[k]); high[k] = Math.max(high[k], q[k]); }
  };
  for (const p of everyPoint()) take(p);
  for (let k = 0; k < WALLS.points.length / 3; k++) take(movedPoint(k, state.scale));
  if (state.body) for (const body of DATA.bodies || []) body.points.forEach((p, k) => {
    take(p);
    take(p.map((v, c) => v + state.scale * body.movement[k][c]));
  });
  for (const p of rulerEnds()) take(p);
  if (!Number.isFinite(low[0])) return;
  view.x = 0.5 * (low[0] + high[0]);
  view.y = 0.5 * (low[1] + high[1]);
  view.mmPerPixel = Math.max((high[0] - low[0]) / (0.86 * width), (high[1] - low[1]) / (0.78 * height), 1e-6);
}

function rulerEnds() {
  const y = BOX.low[1] - 0.085 * LENGTH;
  return [[BOX.low[0], y, BOX.low[2]], [BOX.high[0], y, BOX.low[2]]];
}

// Numbers as a reader wants them: four figures at most, a true minus sign.
function figure(value) {
  if (!Number.isFinite(value)) return "no value";
  const size = Math.abs(value);
  const digits = size >= 100 || size === 0 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : 3;
  return value.toFixed(size < 0.0005 ? 0 : digits).replace("-", "\u2212");
}
const whole = (value) => Math.round(value).toString().replace(/\B(?=(\d{3})+$)/g, "\u2009").replace("-", "\u2212");

function roundTicks(low, high, wanted) {
  const raw = (high - low) / wanted;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = power * [1, 2, 2.5, 5, 10].find((s) => s * power >= raw * 0.999);
  const found = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9 * step; k++) found.push(k * step);
  return found;
}
