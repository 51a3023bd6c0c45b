// A scene drawn without WebGL2: the same bodies and lines, each pixel kept by what lies nearest at it.

const LIGHT = unit([-0.15, 0.5, 0.85]), HAIR = 0.006;

class FlatScene extends Scene {
  constructor(canvas) {
    const paper = canvas.getContext("2d");
    if (!paper) throw new Error("no canvas");
    super(canvas);
    this.paper = paper;
  }

  // Bodies stay plain arrays; shapes and energy come with the mode that is shown.
  laid({ middle, half, position, normal, triangles, part, floats }) {
    const one = { middle, half, position, normal, triangles, part, unit: floats ? 1 : 32767, steep: floats ? 1 : 127 };
    return Object.assign(one, {
      free() { /* nothing is held elsewhere */ },
      shapes(first, second, energy) { Object.assign(one, { first, second, energy }); },
    });
  }

  begin(frame, state) {
    const [wide, high] = frame.pixels;
    if (this.image?.width !== wide || this.image.height !== high) {
      this.image = this.paper.createImageData(wide, high);
      this.seen32 = new Uint32Array(this.image.data.buffer);
      this.half32 = new Uint32Array(wide * high);
      this.depth = new Float32Array(wide * high);
      this.halfDepth = new Float32Array(wide * high);
    }
    this.seen32.fill(0);
    this.depth.fill(-Infinity);
    Object.assign(this, { current: frame, state });
  }

  onTop() {
    this.depth.fill(-Infinity);
  }

  end() {
    this.paper.putImageData(this.image, 0, 0);
  }

  // Pixel positions and depth (1 toward the viewer) of points given as x, y, z after one another.
  flattened(points) {
    const { axes: [r, u, t], pixels: [wide, high], scale } = this.current, c = this.centre;
    const out = new Float32Array(points.length);
    for (let at = 0; at < points.length; at += 3) {
      const x = points[at] - c[0], y = points[at + 1] - c[1], z = points[at + 2] - c[2];
      out[at] = (1 + (r[0] * x + r[1] * y + r[2] * z) * scale[0]) * wide / 2;
      out[at + 1] = (1 - (u[0] * x + u[1] * y + u[2] * z) * scale[1]) * high / 2;
      out[at + 2] = (t[0] * x + t[1] * y + t[2] * z) * scale[2];
    }
    return out;
  }

  body(body, { colourBy = 0, colour = [1, 1, 1], swing = [0, 0], shift = [0, 0, 0], map = STILL, half = false }) {
    const { position, triangles, middle } = body, by = body.half / body.unit;
    const points = Float32Array.from(position, (one, at) => middle[at % 3] + by * one);
    const carriedOff = map === STILL && shift.every((one) => one === 0) ? points : carried(points, { map, shift });
    if (body.first) this.swung(carriedOff, body, swing);
    const place = this.flattened(carriedOff), light = this.lights(body, colourBy);
    const tone = colourBy === 3 ? Float32Array.from(body.energy, (one) => one / 255) : this.moved(body);
    for (let at = 0; at < triangles.length; at += 3) {
      const corners = [triangles[at], triangles[at + 1], triangles[at + 2]];
      this.fill(corners, { place, tone, light }, this.paints(body, colourBy, colour, corners[0]), half);
    }
  }

  // Adds to points where the mode, or both of a pair, have carried them.
  swung(points, body, swing) {
    const [a, b] = [(swing[0] * this.one.full) / 32767, (swing[1] * this.two.full) / 32767];
    for (let at = 0; at < points.length; at++) points[at] += a * body.first[at] + b * body.second[at];
  }

  // The greatest movement of each vertex in a cycle, over the largest that is drawn.
  moved(body) {
    const tone = new Float32Array(body.position.length / 3);
    if (!body.first) return tone;
    const { share, together } = this.state, [a, b] = [this.one.full / 32767, (share * this.two.full) / 32767];
    for (let at = 0; at < body.first.length; at++) {
      const one = a * body.first[at], two = b * body.second[at];
      tone[Math.floor(at / 3)] += together ? (one + two) ** 2 : one ** 2 + two ** 2;
    }
    return tone.map((one) => Math.sqrt(one) / this.largest());
  }

  // How light each vertex is, for light from above at the viewer's left.
  lights(body, colourBy) {
    const [r, u, t] = this.current.axes, { normal, steep } = body, out = new Float32Array(normal.length / 3);
    const [least, more] = colourBy === 0 ? [0.68, 0.36] : [0.8, 0.24];
    for (let at = 0; at < normal.length; at += 3) {
      const [x, y, z] = [normal[at] / steep, normal[at + 1] / steep, normal[at + 2] / steep];
      const toward = t[0] * x + t[1] * y + t[2] * z, way = toward < 0 ? -1 : 1;
      const right = r[0] * x + r[1] * y + r[2] * z, up = u[0] * x + u[1] * y + u[2] * z;
      const shine = way * (LIGHT[0] * right + LIGHT[1] * up + LIGHT[2] * toward);
      out[at / 3] = (least + more * Math.max(shine, 0)) * (1 - 0.22 * (1 - Math.min(way * toward, 1)) ** 3);
    }
    return out;
  }

  // The colours that the tone of a triangle picks from: one, or the table.
  paints(body, colourBy, colour, vertex) {
    if (colourBy === 0) return [colour];
    const part = 3 * Math.min(body.part[vertex], 7);
    const own = (colourBy === 1 ? this.ownColours : this.partColours).subarray(part, part + 3);
    if (colourBy === 2 || (colourBy === 1 && own[0] >= 0)) return [own];
    this.shades ??= Array.from({ length: this.bands }, (_, at) => this.table.subarray(3 * at, 3 * at + 3));
    return this.shades;
  }

  // One triangle, row by row, through the depth, tone and light at its three corners.
  fill([i, j, k], { place, tone, light }, paints, half) {
    const [wide, high] = this.current.pixels;
    const depth = half ? this.halfDepth : this.depth, target = half ? this.half32 : this.seen32;
    const x = [place[3 * i], place[3 * j], place[3 * k]], y = [place[3 * i + 1], place[3 * j + 1], place[3 * k + 1]];
    const [ax, bx, ay, by] = [x[1] - x[0], x[2] - x[0], y[1] - y[0], y[2] - y[0]], area = ax * by - bx * ay;
    if (Math.abs(area) < 1e-6) return;
    const across = (a, b, c) => ((b - a) * by - (c - a) * ay) / area, down = (a, b, c) => ((c - a) * ax - (b - a) * bx) / area;
    const near = [place[3 * i + 2], place[3 * j + 2], place[3 * k + 2]];
    const nearX = across(...near), nearY = down(...near);
    const toneX = across(tone[i], tone[j], tone[k]), toneY = down(tone[i], tone[j], tone[k]);
    const lightX = across(light[i], light[j], light[k]), lightY = down(light[i], light[j], light[k]);
    const bands = paints.length, top = Math.max(0, Math.ceil(Math.min(...y) - 0.5));
    const bottom = Math.min(high, Math.ceil(Math.max(...y) - 0.5));
    for (let row = top; row < bottom; row++) {
      let left = wide, right = 0;
      for (let from = 0; from < 3; from++) {
        const to = (from + 1) % 3, level = row + 0.5;
        if ((y[from] <= level) === (y[to] <= level)) continue;
        const cut = x[from] + ((x[to] - x[from]) * (level - y[from])) / (y[to] - y[from]);
        if (cut < left) left = cut;
        if (cut > right) right = cut;
      }
      const first = Math.max(0, Math.ceil(left - 0.5)), last = Math.min(wide, Math.ceil(right - 0.5));
      const off = first + 0.5 - x[0], below = row + 0.5 - y[0];
      let z = near[0] + off * nearX + below * nearY, t = tone[i] + off * toneX + below * toneY;
      let shine = 255 * (light[i] + off * lightX + below * lightY);
      for (let at = row * wide + first; at < row * wide + last; at++) {
        if (z > depth[at]) {
          depth[at] = z;
          const paint = paints[Math.max(0, Math.min(bands - 1, Math.floor(t * bands)))];
          target[at] = 0xff000000 | (Math.min(255, paint[2] * shine) << 16) | (Math.min(255, paint[1] * shine) << 8)
            | Math.min(255, paint[0] * shine);
        }
        z += nearX;
        t += toneX;
        shine += 255 * lightX;
      }
    }
  }

  // The half-seen bodies as one layer: the nearest of them over what is drawn already.
  ghosts(frame, swing) {
    if (!this.halfSeen().length) return;
    this.halfDepth.set(this.depth);
    this.half32.fill(0);
    for (const prop of this.halfSeen()) this.body(prop, { colour: prop.colour, swing, half: true });
    for (let at = 0; at < this.half32.length; at++) if (this.half32[at]) this.blend(at, this.half32[at], GHOST);
  }

  blend(at, over, share) {
    const under = this.seen32[at];
    if (under === 0) {
      this.seen32[at] = (over & 0xffffff) | (Math.round(255 * share) << 24);
      return;
    }
    const mixed = (bits) => Math.round(((under >>> bits) & 255) * (1 - share) + ((over >>> bits) & 255) * share) << bits;
    const full = 255 - (1 - share) * (255 - (under >>> 24));
    this.seen32[at] = mixed(0) | mixed(8) | mixed(16) | (Math.round(full) << 24);
  }

  // Lines between pairs of points; soft at their rims, and hidden where a body is nearer.
  lines(frame, values, tint, width) {
    const place = this.flattened(values), [wide, high] = frame.pixels, broad = width * frame.ratio;
    const ink = tint.slice(0, 3).reduce((all, one, k) => all | (Math.round(255 * one) << (8 * k)), 0xff000000) >>> 0;
    for (let at = 0; at < place.length; at += 6) {
      const [x, y, z, toX, toY, toZ] = place.subarray(at, at + 6), steep = Math.abs(toY - y) > Math.abs(toX - x);
      const [from, to] = steep ? [y, toY] : [x, toX], long = to - from;
      if (long === 0) continue;
      // Measured across the line, not along the row or column that is stepped through.
      const lean = Math.abs(long) / Math.hypot(toX - x, toY - y);
      const last = Math.min(Math.max(from, to), steep ? high : wide);
      for (let step = Math.max(0, Math.ceil(Math.min(from, to) - 0.5)); step + 0.5 <= last + 0.5 && step < (steep ? high : wide); step++) {
        const share = Math.max(0, Math.min(1, (step + 0.5 - from) / long));
        const across = steep ? x + share * (toX - x) : y + share * (toY - y), near = z + share * (toZ - z) + HAIR;
        for (let side = Math.floor(across - broad - 1); side <= across + broad + 1; side++) {
          const cover = Math.min(1, broad + 0.5 - Math.abs(side + 0.5 - across) * lean);
          if (cover <= 0 || side < 0 || side >= (steep ? wide : high)) continue;
          const pixel = steep ? step * wide + side : side * wide + step;
          if (near > this.depth[pixel]) this.blend(pixel, ink, cover);
        }
      }
    }
  }
}
