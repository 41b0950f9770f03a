// The parts of the page that need no 3D. Every text of the scene goes in as textContent.

function add(parent, tag, text, className) {
  const made = document.createElement(tag);
  if (text !== undefined) made.textContent = text;
  if (className) made.className = className;
  parent.append(made);
  return made;
}

function svg(parent, tag, attributes, text) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  if (text !== undefined) made.textContent = text;
  parent.append(made);
  return made;
}

function writeTexts() {
  document.getElementById("title").textContent = DATA.title;
  document.getElementById("subtitle").textContent = DATA.subtitle;
  const facts = document.getElementById("facts");
  DATA.facts.forEach(([label, value, rest], k) => {
    const list = add(facts, "dl", undefined, k === 0 ? "first" : "");
    if (k === 0) { add(list, "dd", value); add(list, "dt", label); if (rest) add(list, "dd", rest, "rest"); }
    else { add(list, "dt", label); add(list, "dd", value); }
  });
  const soft = document.getElementById("soft");
  const most = Math.max(...DATA.soft.map((row) => row[1]), 1e-9);
  for (const [name, share] of DATA.soft) {
    const row = add(soft, "div", undefined, "bar");
    add(row, "span", name);
    const line = add(row, "div");
    add(line, "i").style.width = `${(80 * share) / most}%`;
    add(line, "span", `${share.toFixed(share < 10 ? 1 : 0)} %`);
  }
  soft.hidden = DATA.soft.length === 0;
  facts.hidden = DATA.facts.length === 0;
  for (const note of DATA.notes) add(document.getElementById("notes"), "p", note);
}

function writeLegend() {
  const shown = WALLS.fields[state.field], ramp = document.getElementById("ramp");
  const ticks = document.getElementById("ramp-ticks");
  document.getElementById("legend").hidden = !shown;
  if (!shown) return;
  ramp.style.background = `linear-gradient(to right, ${DATA.map.filter((_, k) => k % 15 === 0).join(",")})`;
  ticks.replaceChildren();
  const all = roundTicks(shown.low, shown.high, 4);
  for (const value of all) {
    const part = (value - shown.low) / (shown.high - shown.low);
    const digits = Math.max(0, Math.min(6, Math.ceil(1 - Math.log10(all[1] - all[0] || 1))));
    const made = add(ticks, "span", String(Number(value.toFixed(digits))).replace("-", "\u2212"));
    made.className = part < 0.03 ? "first" : part > 0.97 ? "last" : "";
    made.style.left = `${100 * part}%`;
  }
}

// The curves over the stations, with a reading line; `onStation` is told where the reader is.
function drawProfile(onStation) {
  const home = document.getElementById("profile"), { curves, title } = DATA.profile;
  home.hidden = curves.length === 0;
  if (!curves.length) return () => {};
  home.querySelector("h2").textContent = title;
  const W = 720, H = 270, left = 52, right = 70, top = 40, bottom = 40;
  const image = svg(home, "svg", { viewBox: `0 0 ${W} ${H}`, role: "img" });
  svg(image, "title", {}, title);
  const finite = (row) => row.filter((v) => v !== null);
  const xs = curves.flatMap((c) => finite(c.stations)), ys = [0, ...curves.flatMap((c) => finite(c.values))];
  const x0 = Math.min(...xs), x1 = Math.max(...xs, x0 + 1), y0 = Math.min(...ys), y1 = Math.max(...ys);
  const spare = 0.06 * (y1 - y0 || 1), low = y0 - spare, high = y1 + spare;
  const X = (v) => left + ((v - x0) / (x1 - x0)) * (W - left - right);
  const Y = (v) => top + ((high - v) / (high - low)) * (H - top - bottom);
  const across = (y, colour) => svg(image, "line", { x1: left, x2: W - right, y1: y, y2: y, stroke: colour });
  for (const v of roundTicks(low, high, 5)) {
    across(Y(v), v === 0 ? THEME.quiet : THEME.rule);
    svg(image, "text", { x: left - 6, y: Y(v) + 4, "text-anchor": "end" }, String(Number(v.toPrecision(6))).replace("-", "\u2212"));
  }
  for (const v of roundTicks(x0, x1, 10)) svg(image, "text", { x: X(v), y: H - bottom + 16, "text-anchor": "middle" }, whole(v));
  svg(image, "text", { x: left, y: H - 6 }, "station, mm");
  svg(image, "text", { x: left - 6, y: top - 6, "text-anchor": "end" }, curves[0].unit);
  const ends = [-Infinity, -Infinity];
  for (const [station, text] of DATA.stations) {
    if (station < x0 || station > x1) continue;
    svg(image, "line", { x1: X(station), x2: X(station), y1: top, y2: H - bottom, stroke: THEME.rule });
    const half = 0.5 * 5.9 * text.length, at = Math.min(Math.max(X(station), left + half), W - half);
    const row = ends.findIndex((end) => at - half > end + 6);
    if (row < 0) continue; // named on the ruler above
    ends[row] = at + half;
    svg(image, "text", { x: at, y: top - 8 - 14 * row, "text-anchor": "middle" }, text);
  }
  const names = [];
  for (const curve of curves) {
    const path = curve.stations.map((s, k) => curve.values[k] === null ? "" : `${k && curve.values[k - 1] !== null ? "L" : "M"}${X(s).toFixed(1)},${Y(curve.values[k]).toFixed(1)}`).join("");
    svg(image, "path", { d: path, fill: "none", stroke: curve.dashed ? THEME.quiet : THEME.curve,
      "stroke-width": curve.dashed ? 1.6 : 2.8, "stroke-dasharray": curve.dashed ? "6 4" : "none" });
    const last = curve.values[curve.values.length - 1];
    names.push([Y(last === null ? 0 : last) + 4, curve]);
  }
  names.sort((a, b) => a[0] - b[0]).forEach(([y], k) => { if (k) names[k][0] = Math.max(y, names[k - 1][0] + 14); });
  for (const [y, curve] of curves.length > 1 ? names : [])
    svg(image, "text", { x: W - right + 6, y, "font-weight": curve.dashed ? "normal" : "bold" }, curve.name);
  const hair = svg(image, "line", { y1: top, y2: H - bottom, stroke: THEME.load, visibility: "hidden" });
  const read = svg(image, "text", { y: H - 6, "text-anchor": "end", x: W - right, class: "read" }, "");
  const at = (curve, s) => {
    let k = curve.stations.findIndex((v) => v >= s);
    if (k < 0) k = curve.stations.length - 1;
    if (k === 0) return curve.values[0];
    const a = curve.stations[k - 1], b = curve.stations[k], t = b > a ? Math.min((s - a) / (b - a), 1) : 0;
    return curve.values[k - 1] * (1 - t) + curve.values[k] * t;
  };
  const show = (station) => {
    const inside = station !== null && station >= x0 && station <= x1;
    hair.setAttribute("visibility", inside ? "visible" : "hidden");
    read.textContent = "";
    if (!inside) return;
    hair.setAttribute("x1", X(station)); hair.setAttribute("x2", X(station));
    read.textContent = `station ${whole(station)} mm:  ` + curves.map((c) => `${c.name} ${figure(at(c, station))} ${c.unit}`).join(",  ");
  };
  image.addEventListener("pointermove", (event) => {
    const box = image.getBoundingClientRect();
    const s = x0 + (((event.clientX - box.left) / box.width) * W - left) / (W - left - right) * (x1 - x0);
    const station = s >= x0 && s <= x1 ? s : null;
    show(station); onStation(station);
  });
  image.addEventListener("pointerleave", () => { show(null); onStation(null); });
  return show;
}
