// Numbers as they come packed, vectors, the camera, and the arrow of the force.
// Lengths are metres in the bar frame: x along the bar, y to the right seen from its free end, z up.

function bytesOf(text) {
  const raw = atob(text), bytes = new Uint8Array(raw.length);
  for (let at = 0; at < raw.length; at++) bytes[at] = raw.charCodeAt(at);
  return bytes;
}

const int16Of = (text) => new Int16Array(bytesOf(text).buffer);
const int8Of = (text) => new Int8Array(bytesOf(text).buffer);
const uint16Of = (text) => new Uint16Array(bytesOf(text).buffer);

function colourOf(hex) {
  return [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16) / 255);
}

// An arrow with its head on the origin, pointing along `way`: a profile turned about its axis.
function arrowShape(way, length) {
  const thin = 0.035 * length, head = 5 * thin, sides = 20;
  const profile = [[-length, 0], [-length, thin], [-head, thin], [-head, 2.4 * thin], [0, 0]];
  const least = way.map(Math.abs).indexOf(Math.min(...way.map(Math.abs)));
  const start = [0, 0, 0];
  start[least] = 1;
  const one = unit(cross(way, start)), two = cross(way, one);
  const position = [], normal = [], triangles = [];
  for (let ring = 0; ring + 1 < profile.length; ring++) {
    const [[x0, r0], [x1, r1]] = [profile[ring], profile[ring + 1]];
    const lean = unit([r0 - r1, x1 - x0, 0]);
    for (let side = 0; side <= sides; side++) {
      const c = Math.cos((2 * Math.PI * side) / sides), s = Math.sin((2 * Math.PI * side) / sides);
      for (const [x, r] of [[x0, r0], [x1, r1]]) {
        for (let k = 0; k < 3; k++) {
          const ray = c * one[k] + s * two[k];
          position.push(x * way[k] + r * ray);
          normal.push(lean[0] * way[k] + lean[1] * ray);
        }
      }
      if (side === sides) continue;
      const base = 2 * (ring * (sides + 1) + side);
      triangles.push(base, base + 2, base + 1, base + 2, base + 3, base + 1);
    }
  }
  return { middle: [0, 0, 0], half: 1, floats: true, position: new Float32Array(position),
    normal: new Float32Array(normal), triangles: new Uint16Array(triangles) };
}

const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

function unit(a) {
  const size = Math.hypot(...a) || 1;
  return a.map((one) => one / size);
}

// Rows: to the right, up, toward the viewer; angles in degrees as the program's still pictures count them.
function cameraAxes(azimuth, elevation) {
  const a = (azimuth * Math.PI) / 180, e = (elevation * Math.PI) / 180;
  const right = [Math.cos(a), Math.sin(a), 0];
  const toward = [Math.cos(e) * Math.sin(a), -Math.cos(e) * Math.cos(a), Math.sin(e)];
  return [right, cross(toward, right), toward];
}
