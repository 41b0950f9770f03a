// What lets the stand-alone page's scripts show one variant after another: they draw what DATA
// and WALLS hold, so these are filled anew and the walls are loaded again.

const live = { solid: null, ink: null, station: null, show: () => {} };

// Half a megabyte with every move of a slider: worth a plain loop.
decode = (text, Kind) => {
  const raw = atob(text), bytes = new Uint8Array(raw.length);
  for (let k = 0; k < raw.length; k++) bytes[k] = raw.charCodeAt(k);
  return new Kind(bytes.buffer);
};

Solid = class extends Solid {
  constructor(canvas) { super(canvas); live.solid = this; }

  attribute(what, name, array, size) {
    const buffer = super.attribute(what, name, array, size);
    (this.made ??= []).push(buffer);
    return buffer;
  }

  // Give back what the last variant held on the graphics card, and load the present one.
  renew() {
    const gl = this.gl;
    gl.bindVertexArray(this.walls.array);
    this.made.push(gl.getParameter(gl.ELEMENT_ARRAY_BUFFER_BINDING));
    gl.bindVertexArray(null);
    for (const buffer of this.made) gl.deleteBuffer(buffer);
    this.made = [];
    gl.deleteTexture(gl.getParameter(gl.TEXTURE_BINDING_2D));
    for (const what of [this.walls, this.edges]) gl.deleteVertexArray(what.array);
    this.load();
    this.colourBy(state.field);
  }
};

Ink = class extends Ink {
  constructor(canvas) { super(canvas); live.ink = this; }
};

const drawProfileOnce = drawProfile;
drawProfile = (onStation) => {
  live.station = onStation;
  live.show = drawProfileOnce(onStation);
  return (station) => live.show(station);
};

writeTexts = () => {
  document.getElementById("title").textContent = DATA.title;
  document.getElementById("subtitle").textContent = DATA.subtitle;
  const bars = document.getElementById("bars");
  bars.replaceChildren();
  const most = Math.max(...DATA.soft.map((row) => row[1]), 1e-9);
  for (const [name, share] of DATA.soft) {
    const row = add(bars, "div", undefined, "bar");
    add(row, "span", name);
    const line = add(row, "div");
    add(line, "i").style.width = `${(80 * share) / most}%`;
    add(line, "span", `${share.toFixed(share < 10 ? 1 : 0)} %`);
  }
  document.getElementById("notes").replaceChildren();
  for (const note of [...DATA.notes, "A planning aid, not a certification: local codes and a licensed engineer decide."])
    add(document.getElementById("notes"), "p", note);
};

// Put a solved variant into the scene; `pinned` are profiles to draw dashed beside it.
function showScene(found, pinned) {
  const other = DATA.case !== found.case, same = DATA.walls.hang === found.walls.hang;
  // what hangs together as before was not sent again
  const keep = { bench: DATA.bench, scale: other ? found.scale : DATA.scale, walls: { ...DATA.walls, ...found.walls } };
  Object.assign(DATA, found, keep);
  const walls = found.walls;
  if ("quads" in walls) Object.assign(WALLS, {
    quads: decode(walls.quads, Uint32Array), member: decode(walls.member, Uint32Array),
    section: decode(walls.section, Uint32Array), edges: decode(walls.edges, Uint32Array),
    inward: decode(walls.inward, Float32Array),
  });
  Object.assign(WALLS, { points: decode(walls.points, Float32Array), movement: decode(walls.movement, Float32Array) });
  // Colours that are still to come: the last ones stay where they are of the same walls.
  if (walls.fields) WALLS.fields = walls.fields.map((f) => ({ ...f, values: decode(f.values, Float32Array) }));
  else if (!same) {
    const none = new Float32Array(WALLS.points.length / 3).fill(NaN);
    WALLS.fields = WALLS.fields.map((f) => ({ ...f, values: none }));
  }
  if (other) {
    const slider = document.getElementById("scale");
    slider.max = 2 * DATA.scale;
    slider.value = DATA.scale;
    slider.dispatchEvent(new Event("input"));
  }
  writeTexts();
  writeLegend();
  showProfile(pinned);
  document.getElementById("solid").setAttribute("aria-label", `${DATA.title}: ${DATA.subtitle}. The frame, deflected.`);
  if (!live.solid) return;
  if (!same) live.solid.renew();
  else {
    live.solid.follow();
    if (walls.fields) live.solid.colourBy(state.field);
  }
  live.solid.draw();
  live.ink.draw();
}

// Put in the stress of what is shown, and its edges where they were not known.
function showPaint(found) {
  if (DATA.walls.hang !== found.walls.hang || DATA.case !== found.case) return;
  Object.assign(DATA, { figures: found.figures, members: found.members, painted: true });
  WALLS.fields = found.walls.fields.map((f) => ({ ...f, values: decode(f.values, Float32Array) }));
  const edges = !WALLS.edges.length;
  if (edges) Object.assign(WALLS, { edges: decode(found.walls.edges, Uint32Array), inward: decode(found.walls.inward, Float32Array) });
  writeLegend();
  if (!live.solid) return;
  if (edges) live.solid.renew();
  else live.solid.colourBy(state.field);
  live.solid.draw();
  live.ink.draw();
}

function showProfile(pinned) {
  const own = DATA.profile.curves.filter((c) => !c.pinned).map((c) => ({ ...c, name: pinned.length ? "now" : c.name }));
  DATA.profile = { ...DATA.profile, curves: [...own, ...pinned] };
  document.querySelector("#profile svg")?.remove();
  if (live.station) live.show = drawProfileOnce(live.station);
}
