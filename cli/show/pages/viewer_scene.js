// One model on one canvas: what is drawn at an instant, and where the camera stands. How bodies and lines come
// onto the canvas is left to SolidScene (WebGL2) and FlatScene (without).

// For a viewer on the -y side; one on the +y side, where a boring cutter points, sees them mirrored.
const VIEWS = { corner: [26, 21], side: [0, 0], above: [0, 90], end: [90, 0] };
const INK = [0.12, 0.145, 0.19, 1], REST = [0.45, 0.48, 0.53, 1];
const HOLDER = "#c2cad6", GHOST = 0.5, STILL = [1, 0, 0, 0, 1, 0, 0, 0, 1];
const HALF_SEEN = ["ghost", "whole"];

class Scene {
  constructor(canvas) {
    this.canvas = canvas;
    [this.azimuth, this.elevation] = VIEWS.corner;
    this.zoom = 1;
  }

  load(model, { fresh = false } = {}) {
    if (!fresh) for (const body of [this.bar, this.arrow, ...(this.props ?? [])]) body?.free();
    const position = int16Of(model.position), triangles = uint16Of(model.triangles);
    this.model = model;
    this.bar = this.laid({ middle: model.middle, half: model.half, position, triangles,
      normal: int8Of(model.normal), part: bytesOf(model.part) });
    this.props = model.props.map((one) => {
      const body = this.laid({ middle: one.middle, half: one.half, position: int16Of(one.position),
        normal: int8Of(one.normal), triangles: uint16Of(one.triangles) });
      const place = (values) => Float32Array.from(values, (at, k) => one.middle[k % 3] + (one.half * at) / 32767);
      if (one.shape) body.shapes(int16Of(one.shape), int16Of(one.shape_two), new Uint8Array(one.position.length));
      return Object.assign(body, { kind: one.kind, colour: colourOf(one.colour),
        corners: place(int16Of(one.position)), edges: place(int16Of(one.lines)) });
    });
    this.points = Float32Array.from(position, (one, at) => model.middle[at % 3] + (model.half * one) / 32767);
    this.normals = int8Of(model.normal);
    this.sharp = uint16Of(model.lines);
    this.sides = smoothSides(triangles);
    const across = 0.002 * Math.max(...model.outline.flat().map(([y, z]) => Math.hypot(y, z)));
    this.reach = Math.min(Math.max(1.9 * across, 0.25 * model.edge[0]), Math.max(0.5 * model.edge[0], across));
    this.force = colourOf(model.force_colour);
    this.arrow = this.laid(arrowShape(model.force, this.reach));
    this.table = new Float32Array(model.table.flatMap(colourOf));
    this.bands = model.table.length;
    this.partColours = new Float32Array(partColours(model).flatMap(colourOf));
    // Where the colour shows movement, only the bar takes it: other metals keep their own.
    this.ownColours = new Float32Array(Array.from({ length: 8 }, (_, at) => {
      const part = model.parts[at];
      const own = part && (part.name === "holder" ? HOLDER : part.colour);
      return own ? colourOf(own) : [-1, -1, -1];
    }).flat());
    this.far = Math.max(model.half, ...model.props.map((one) => one.half + Math.hypot(...one.middle)));
    this.seenFrom = null;
  }

  show(one, two) {
    const modes = this.model.modes;
    this.one = modes[one];
    this.two = modes[two ?? one];
    this.shapeOne = int16Of(this.one.shape);
    this.shapeTwo = int16Of(this.two.shape);
    this.bar.shapes(this.shapeOne, this.shapeTwo,
      this.one.energy === null ? new Uint8Array(this.points.length / 3) : bytesOf(this.one.energy));
  }

  // A part is shown whole, in its holding, where it moves with the tool; else it ends beside the cut.
  seen(kind) {
    return !HALF_SEEN.includes(kind) || kind === (this.one?.together ? "whole" : "ghost");
  }

  // The box that holds everything that may be drawn, as its eight corners.
  corners() {
    const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
    const take = (point, by = 0) => point.forEach((one, k) => {
      low[k] = Math.min(low[k], one - by);
      high[k] = Math.max(high[k], one + by);
    });
    for (let at = 0; at < this.points.length; at += 3) {
      const [x, y, z] = this.points.slice(at, at + 3);
      take([Math.max(x, -0.6 * this.model.edge[0]), y, z]);
    }
    const out = [];
    const box = (a, b) => [0, 1, 2, 3, 4, 5, 6, 7].map((at) => a.map((_, k) => ((at >> k) & 1 ? b : a)[k]));
    out.push(...box(low, high));
    const { near, edge } = this.model;
    for (const { corners, kind } of this.props) {
      if (!this.seen(kind)) continue;
      const kept = kind === "ghost" ? (one, k) => Math.max(edge[k] - near, Math.min(edge[k] + near, one)) : (one) => one;
      for (let at = 0; at < corners.length; at += 3) {
        // A long holder may run out of the picture.
        const corner = [Math.max(corners[at], -0.6 * edge[0]), corners[at + 1], corners[at + 2]];
        out.push(corner.map(kept));
      }
    }
    const tip = this.model.edge, swing = this.one ? this.largest() : 0;
    out.push(tip.map((one, k) => one - this.reach * this.model.force[k]));
    for (const by of [-swing, swing]) for (const k of [1, 2]) out.push(tip.map((one, j) => one + (j === k ? by : 0)));
    return out;
  }

  largest() {
    return this.one.swing * this.one.magnification;
  }

  fit() {
    const [right, up] = cameraAxes(this.azimuth, this.elevation);
    const points = this.corners();
    const across = points.map((one) => dot(right, one)), above = points.map((one) => dot(up, one));
    const middle = (values) => (Math.min(...values) + Math.max(...values)) / 2;
    const spread = (values) => Math.max(...values) - Math.min(...values);
    const { clientWidth: width, clientHeight: height } = this.canvas;
    this.perMetre = Math.min((width - 40) / spread(across), Math.max(height - 92, 60) / spread(above));
    // A little lower than the middle: the buttons stand at the top.
    const raised = middle(above) + 20 / this.perMetre;
    this.centre = [0, 1, 2].map((k) => middle(across) * right[k] + raised * up[k]);
    this.zoom = 1;
  }

  look(name) {
    const [azimuth, elevation] = VIEWS[name];
    this.azimuth = this.model.side > 0 ? 180 - azimuth : azimuth;
    this.elevation = elevation;
    this.fit();
  }

  turn(right, up) {
    const before = cameraAxes(this.azimuth, this.elevation);
    this.azimuth += right;
    this.elevation = Math.max(-90, Math.min(90, this.elevation + up));
    // Turn about the middle of the bar, not about the origin.
    const axes = cameraAxes(this.azimuth, this.elevation), pivot = this.model.middle;
    const off = pivot.map((one, k) => one - this.centre[k]);
    const [x, y] = [dot(before[0], off), dot(before[1], off)];
    this.centre = pivot.map((one, k) => one - x * axes[0][k] - y * axes[1][k]);
  }

  frame() {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    const ratio = Math.min(window.devicePixelRatio || 1, 2);
    const [wide, high] = [Math.round(width * ratio), Math.round(height * ratio)];
    if (this.canvas.width !== wide || this.canvas.height !== high) {
      this.canvas.width = wide;
      this.canvas.height = high;
    }
    const by = this.perMetre * this.zoom;
    const deep = 1 / (4 * (this.far + Math.abs(this.model.edge[0])));
    return { ratio, axes: cameraAxes(this.azimuth, this.elevation), pixels: [wide, high],
      scale: [(2 * by) / width, (2 * by) / height, deep] };
  }

  place(point) {
    const axes = cameraAxes(this.azimuth, this.elevation), by = this.perMetre * this.zoom;
    const off = point.map((one, k) => one - this.centre[k]);
    return [this.canvas.clientWidth / 2 + by * dot(axes[0], off),
      this.canvas.clientHeight / 2 - by * dot(axes[1], off)];
  }

  draw(state) {
    if (this.lost) return;
    const frame = this.frame(), swing = [state.swing[0], state.swing[1]];
    this.begin(frame, state);
    this.body(this.bar, { colourBy: state.colourBy, swing });
    const ride = this.rideAt(swing);
    for (const prop of this.props) {
      if (!HALF_SEEN.includes(prop.kind)) this.body(prop, { colour: prop.colour, ...(prop.kind === "rides" ? ride : {}) });
    }
    if (this.seenFrom !== `${this.azimuth} ${this.elevation}`) this.outline(frame.axes);
    if (state.rest) this.lines(frame, this.barLines([0, 0]), REST, 1.1);
    this.lines(frame, this.barLines(swing), INK, 0.8);
    for (const prop of this.props) {
      if (prop.edges.length) this.lines(frame, prop.kind === "rides" ? carried(prop.edges, ride) : prop.edges, INK, 0.6);
    }
    if (state.work) this.ghosts(frame, this.one.together ? swing : [0, 0]);
    if (state.force) {
      this.onTop(frame);
      this.body(this.arrow, { colour: this.force, shift: this.edgeAt(swing) });
    }
    this.end();
  }

  // The bodies that are half seen.
  halfSeen() {
    return this.props.filter((one) => HALF_SEEN.includes(one.kind) && this.seen(one.kind));
  }

  // How a part moves that rides rigidly on the end face: a matrix by columns, and a shift.
  rideAt([one, two]) {
    const sum = (name) => [0, 1, 2].map((k) => one * this.one.ride[name][k] + two * this.two.ride[name][k]);
    const [a, b, c] = sum("turn");
    return { map: [1, c, -b, -c, 1, a, b, -a, 1], shift: sum("shift") };
  }

  edgeAt([one, two]) {
    return this.model.edge.map((at, k) => at + one * this.one.edge[k] + two * this.two.edge[k]);
  }

  // Sharp edges, and smooth ones between a triangle that faces the viewer and one that does not.
  outline([, , toward]) {
    const facing = (vertex) => {
      const at = 3 * vertex;
      return this.normals[at] * toward[0] + this.normals[at + 1] * toward[1] + this.normals[at + 2] * toward[2];
    };
    const ends = [...this.sharp];
    for (const [a, b, left, right] of this.sides) {
      const one = facing(a) + facing(b) + facing(left), two = facing(a) + facing(b) + facing(right);
      if (one > 0 !== two > 0) ends.push(a, b);
    }
    this.ends = ends;
    this.seenFrom = `${this.azimuth} ${this.elevation}`;
  }

  barLines(swing) {
    const values = new Float32Array(3 * this.ends.length);
    const [a, b] = [(swing[0] * this.one.full) / 32767, (swing[1] * this.two.full) / 32767];
    this.ends.forEach((vertex, at) => {
      for (let k = 0; k < 3; k++) {
        const from = 3 * vertex + k;
        values[3 * at + k] = this.points[from] + a * this.shapeOne[from] + b * this.shapeTwo[from];
      }
    });
    return values;
  }

}

// Points (x, y, z after one another) under a matrix by columns and a shift.
function carried(points, { map, shift }) {
  return points.map((_, at) => {
    const from = at - (at % 3), k = at % 3;
    return map[k] * points[from] + map[3 + k] * points[from + 1] + map[6 + k] * points[from + 2] + shift[k];
  });
}

// Sides that two triangles share: both ends, and the third corner of either triangle.
function smoothSides(triangles) {
  const seen = new Map(), out = [];
  for (let at = 0; at < triangles.length; at += 3) {
    for (let k = 0; k < 3; k++) {
      const [a, b, c] = [0, 1, 2].map((step) => triangles[at + ((k + step) % 3)]);
      const key = Math.min(a, b) * 65536 + Math.max(a, b);
      if (seen.has(key)) out.push([a, b, seen.get(key), c]);
      else seen.set(key, c);
    }
  }
  return out;
}

// One colour of the table for each part, as far apart as the number of parts allows.
function partColours(model) {
  const last = model.table.length - 1, n = Math.max(model.parts.length - 1, 1);
  const out = model.parts.map((_, at) => model.table[Math.round(1 + ((last - 1) * at) / n)]);
  return [...out, ...Array(8).fill(HOLDER)].slice(0, 8);
}
