// The bodies on the frame, drawn over it: clear sheets, beams, and the mounts and ties that bear
// them. They move with the frame; what is under the pointer tells its name and its load.

const bodies = () => (state.body ? DATA.bodies || [] : []);
const movedBy = (p, m, scale) => p.map((v, k) => v + scale * m[k]);

function drawBodies(ink) {
  const pen = ink.pen, now = shownScale();
  pen.save();
  pen.lineCap = "round";
  for (const body of bodies()) {
    const rest = body.points.map((p) => ink.toPixels(p));
    const at = body.points.map((p, k) => ink.toPixels(movedBy(p, body.movement[k], now)));
    if (now) {
      pen.globalAlpha = 1;
      for (const [i, j] of body.beams) ink.line(rest[i], rest[j], THEME.ghost_edge, 0.8);
    }
    pen.globalAlpha = 0.08;
    pen.fillStyle = THEME.hold;
    for (const panel of body.panels) {
      pen.beginPath();
      panel.forEach((k, n) => (n ? pen.lineTo(...at[k]) : pen.moveTo(...at[k])));
      pen.closePath(); pen.fill();
    }
    pen.globalAlpha = 0.6;
    for (const [i, j] of body.beams) ink.line(at[i], at[j], THEME.hold, 1.8);
    for (const link of body.links) {
      const [a, b] = link.ends.map((p, k) => ink.toPixels(movedBy(p, link.movement[k], now)));
      const tie = link.kind === "tie";
      pen.globalAlpha = tie ? 0.95 : 0.75;
      ink.line(a, b, THEME.ink, tie ? 3 : 2);
      pen.fillStyle = tie ? THEME.load : THEME.paper;
      pen.strokeStyle = THEME.ink; pen.lineWidth = 1.2;
      pen.beginPath(); pen.arc(...b, tie ? 4 : 3.4, 0, 7); pen.fill(); pen.stroke();
    }
  }
  pen.restore();
}

// What of a body is at a point in CSS pixels: mounts and ties within 8 pixels, beams within 5;
// sheets only where `sheets` says so, as they cover the frame. Null where there is nothing.
function bodyAt(at, ink, sheets) {
  const now = shownScale();
  let best = null;
  const take = (far, reach, tell) => { if (far <= reach && (!best || far - reach < best.far)) best = { far: far - reach, ...tell }; };
  const beside = ([px, py], [ax, ay], [bx, by]) => {
    const t = Math.min(Math.max(((px - ax) * (bx - ax) + (py - ay) * (by - ay)) / ((bx - ax) ** 2 + (by - ay) ** 2 || 1), 0), 1);
    return [Math.hypot(px - ax - t * (bx - ax), py - ay - t * (by - ay)), t];
  };
  const between = (p, q, t) => p.map((v, k) => v * (1 - t) + q[k] * t);
  for (const body of bodies()) {
    const flat = body.points.map((p, k) => ink.toPixels(movedBy(p, body.movement[k], now)));
    for (const link of body.links) {
      const [a, b] = link.ends.map((p, k) => ink.toPixels(movedBy(p, link.movement[k], now)));
      const [far] = beside(at, a, b);
      take(far, 8, { name: link.name, of: body.name, text: link.text, point: link.ends[1], movement: link.movement[1] });
    }
    body.beams.forEach(([i, j], n) => {
      const [far, t] = beside(at, flat[i], flat[j]);
      take(far, 5, { name: body.beam_names[n], of: body.name, text: "", point: between(body.points[i], body.points[j], t), movement: between(body.movement[i], body.movement[j], t) });
    });
    if (!best && sheets) body.panels.forEach((panel, n) => {
      let inside = false;
      panel.forEach((k, m) => {
        const [ax, ay] = flat[k], [bx, by] = flat[panel[(m + 3) % 4]];
        if (ay > at[1] !== by > at[1] && at[0] < ((bx - ax) * (at[1] - ay)) / (by - ay) + ax) inside = !inside;
      });
      const mean = (rows) => [0, 1, 2].map((c) => panel.reduce((sum, k) => sum + rows[k][c] / 4, 0));
      if (inside) take(0, 0, { name: body.panel_names[n], of: body.name, text: "sheet", point: mean(body.points), movement: mean(body.movement) });
    });
  }
  return best;
}

function writeBodyTip(tip, hit) {
  tip.replaceChildren();
  add(tip, "b", hit.name);
  add(tip, "span", `of the body ${hit.of}`, "quiet");
  if (hit.text) add(tip, "span", hit.text);
  add(tip, "span", movesWords(hit.movement));
}

// The switch that hides the bodies; `redraw` is told when it was used.
function bodySwitch(redraw) {
  const box = document.getElementById("body-shown");
  const write = () => {
    for (const id of ["body-switch", "body-key"]) document.getElementById(id).hidden = !(DATA.bodies || []).length;
    box.checked = state.body;
  };
  const put = (on) => { state.body = on; write(); redraw(); };
  box.addEventListener("change", () => put(box.checked));
  write();
  return { write, toggle: () => put(!state.body) };
}
