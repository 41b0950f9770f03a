// Putting the page together: pointer, touch and keys, slider, animation, reading values.

function main() {
  const canvas = document.getElementById("solid"), inkCanvas = document.getElementById("ink");
  const tip = document.getElementById("tip"), slider = document.getElementById("scale");
  writeTexts();
  writeLegend();
  let solid = null, waiting = false;
  const redraw = () => {
    if (waiting || !solid) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; solid.draw(); ink.draw(); });
  };
  const showOnProfile = drawProfile((station) => { state.station = station; redraw(); });
  try { solid = new Solid(canvas); } catch (problem) {
    const plain = document.getElementById("plain");
    plain.textContent = "This browser cannot draw the frame in 3D (WebGL 2 is missing or switched off). The figures below are complete without it.";
    plain.hidden = false;
    for (const id of ["solid", "ink", "legend", "tools"]) document.getElementById(id).hidden = true;
    return;
  }
  const ink = new Ink(inkCanvas);
  const bodySwitched = bodySwitch(redraw);
  canvas.setAttribute("aria-label", `${DATA.title}: ${DATA.subtitle}. The frame, deflected, coloured by ${WALLS.fields.length ? WALLS.fields[0].name : "member"}.`);

  const fitCanvas = () => {
    const ratio = Math.min(window.devicePixelRatio || 1, 2);
    for (const c of [canvas, inkCanvas]) {
      c.width = Math.max(1, Math.round(c.clientWidth * ratio));
      c.height = Math.max(1, Math.round(c.clientHeight * ratio));
    }
  };
  const stance = (name) => { stand(name, canvas.clientWidth, canvas.clientHeight); redraw(); };
  // A page opened in the background has no size yet: the frame is fitted once there is one.
  let wasWide = 0;
  const resize = () => {
    fitCanvas();
    const wide = canvas.clientWidth;
    if (!wide || !canvas.clientHeight) return;
    if (wasWide) view.mmPerPixel *= wasWide / wide;
    else stand("standard", wide, canvas.clientHeight);
    wasWide = wide;
    solid.draw(); ink.draw(); // at once, so that print sees the new size
  };
  new ResizeObserver(resize).observe(canvas);

  // the scale of the movements
  const writeScale = () => { document.getElementById("scale-text").textContent = `${state.scale < 10 ? state.scale.toFixed(1) : whole(state.scale)} x`; };
  slider.max = 2 * DATA.scale;
  slider.value = DATA.scale;
  slider.addEventListener("input", () => { state.scale = Number(slider.value); writeScale(); redraw(); });
  writeScale();

  // colour by
  const chooser = document.getElementById("field");
  WALLS.fields.forEach((f, k) => { add(chooser, "option", `${f.name}, ${f.unit}`).value = k; });
  chooser.addEventListener("change", () => { state.field = Number(chooser.value); solid.colourBy(state.field); writeLegend(); redraw(); });

  // to and fro
  const swing = document.getElementById("swing");
  let began = null;
  const beat = (now) => {
    if (began === null) return;
    state.phase = Math.cos((2 * Math.PI * (now - began)) / 2600);
    redraw();
    requestAnimationFrame(beat);
  };
  const animate = () => {
    began = began === null ? performance.now() : null;
    swing.setAttribute("aria-pressed", String(began !== null));
    swing.textContent = began === null ? "Animate" : "Stop";
    if (began === null) { state.phase = 1; redraw(); } else requestAnimationFrame(beat);
  };
  swing.addEventListener("click", animate);
  for (const button of document.querySelectorAll("#views button")) button.addEventListener("click", () => stance(button.dataset.view));

  // turning, moving, zooming
  const turn = (dx, dy) => {
    view.azimuth += 0.006 * dx;
    view.elevation = Math.min(Math.max(view.elevation + 0.006 * dy, -Math.PI / 2), Math.PI / 2);
    recentre();
  };
  // turn about the frame's middle: keep it where it is on the screen
  let anchor = null;
  const hold = () => { const q = project(MIDDLE, axes()); anchor = [q[0] - view.x, q[1] - view.y]; };
  const recentre = () => { const q = project(MIDDLE, axes()); view.x = q[0] - anchor[0]; view.y = q[1] - anchor[1]; redraw(); };
  const move = (dx, dy) => { view.x -= dx * view.mmPerPixel; view.y += dy * view.mmPerPixel; redraw(); };
  const zoom = (factor, x, y) => {
    const kx = x - 0.5 * canvas.clientWidth, ky = 0.5 * canvas.clientHeight - y;
    const before = view.mmPerPixel;
    view.mmPerPixel = Math.min(Math.max(before / factor, LENGTH / 1e5), LENGTH / 40);
    view.x += kx * (before - view.mmPerPixel);
    view.y += ky * (before - view.mmPerPixel);
    redraw();
  };
  const place = (event) => { const box = canvas.getBoundingClientRect(); return [event.clientX - box.left, event.clientY - box.top]; };
  const held = new Map();
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    held.set(event.pointerId, place(event));
    canvas.classList.add("held");
    if (event.pointerType === "touch") readAt(place(event));
  });
  canvas.addEventListener("pointermove", (event) => {
    const now = place(event), before = held.get(event.pointerId);
    if (!before) { readAt(now); return; }
    const dx = now[0] - before[0], dy = now[1] - before[1];
    if (held.size === 2) {
      const other = [...held].find(([id]) => id !== event.pointerId)[1];
      const apart = (p) => Math.max(Math.hypot(p[0] - other[0], p[1] - other[1]), 1);
      zoom(apart(now) / apart(before), 0.5 * (now[0] + other[0]), 0.5 * (now[1] + other[1]));
      move(0.5 * dx, 0.5 * dy);
    } else if (event.shiftKey || event.buttons & 6) move(dx, dy);
    else { hold(); turn(dx, dy); }
    held.set(event.pointerId, now);
    if (Math.hypot(dx, dy) > 2) tip.hidden = true;
  });
  for (const name of ["pointerup", "pointercancel"]) canvas.addEventListener(name, (event) => {
    held.delete(event.pointerId);
    if (!held.size) canvas.classList.remove("held");
  });
  canvas.addEventListener("pointerleave", () => { if (!held.size) read(null); });
  canvas.addEventListener("contextmenu", (event) => event.preventDefault());
  canvas.addEventListener("wheel", (event) => { event.preventDefault(); zoom(Math.exp(-0.0015 * event.deltaY), ...place(event)); }, { passive: false });
  canvas.addEventListener("keydown", (event) => {
    const step = 24, way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    const middle = [0.5 * canvas.clientWidth, 0.5 * canvas.clientHeight];
    if (way && event.shiftKey) move(step * way[0], step * way[1]);
    else if (way) { hold(); turn(step * way[0], step * way[1]); }
    else if (event.key === "+" || event.key === "=") zoom(1.2, ...middle);
    else if (event.key === "-" || event.key === "_") zoom(1 / 1.2, ...middle);
    else if (event.key === "0" || event.key === "Home") stance("standard");
    else if (event.key === " ") animate();
    else if (event.key === "b") bodySwitched.toggle();
    else return;
    event.preventDefault();
  });

  // reading values under the pointer
  let asked = null;
  const readAt = (at) => {
    if (!asked) requestAnimationFrame(() => { const p = asked; asked = null; read(p); });
    asked = at;
  };
  const read = (at) => {
    const wall = at ? solid.wallAt(...at) : -1;
    const hit = at && bodyAt(at, ink, wall < 0);
    const found = hit || (wall < 0 ? null : valuesAt(wall, at, ink));
    tip.hidden = !found;
    state.station = found ? found.point[0] : null;
    showOnProfile(state.station);
    if (found) {
      if (hit) writeBodyTip(tip, hit);
      else writeTip(tip, wall, found);
      const right = at[0] + 18 + tip.offsetWidth < canvas.clientWidth;
      tip.style.left = `${right ? at[0] + 18 : at[0] - 18 - tip.offsetWidth}px`;
      tip.style.top = `${Math.min(Math.max(at[1] - 20, 4), canvas.clientHeight - tip.offsetHeight - 4)}px`;
    }
    redraw();
  };

  resize();
}

// Point, movement and field values of a wall under a screen point, blended between its corners.
function valuesAt(wall, at, ink) {
  const corner = [0, 1, 2, 3].map((k) => WALLS.quads[4 * wall + k]);
  const flat = corner.map((k) => ink.toPixels(movedPoint(k, shownScale())));
  let best = null;
  for (const [i, j, k] of [[0, 1, 2], [0, 2, 3]]) {
    const [a, b, c] = [flat[i], flat[j], flat[k]];
    const area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    if (Math.abs(area) < 1e-9) continue;
    const v = ((at[0] - a[0]) * (c[1] - a[1]) - (at[1] - a[1]) * (c[0] - a[0])) / area;
    const w = ((b[0] - a[0]) * (at[1] - a[1]) - (b[1] - a[1]) * (at[0] - a[0])) / area;
    const least = Math.min(v, w, 1 - v - w);
    if (!best || least > best.least) best = { least, parts: [[i, 1 - v - w], [j, v], [k, w]] };
  }
  const parts = (best ? best.parts : [[0, 1]]).map(([k, share]) => [corner[k], Math.min(Math.max(share, 0), 1)]);
  const total = parts.reduce((sum, part) => sum + part[1], 0);
  const blend = (get) => parts.reduce((sum, [k, share]) => sum + (share / total) * get(k), 0);
  const three = (array) => [0, 1, 2].map((c) => blend((k) => array[3 * k + c]));
  return { point: three(WALLS.points), movement: three(WALLS.movement), values: WALLS.fields.map((f) => blend((k) => f.values[k])) };
}

function writeTip(tip, wall, found) {
  tip.replaceChildren();
  add(tip, "b", DATA.walls.members[WALLS.member[wall]]);
  add(tip, "span", DATA.walls.sections[WALLS.section[wall]], "quiet");
  add(tip, "span", `station ${whole(found.point[0])}, ${whole(Math.abs(found.point[1]))} ${found.point[1] < 0 ? "left" : "right"}, height ${whole(found.point[2])} mm`, "quiet");
  WALLS.fields.forEach((f, k) => add(tip, "span", `${f.name} ${figure(found.values[k])} ${f.unit}`));
  add(tip, "span", movesWords(found.movement));
}

function movesWords([x, y, z]) {
  const sided = (value, plus, minus) => `${figure(Math.abs(value))} ${value < 0 ? minus : plus}`;
  return `moves ${sided(z, "up", "down")}, ${sided(y, "right", "left")}, ${sided(x, "rearward", "forward")} mm`;
}

main();
