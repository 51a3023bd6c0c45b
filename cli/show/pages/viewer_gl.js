// What draws one held bar with WebGL2: triangles that move in the vertex shader, thick lines.

const SOLID_VERTEX = `#version 300 es
layout(location = 0) in vec3 position;
layout(location = 1) in vec3 normal;
layout(location = 2) in vec3 shapeOne;
layout(location = 3) in vec3 shapeTwo;
layout(location = 4) in float part;
layout(location = 5) in float energy;
uniform vec3 middle, centre, shift;
uniform mat3 carried;
uniform float halfSize, largest, together;
uniform vec2 full, swing, share;
uniform mat3 axes;
uniform vec3 scale;
out vec3 facing;
out float moved, dense;
flat out int which;
void main() {
  vec3 one = full.x * shapeOne, two = full.y * shapeTwo;
  vec3 place = carried * (middle + halfSize * position) + swing.x * one + swing.y * two + shift;
  vec3 seen = axes * (place - centre);
  gl_Position = vec4(seen.xy * scale.xy, -seen.z * scale.z, 1.0);
  facing = axes * normal;
  // The greatest movement in a cycle: both in step add up, a quarter turn apart they do not.
  float apart = sqrt(dot(one, one) * share.x * share.x + dot(two, two) * share.y * share.y);
  moved = mix(apart, length(share.x * one + share.y * two), together) / largest;
  dense = energy;
  which = int(part + 0.5);
}`;

const SOLID_FRAGMENT = `#version 300 es
precision highp float;
in vec3 facing;
in float moved, dense;
flat in int which;
uniform vec3 table[16];
uniform vec3 partColour[8];
uniform vec3 oneColour;
uniform int colourBy, bands;
uniform float alpha;
out vec4 colour;
void main() {
  vec3 base = oneColour;
  float last = float(bands) - 1.0;
  vec3 own = partColour[min(which, 7)];
  if (colourBy == 1) base = own.r >= 0.0 ? own : table[int(clamp(moved * float(bands), 0.0, last))];
  if (colourBy == 2) base = partColour[min(which, 7)];
  if (colourBy == 3) base = table[int(clamp(dense * float(bands), 0.0, last))];
  vec3 n = normalize(gl_FrontFacing ? facing : -facing);
  float light = (colourBy == 0 ? 0.68 : 0.80) + (colourBy == 0 ? 0.36 : 0.24) * max(dot(n, normalize(vec3(-0.15, 0.5, 0.85))), 0.0);
  light *= 1.0 - 0.22 * pow(1.0 - clamp(n.z, 0.0, 1.0), 3.0);
  colour = vec4(base * light, alpha);
}`;

const LINE_VERTEX = `#version 300 es
layout(location = 0) in vec2 corner;
layout(location = 1) in vec3 start;
layout(location = 2) in vec3 end;
uniform vec3 centre, scale;
uniform mat3 axes;
uniform vec2 pixels;
uniform float width;
void main() {
  vec3 one = (axes * (start - centre)) * vec3(scale.xy, -scale.z);
  vec3 two = (axes * (end - centre)) * vec3(scale.xy, -scale.z);
  vec2 along = (two.xy - one.xy) * pixels;
  float size = length(along);
  vec2 across = size > 1e-6 ? vec2(-along.y, along.x) / size : vec2(0.0);
  vec3 at = mix(one, two, corner.x);
  // A hair nearer to the viewer, or the surface would swallow half of every line.
  gl_Position = vec4(at.xy + across * corner.y * width / pixels, at.z - 0.006, 1.0);
}`;

const LINE_FRAGMENT = `#version 300 es
precision highp float;
uniform vec4 tint;
out vec4 colour;
void main() { colour = tint; }`;

function programOf(gl, vertex, fragment) {
  const program = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader));
    gl.attachShader(program, shader);
  }
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(program));
  const place = {};
  for (let at = 0; at < gl.getProgramParameter(program, gl.ACTIVE_UNIFORMS); at++) {
    const name = gl.getActiveUniform(program, at).name.replace("[0]", "");
    place[name] = gl.getUniformLocation(program, name);
  }
  return { program, place };
}

// A body on the graphics card: static arrays, and for a bar the shapes of the modes shown.
class Body {
  constructor(gl, { middle, half, position, normal, triangles, part, floats }) {
    this.gl = gl;
    this.middle = middle;
    this.half = half;
    this.count = triangles.length;
    this.array = gl.createVertexArray();
    this.buffers = [];
    gl.bindVertexArray(this.array);
    this.attach(0, position, 3, floats ? gl.FLOAT : gl.SHORT);
    this.attach(1, normal, 3, floats ? gl.FLOAT : gl.BYTE);
    if (part) this.attach(4, part, 1, gl.UNSIGNED_BYTE, false);
    const index = gl.createBuffer();
    this.buffers.push(index);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, index);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, triangles, gl.STATIC_DRAW);
    gl.bindVertexArray(null);
  }

  attach(at, values, size, kind, normalised = true) {
    const gl = this.gl, buffer = gl.createBuffer();
    this.buffers.push(buffer);
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
    gl.enableVertexAttribArray(at);
    gl.vertexAttribPointer(at, size, kind, kind !== gl.FLOAT && normalised, 0, 0);
    return buffer;
  }

  shapes(one, two, energy) {
    const gl = this.gl;
    for (const buffer of this.moving ?? []) gl.deleteBuffer(buffer);
    gl.bindVertexArray(this.array);
    this.moving = [this.attach(2, one, 3, gl.SHORT), this.attach(3, two, 3, gl.SHORT),
      this.attach(5, energy, 1, gl.UNSIGNED_BYTE)];
    this.buffers = this.buffers.filter((buffer) => !this.moving.includes(buffer));
    gl.bindVertexArray(null);
  }

  free() {
    for (const buffer of [...this.buffers, ...(this.moving ?? [])]) this.gl.deleteBuffer(buffer);
    this.gl.deleteVertexArray(this.array);
  }
}
