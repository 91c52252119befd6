// The wing in three dimensions: points moved by the load, drawn with WebGL 2 and nothing else.

const VERTEX = `#version 300 es
in vec3 place; in vec3 move; in vec4 colour;
uniform float factor, side; uniform vec3 centre; uniform mat3 turn; uniform vec3 scale;
out vec3 at; out vec4 shade;
void main() {
  vec3 p = place + factor * move;
  p.y *= side;
  at = turn * (p - centre);
  shade = colour;
  gl_Position = vec4(at.xy * scale.xy, -at.z * scale.z, 1.0);
}`;
const FRAGMENT = `#version 300 es
precision highp float;
in vec3 at; in vec4 shade; uniform vec4 plain; out vec4 seen;
void main() {
  vec3 n = normalize(cross(dFdx(at), dFdy(at)));
  float light = 0.60 + 0.40 * abs(dot(n, normalize(vec3(0.25, 0.55, 0.8))));
  vec4 own = plain.a > 0.0 ? plain : shade;
  seen = vec4(own.rgb * (plain.a > 0.0 ? 1.0 : light), own.a);
}`;
const AZIMUTH = 0.62, ELEVATION = 0.5;

export class Solid {
  constructor(canvas, shape) {
    const gl = canvas.getContext("webgl2", { antialias: true, alpha: true, premultipliedAlpha: false });
    if (!gl) throw new Error("no WebGL 2");
    this.gl = gl;
    this.canvas = canvas;
    this.shape = shape;
    this.n = shape.points.length / 3;
    this.factor = 0;
    this.reset();
    this.program = this.compiled();
    this.at = {};
    for (const name of ["factor", "side", "centre", "turn", "scale", "plain"]) this.at[name] = gl.getUniformLocation(this.program, name);
    const points = new Float32Array(shape.points);
    this.points = points;
    this.bounds(points);
    this.moves = new Float32Array(points.length);
    this.attribute("place", points, 3, gl.FLOAT, false, gl.STATIC_DRAW);
    this.moveBuffer = this.attribute("move", this.moves, 3, gl.FLOAT, false, gl.DYNAMIC_DRAW);
    this.colourBuffer = this.attribute("colour", new Uint8Array(4 * this.n).fill(180), 4, gl.UNSIGNED_BYTE, true, gl.DYNAMIC_DRAW);
    this.solidBuffer = this.indices(new Uint32Array(shape.solid));
    this.nSolid = shape.solid.length;
    this.clearBuffer = this.indices(new Uint32Array(shape.clear));
    this.nClear = shape.clear.length;
    this.waiting = false;
    this.handle();
    new ResizeObserver(() => this.draw()).observe(canvas);
  }

  compiled() {
    const gl = this.gl, program = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    }
    gl.linkProgram(program);
    if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error("no shaders");
    return program;
  }

  attribute(name, data, size, kind, normalised, usage) {
    const gl = this.gl, buffer = gl.createBuffer(), at = gl.getAttribLocation(this.program, name);
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ARRAY_BUFFER, data, usage);
    gl.enableVertexAttribArray(at);
    gl.vertexAttribPointer(at, size, kind, normalised, 0, 0);
    return buffer;
  }

  indices(data) {
    const gl = this.gl, buffer = gl.createBuffer();
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, data, gl.DYNAMIC_DRAW);
    return buffer;
  }

  bounds(points) {
    const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
    for (let i = 0; i < points.length; i++) {
      low[i % 3] = Math.min(low[i % 3], points[i]);
      high[i % 3] = Math.max(high[i % 3], points[i]);
    }
    if (this.shape.mirrored) low[1] = -high[1];
    this.size = Math.max(...high.map((v, k) => v - low[k]));
  }

  // Which webs are there: a triangle is drawn when its part is.
  show(there) {
    const gl = this.gl, from = this.shape.solid, of = this.shape.part_of, kept = new Uint32Array(from.length);
    let n = 0;
    for (let i = 0; i < from.length; i += 3) {
      if (!there[of[from[i]]]) continue;
      kept[n++] = from[i];
      kept[n++] = from[i + 1];
      kept[n++] = from[i + 2];
    }
    this.nSolid = n;
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, this.solidBuffer);
    gl.bufferSubData(gl.ELEMENT_ARRAY_BUFFER, 0, kept, 0, n);
  }

  move(moves) {
    const gl = this.gl;
    this.moves = moves;
    gl.bindBuffer(gl.ARRAY_BUFFER, this.moveBuffer);
    gl.bufferSubData(gl.ARRAY_BUFFER, 0, moves);
  }

  colour(colours) {
    const gl = this.gl;
    gl.bindBuffer(gl.ARRAY_BUFFER, this.colourBuffer);
    gl.bufferSubData(gl.ARRAY_BUFFER, 0, colours);
  }

  // Greatest of 1, 2, 5, 10 ... that draws the largest movement within an eighth of the wing.
  suiting() {
    let most = 0;
    for (let i = 0; i < this.moves.length; i += 3) most = Math.max(most, Math.hypot(this.moves[i], this.moves[i + 1], this.moves[i + 2]));
    if (most === 0) return 1;
    const share = this.size / most;
    const down = (v) => {
      const power = 10 ** Math.floor(Math.log10(v) + 1e-9);
      return power * [5, 2, 1].find((s) => s * power <= v * (1 + 1e-9));
    };
    return share >= 8 ? down(share / 8) : Math.min(1, down(share / 2));
  }

  reset() {
    this.azimuth = AZIMUTH;
    this.elevation = ELEVATION;
    this.zoom = 1;
    this.shift = [0, 0];
  }

  draw() {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.paint();
    });
  }

  turned() {
    const a = this.azimuth, e = this.elevation;
    const towards = [-Math.cos(e) * Math.cos(a), Math.cos(e) * Math.sin(a), Math.sin(e)];
    const right = [Math.sin(a), Math.cos(a), 0];
    const up = [
      towards[1] * right[2] - towards[2] * right[1],
      towards[2] * right[0] - towards[0] * right[2],
      towards[0] * right[1] - towards[1] * right[0],
    ];
    return [right, up, towards];
  }

  paint() {
    const gl = this.gl, canvas = this.canvas, ratio = Math.min(window.devicePixelRatio || 1, 2);
    const width = Math.max(1, Math.round(canvas.clientWidth * ratio)), height = Math.max(1, Math.round(canvas.clientHeight * ratio));
    if (canvas.width !== width || canvas.height !== height) {
      canvas.width = width;
      canvas.height = height;
    }
    gl.viewport(0, 0, width, height);
    gl.clearColor(1, 1, 1, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const [right, up, towards] = this.turned();
    const [across, along] = this.extent(right, up);
    const scale = (0.92 * this.zoom) / Math.max(across[1] / width, along[1] / height);
    gl.useProgram(this.program);
    gl.uniform3f(this.at.scale, scale / width, scale / height, 0.3 / this.size);
    const shift = this.shift;
    const middle = [0, 1, 2].map((k) => right[k] * (across[0] - shift[0] * this.size) + up[k] * (along[0] - shift[1] * this.size));
    gl.uniform3f(this.at.centre, ...middle);
    // Columns of the matrix.
    gl.uniformMatrix3fv(this.at.turn, false, [right[0], up[0], towards[0], right[1], up[1], towards[1], right[2], up[2], towards[2]]);
    gl.enable(gl.DEPTH_TEST);
    const sides = this.shape.mirrored ? [1, -1] : [1];
    gl.disable(gl.BLEND);
    gl.depthMask(true);
    gl.uniform4f(this.at.plain, 0, 0, 0, 0);
    for (const side of sides) this.part(side, this.factor, this.solidBuffer, this.nSolid);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
    gl.depthMask(false);
    for (const side of sides) this.part(side, this.factor, this.clearBuffer, this.nClear);
    if (this.factor) {
      gl.uniform4f(this.at.plain, 0.5, 0.5, 0.5, 0.16);
      for (const side of sides) this.part(side, 0, this.solidBuffer, this.nSolid);
    }
    gl.depthMask(true);
  }

  // Middle and half size of what is seen, loaded and without load, along right and up; every third point will do.
  extent(right, up) {
    const points = this.points, moves = this.moves, low = [Infinity, Infinity], high = [-Infinity, -Infinity];
    for (let i = 0; i < points.length; i += 9) {
      for (const factor of [0, this.factor]) {
        const x = points[i] + factor * moves[i], y = points[i + 1] + factor * moves[i + 1], z = points[i + 2] + factor * moves[i + 2];
        for (const side of this.shape.mirrored ? [1, -1] : [1]) {
          const a = right[0] * x + right[1] * y * side + right[2] * z, b = up[0] * x + up[1] * y * side + up[2] * z;
          low[0] = Math.min(low[0], a);
          high[0] = Math.max(high[0], a);
          low[1] = Math.min(low[1], b);
          high[1] = Math.max(high[1], b);
        }
      }
    }
    return [0, 1].map((k) => [(low[k] + high[k]) / 2, (high[k] - low[k]) / 2]);
  }

  part(side, factor, buffer, n) {
    const gl = this.gl;
    gl.uniform1f(this.at.side, side);
    gl.uniform1f(this.at.factor, factor);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, buffer);
    gl.drawElements(gl.TRIANGLES, n, gl.UNSIGNED_INT, 0);
  }

  turn(dx, dy) {
    this.azimuth += dx;
    this.elevation = Math.max(-1.55, Math.min(1.55, this.elevation + dy));
    this.draw();
  }

  near(by) {
    this.zoom = Math.max(0.5, Math.min(20, this.zoom * by));
    this.draw();
  }

  handle() {
    const canvas = this.canvas, held = new Map();
    canvas.addEventListener("pointerdown", (e) => {
      canvas.setPointerCapture(e.pointerId);
      held.set(e.pointerId, [e.clientX, e.clientY]);
    });
    canvas.addEventListener("pointermove", (e) => {
      const from = held.get(e.pointerId);
      if (!from) return;
      const apart = () => {
        const [a, b] = [...held.values()];
        return Math.hypot(a[0] - b[0], a[1] - b[1]) || 1;
      };
      const before = held.size === 2 ? apart() : 0;
      held.set(e.pointerId, [e.clientX, e.clientY]);
      if (held.size === 2) this.near(apart() / before);
      else if (e.shiftKey || e.buttons === 2) {
        const size = canvas.clientWidth * this.zoom;
        this.shift = [this.shift[0] + (e.clientX - from[0]) / size, this.shift[1] - (e.clientY - from[1]) / size];
        this.draw();
      } else this.turn((e.clientX - from[0]) * 0.008, (e.clientY - from[1]) * 0.008);
    });
    for (const name of ["pointerup", "pointercancel"]) canvas.addEventListener(name, (e) => held.delete(e.pointerId));
    canvas.addEventListener("wheel", (e) => {
      e.preventDefault();
      this.near(Math.exp(-e.deltaY * 0.0012));
    }, { passive: false });
    canvas.addEventListener("contextmenu", (e) => e.preventDefault());
    canvas.addEventListener("keydown", (e) => {
      const step = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, 0.1], ArrowDown: [0, -0.1] }[e.key];
      if (step) this.turn(...step);
      else if (e.key === "+" || e.key === "=") this.near(1.2);
      else if (e.key === "-") this.near(1 / 1.2);
      else return;
      e.preventDefault();
    });
  }
}
