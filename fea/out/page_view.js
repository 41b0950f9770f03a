// Drawing the walls: WebGL 2, no library. Flat shading from the true deflected walls.

const WALL_VERTEX = `#version 300 es
precision highp float;
in vec3 point; in vec3 move; in float value; in float number;
uniform mat3 rows; uniform vec3 middle; uniform vec4 window; uniform float scale, depth;
out vec3 seen; out float shade; flat out float id;
void main() {
  seen = rows * (point + scale * move - middle);
  shade = value; id = number;
  gl_Position = vec4((seen.xy - window.xy) * window.zw, -seen.z / depth, 1.0);
}`;
const WALL_FRAGMENT = `#version 300 es
precision highp float;
in vec3 seen; in float shade; flat in float id;
uniform sampler2D map; uniform vec3 light; uniform vec2 lamp; uniform vec3 plain; uniform vec3 missing;
uniform int mode;
out vec4 colour;
void main() {
  if (mode == 2) {
    int n = int(id + 0.5) + 1;
    colour = vec4(float(n & 255), float((n >> 8) & 255), float((n >> 16) & 255), 255.0) / 255.0;
    return;
  }
  vec3 normal = normalize(cross(dFdx(seen), dFdy(seen)));
  float bright = lamp.x + lamp.y * abs(dot(normal, light));
  vec3 base = mode == 1 ? plain
    : shade < -0.5 ? missing : texture(map, vec2((clamp(shade, 0.0, 1.0) * 255.0 + 0.5) / 256.0, 0.5)).rgb;
  colour = vec4(min(base * (mode == 1 ? 0.9 + 0.1 * bright : bright), vec3(1.0)), 1.0);
}`;
// An edge takes its depth from a point a little inside its own wall, so that a crossmember's
// end does not show through the web it butts against.
const EDGE_VERTEX = `#version 300 es
precision highp float;
in vec3 point; in vec3 move; in vec3 inward;
uniform mat3 rows; uniform vec3 middle; uniform vec4 window; uniform float scale, depth;
void main() {
  vec3 seen = rows * (point + scale * move - middle);
  float near = seen.z + (rows * inward).z + 2.5;
  gl_Position = vec4((seen.xy - window.xy) * window.zw, -near / depth, 1.0);
}`;
const EDGE_FRAGMENT = `#version 300 es
precision highp float;
uniform vec3 plain; out vec4 colour;
void main() { colour = vec4(plain, 1.0); }`;

const rgb = (hex) => [1, 3, 5].map((k) => parseInt(hex.slice(k, k + 2), 16) / 255);

function spread(from, numbers) {
  const out = new Float32Array(3 * numbers.length);
  for (let i = 0, n = 0; i < numbers.length; i++) {
    const k = 3 * numbers[i];
    out[n++] = from[k]; out[n++] = from[k + 1]; out[n++] = from[k + 2];
  }
  return out;
}

class Solid {
  constructor(canvas) {
    this.canvas = canvas;
    const gl = canvas.getContext("webgl2", { antialias: true, preserveDrawingBuffer: true });
    if (!gl) throw new Error("no WebGL 2");
    this.gl = gl;
    this.walls = this.program(WALL_VERTEX, WALL_FRAGMENT);
    this.edges = this.program(EDGE_VERTEX, EDGE_FRAGMENT);
    this.load();
    this.colourBy(0);
    this.pick = gl.createFramebuffer();
  }

  program(vertex, fragment) {
    const gl = this.gl, program = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    }
    gl.linkProgram(program);
    if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(program));
    const uniform = new Proxy({}, { get: (_, name) => gl.getUniformLocation(program, name) });
    return { program, uniform };
  }

  attribute(what, name, array, size) {
    const gl = this.gl, buffer = gl.createBuffer();
    const place = gl.getAttribLocation(what.program, name);
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ARRAY_BUFFER, array, gl.STATIC_DRAW);
    gl.enableVertexAttribArray(place);
    gl.vertexAttribPointer(place, size, gl.FLOAT, false, 0, 0);
    return buffer;
  }

  load() {
    const gl = this.gl, quads = WALLS.quads, n = quads.length / 4;
    const index = new Uint32Array(6 * n), number = new Float32Array(4 * n);
    for (let q = 0; q < n; q++) {
      for (let k = 0; k < 6; k++) index[6 * q + k] = 4 * q + (k < 3 ? k : k === 3 ? 0 : k - 2);
      for (let k = 0; k < 4; k++) number[4 * q + k] = q;
    }
    this.walls.array = gl.createVertexArray();
    gl.bindVertexArray(this.walls.array);
    this.moving = [["points", this.attribute(this.walls, "point", spread(WALLS.points, quads), 3), "quads"],
      ["movement", this.attribute(this.walls, "move", spread(WALLS.movement, quads), 3), "quads"]];
    this.attribute(this.walls, "number", number, 1);
    this.values = this.attribute(this.walls, "value", new Float32Array(4 * n), 1);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, index, gl.STATIC_DRAW);
    this.walls.count = index.length;
    this.edges.array = gl.createVertexArray();
    gl.bindVertexArray(this.edges.array);
    this.moving.push(["points", this.attribute(this.edges, "point", spread(WALLS.points, WALLS.edges), 3), "edges"],
      ["movement", this.attribute(this.edges, "move", spread(WALLS.movement, WALLS.edges), 3), "edges"]);
    const inward = new Float32Array(3 * WALLS.edges.length);
    for (let i = 0; i < WALLS.edges.length; i++) for (let c = 0; c < 3; c++) inward[3 * i + c] = WALLS.inward[3 * (i >> 1) + c];
    this.attribute(this.edges, "inward", inward, 3);
    this.edges.count = WALLS.edges.length;
    gl.bindVertexArray(null);
    const texture = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, texture);
    const map = new Uint8Array(DATA.map.flatMap((h) => [...rgb(h).map((v) => Math.round(255 * v)), 255]));
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, 256, 1, 0, gl.RGBA, gl.UNSIGNED_BYTE, map);
    for (const side of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, side, gl.CLAMP_TO_EDGE);
    for (const filter of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, filter, gl.LINEAR);
  }

  // Walls that hang together as before, elsewhere: their places and movements are loaded again.
  follow() {
    const gl = this.gl;
    for (const [what, buffer, numbers] of this.moving) {
      gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
      gl.bufferData(gl.ARRAY_BUFFER, spread(WALLS[what], WALLS[numbers]), gl.STATIC_DRAW);
    }
  }

  colourBy(k) {
    const gl = this.gl, shown = WALLS.fields[k], quads = WALLS.quads;
    const part = new Float32Array(quads.length).fill(-1);
    if (shown) for (let i = 0; i < quads.length; i++) {
      const v = (shown.values[quads[i]] - shown.low) / (shown.high - shown.low);
      part[i] = v >= 0 ? Math.min(v, 1) : v < 0 ? 0 : -1; // no value is neither
    }
    gl.bindBuffer(gl.ARRAY_BUFFER, this.values);
    gl.bufferData(gl.ARRAY_BUFFER, part, gl.STATIC_DRAW);
  }

  use(what, scale) {
    const gl = this.gl, u = what.uniform, rows = axes();
    gl.useProgram(what.program);
    gl.bindVertexArray(what.array);
    // GLSL takes columns: the rows of the view become its lines by transposing on the way in
    gl.uniformMatrix3fv(u.rows, true, rows.flat());
    gl.uniform3fv(u.middle, MIDDLE);
    const middle = project(MIDDLE, rows), size = this.canvas.getBoundingClientRect();
    gl.uniform4f(u.window, view.x - middle[0], view.y - middle[1],
      2 / (view.mmPerPixel * size.width), 2 / (view.mmPerPixel * size.height));
    gl.uniform1f(u.scale, scale);
    gl.uniform1f(u.depth, 3 * LENGTH);
    if (what === this.walls) {
      gl.uniform3fv(u.light, project(DATA.light, rows));
      gl.uniform2f(u.lamp, DATA.shade, DATA.glow);
      gl.uniform3fv(u.missing, rgb(THEME.no_value));
    }
  }

  layer(scale, mode, edge) {
    const gl = this.gl;
    gl.clear(gl.DEPTH_BUFFER_BIT);
    this.use(this.walls, scale);
    gl.uniform1i(this.walls.uniform.mode, mode);
    gl.uniform3fv(this.walls.uniform.plain, rgb(THEME.ghost));
    gl.drawElements(gl.TRIANGLES, this.walls.count, gl.UNSIGNED_INT, 0);
    if (mode === 2) return;
    this.use(this.edges, scale);
    gl.uniform3fv(this.edges.uniform.plain, rgb(edge));
    gl.drawArrays(gl.LINES, 0, this.edges.count);
  }

  draw() {
    const gl = this.gl;
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.viewport(0, 0, this.canvas.width, this.canvas.height);
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LEQUAL);
    gl.clearColor(...rgb(THEME.paper), 1);
    gl.clear(gl.COLOR_BUFFER_BIT);
    if (DATA.scale * Math.abs(shownScale()) > 0) this.layer(0, 1, THEME.ghost_edge);
    this.layer(shownScale(), 0, THEME.edge);
  }

  // The number of the wall under a point in CSS pixels from the top left, or -1.
  wallAt(x, y) {
    const gl = this.gl, wide = this.canvas.width, high = this.canvas.height;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.pick);
    if (this.pickSize !== `${wide}x${high}`) {
      this.pickSize = `${wide}x${high}`;
      const colour = gl.createRenderbuffer(), depth = gl.createRenderbuffer();
      for (const [buffer, kind, use] of [[colour, gl.RGBA8, gl.COLOR_ATTACHMENT0],
        [depth, gl.DEPTH_COMPONENT24, gl.DEPTH_ATTACHMENT]]) {
        gl.bindRenderbuffer(gl.RENDERBUFFER, buffer);
        gl.renderbufferStorage(gl.RENDERBUFFER, kind, wide, high);
        gl.framebufferRenderbuffer(gl.FRAMEBUFFER, use, gl.RENDERBUFFER, buffer);
      }
    }
    gl.viewport(0, 0, wide, high);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT);
    this.layer(shownScale(), 2);
    const ratio = wide / this.canvas.clientWidth, pixel = new Uint8Array(4);
    gl.readPixels(Math.floor(x * ratio), high - 1 - Math.floor(y * ratio), 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    return pixel[3] ? pixel[0] + 256 * pixel[1] + 65536 * pixel[2] - 1 : -1;
  }
}
