// What is drawn flat over the walls: station ruler, direction words, supports and loads.

class Ink {
  constructor(canvas) { this.canvas = canvas; this.pen = canvas.getContext("2d"); }

  toPixels(p) {
    const q = project(p, axes());
    return [
      0.5 * this.width + (q[0] - view.x) / view.mmPerPixel,
      0.5 * this.height - (q[1] - view.y) / view.mmPerPixel,
    ];
  }

  line(a, b, colour, wide) {
    const pen = this.pen;
    pen.strokeStyle = colour; pen.lineWidth = wide;
    pen.beginPath(); pen.moveTo(...a); pen.lineTo(...b); pen.stroke();
  }

  draw() {
    const ratio = this.canvas.width / this.canvas.clientWidth;
    this.width = this.canvas.clientWidth; this.height = this.canvas.clientHeight;
    this.pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    this.pen.clearRect(0, 0, this.width, this.height);
    const key = document.getElementById("legend");
    this.taken = [[key.offsetLeft, key.offsetTop, key.offsetLeft + key.offsetWidth, key.offsetTop + key.offsetHeight]];
    this.labels = [];
    this.cover();
    drawBodies(this);
    this.symbols();
    this.ruler();
    this.words();
    this.place();
  }

  // Which cells of the picture, 14 pixels square, the frame covers: labels had better not.
  cover() {
    const [[a, b, c], [d, e, f]] = axes(), scale = shownScale(), P = WALLS.points, M = WALLS.movement;
    this.covered = new Set();
    // sheet metal has tens of thousands of points: one in a few tells enough, and in time
    const step = 3 * Math.max(1, Math.floor(P.length / 3 / 12000));
    for (let k = 0; k < P.length; k += step) for (let n = 0; n < (scale ? 2 : 1); n++) {
      const s = n * scale, px = P[k] + s * M[k], py = P[k + 1] + s * M[k + 1], pz = P[k + 2] + s * M[k + 2];
      const x = 0.5 * this.width + (a * px + b * py + c * pz - view.x) / view.mmPerPixel;
      const y = 0.5 * this.height - (d * px + e * py + f * pz - view.y) / view.mmPerPixel;
      this.covered.add(Math.floor(x / 14) + 4096 * Math.floor(y / 14));
    }
  }

  share(box) {
    let hit = 0, all = 0;
    for (let x = Math.floor(box[0] / 14); x <= box[2] / 14; x++) for (let y = Math.floor(box[1] / 14); y <= box[3] / 14; y++) {
      all++;
      if (this.covered.has(x + 4096 * y)) hit++;
    }
    return hit / all;
  }

  ruler() {
    const [a, b] = rulerEnds(), tick = 0.012 * LENGTH;
    const from = this.toPixels(a), to = this.toPixels(b);
    this.line(from, to, THEME.quiet, 1);
    for (let k = 0; k <= 80; k++) {
      const [x, y] = from.map((v, c) => v + (k / 80) * (to[c] - v));
      this.taken.push([x - 2, y - 2, x + 2, y + 2]);
    }
    for (let x = Math.ceil(a[0] / 100) * 100; x <= b[0]; x += 100)
      this.line(this.toPixels([x, a[1], a[2]]), this.toPixels([x, a[1] + tick / 2, a[2]]), THEME.quiet, 0.6);
    for (const [station, text] of DATA.stations) {
      const out = this.toPixels([station, a[1] - tick, a[2]]);
      this.line(out, this.toPixels([station, a[1] + tick, a[2]]), THEME.ink, 1.2);
      this.labels.push({ text: [whole(station), text], at: out, way: [0.3, 1], size: 11, colour: THEME.ink });
    }
    if (state.station !== null) {
      const x = state.station;
      this.line(this.toPixels([x, a[1] - 2 * tick, a[2]]), this.toPixels([x, BOX.low[1], a[2]]), THEME.load, 1.5);
    }
  }

  words() {
    const away = 0.035 * LENGTH, m = MIDDLE, { low, high } = BOX;
    const rows = [
      ["front", [low[0], m[1], m[2]], [-1, 0, 0]], ["rear", [high[0], m[1], m[2]], [1, 0, 0]],
      ["right", [m[0], high[1] + away, m[2]], [0, 1, 0]], ["left", [m[0], low[1] - away, m[2]], [0, -1, 0]],
    ];
    for (const [word, start, way] of rows) {
      const go = (k) => this.toPixels(start.map((v, i) => v + k * away * way[i]));
      const a = go(0.25), b = go(1), step = [b[0] - a[0], b[1] - a[1]];
      if (Math.hypot(...step) < 6) continue; // seen end on
      this.line(a, b, THEME.quiet, 1);
      this.head(b, step, 6, 2.6, THEME.quiet);
      this.labels.push({ text: [word], at: b, way: step, size: 13, colour: THEME.quiet, bare: true });
    }
  }

  head(tip, step, long, half, colour) {
    const n = Math.hypot(...step) || 1, u = [step[0] / n, step[1] / n], pen = this.pen;
    const foot = [tip[0] - long * u[0], tip[1] - long * u[1]];
    pen.fillStyle = colour;
    pen.beginPath(); pen.moveTo(...tip);
    pen.lineTo(foot[0] - half * u[1], foot[1] + half * u[0]);
    pen.lineTo(foot[0] + half * u[1], foot[1] - half * u[0]);
    pen.closePath(); pen.fill();
  }

  symbols() {
    for (const place of DATA.places) {
      const load = place.kind === "load", colour = load ? THEME.load : THEME.hold;
      const at = place.position.map((v, k) => v + shownScale() * place.movement[k]);
      const tip = this.toPixels(at);
      let far = tip;
      for (const way of place.vectors) {
        const tail = this.toPixels(at.map((v, k) => v - 0.06 * LENGTH * way[k]));
        let back = [tail[0] - tip[0], tail[1] - tip[1]];
        const n = Math.hypot(...back);
        if (n < 8) { this.pen.fillStyle = colour; this.pen.beginPath(); this.pen.arc(...tip, 5, 0, 7); this.pen.fill(); continue; }
        const long = load ? Math.min(Math.max(n, 40), 90) : 15;
        back = back.map((v) => v * long / n);
        const end = [tip[0] + back[0], tip[1] + back[1]];
        if (load) {
          this.line([tip[0] + 0.25 * back[0], tip[1] + 0.25 * back[1]], end, colour, 3.5);
          this.head(tip, [-back[0], -back[1]], 15, 7, colour);
        } else this.head(tip, [-back[0], -back[1]], 15, 8, colour);
        this.taken.push([Math.min(tip[0], end[0]) - 8, Math.min(tip[1], end[1]) - 8, Math.max(tip[0], end[0]) + 8, Math.max(tip[1], end[1]) + 8]);
        far = end;
      }
      const step = [far[0] - tip[0], far[1] - tip[1]];
      if (place.text) this.labels.unshift({ text: place.text.split("\n"), at: far, way: step, size: 13, colour, bold: load });
    }
  }

  // Each label takes the nearest free seat around its point; one that finds none is left out
  // until the reader zooms in.
  place() {
    const pen = this.pen;
    for (const label of this.labels) {
      pen.font = `${label.bold ? "bold " : ""}${label.size}px "DejaVu Sans", Verdana, sans-serif`;
      const w = Math.max(...label.text.map((t) => pen.measureText(t).width)), h = label.text.length * label.size * 1.25;
      const wish = Math.atan2(label.way[1], label.way[0]);
      let best = null, least = Infinity;
      for (const reach of [12, 22, 36, 54, 80, 110, 150]) for (let k = 0; k < 16; k++) {
        const angle = wish + (k * Math.PI) / 8;
        const x = label.at[0] + Math.cos(angle) * (reach + w / 2), y = label.at[1] + Math.sin(angle) * (reach + h / 2);
        let cost = reach + 22 * (1 - Math.cos(angle - wish)), box = [x - w / 2, y - h / 2, x + w / 2, y + h / 2];
        if (cost >= least || box[0] < 2 || box[1] < 2 || box[2] > this.width - 2 || box[3] > this.height - 2) continue;
        if (this.taken.some((o) => box[0] < o[2] + 7 && o[0] < box[2] + 7 && box[1] < o[3] + 2 && o[1] < box[3] + 2)) continue;
        cost += 150 * this.share(box);
        if (cost >= least) continue;
        best = box; least = cost;
      }
      if (!best) continue;
      this.taken.push(best);
      const near = [Math.min(Math.max(label.at[0], best[0]), best[2]), Math.min(Math.max(label.at[1], best[1]), best[3])];
      if (!label.bare && Math.hypot(near[0] - label.at[0], near[1] - label.at[1]) > 9) this.line(near, label.at, label.colour, 0.7);
      pen.textAlign = "center"; pen.textBaseline = "middle";
      label.text.forEach((t, k) => {
        const x = 0.5 * (best[0] + best[2]), y = best[1] + (k + 0.5) * label.size * 1.25;
        pen.strokeStyle = "rgb(255 255 255 / 75%)"; pen.lineWidth = 3; pen.lineJoin = "round";
        pen.strokeText(t, x, y);
        pen.fillStyle = label.colour; pen.fillText(t, x, y);
      });
    }
  }
}
