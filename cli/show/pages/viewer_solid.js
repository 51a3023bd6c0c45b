// A scene drawn by the graphics card, with WebGL2.

class SolidScene extends Scene {
  constructor(canvas) {
    const gl = canvas.getContext("webgl2", { antialias: true, alpha: true, preserveDrawingBuffer: true });
    if (!gl) throw new Error("no WebGL2");
    super(canvas);
    this.gl = gl;
    this.begun();
    // A graphics card that is taken away (sleep, a crashed driver) comes back empty: all is laid on it anew.
    canvas.addEventListener("webglcontextlost", (event) => {
      event.preventDefault();
      this.lost = true;
    });
    canvas.addEventListener("webglcontextrestored", () => {
      this.begun();
      this.lost = false;
      const at = this.model.modes.indexOf(this.one), twin = this.model.modes.indexOf(this.two);
      this.load(this.model, { fresh: true });
      this.show(at, twin);
      canvas.dispatchEvent(new Event("redraw"));
    });
  }

  begun() {
    const gl = this.gl;
    this.solid = programOf(gl, SOLID_VERTEX, SOLID_FRAGMENT);
    this.line = programOf(gl, LINE_VERTEX, LINE_FRAGMENT);
    this.lineArrays();
    gl.enable(gl.DEPTH_TEST);
    gl.clearColor(0, 0, 0, 0);
  }

  lineArrays() {
    const gl = this.gl;
    this.lineArray = gl.createVertexArray();
    gl.bindVertexArray(this.lineArray);
    gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array([0, -1, 0, 1, 1, -1, 1, 1]), gl.STATIC_DRAW);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 2, gl.FLOAT, false, 0, 0);
    this.lineEnds = gl.createBuffer();
    gl.bindBuffer(gl.ARRAY_BUFFER, this.lineEnds);
    for (const at of [1, 2]) {
      gl.enableVertexAttribArray(at);
      gl.vertexAttribPointer(at, 3, gl.FLOAT, false, 24, 12 * (at - 1));
      gl.vertexAttribDivisor(at, 1);
    }
    gl.bindVertexArray(null);
  }

  laid(arrays) {
    return new Body(this.gl, arrays);
  }

  begin(frame, state) {
    const gl = this.gl;
    gl.viewport(0, 0, ...frame.pixels);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    this.use(this.solid, frame);
    const { place } = this.solid;
    gl.uniform3fv(place.table, this.table);
    gl.uniform1i(place.bands, this.bands);
    gl.uniform3fv(place.partColour, state.colourBy === 1 ? this.ownColours : this.partColours);
    gl.uniform2f(place.share, 1, state.share);
    gl.uniform1f(place.together, state.together ? 1 : 0);
    gl.uniform1f(place.largest, this.largest());
  }

  onTop(frame) {
    this.gl.clear(this.gl.DEPTH_BUFFER_BIT);
    this.use(this.solid, frame);
  }

  end() { /* drawn already */ }

  // The work half seen, as one layer: first how near it is, then its colour where it is nearest.
  ghosts(frame, swing) {
    const gl = this.gl;
    this.use(this.solid, frame);
    for (const pass of ["near", "colour"]) {
      gl.colorMask(pass === "colour", pass === "colour", pass === "colour", pass === "colour");
      gl.depthFunc(pass === "colour" ? gl.LEQUAL : gl.LESS);
      if (pass === "colour") {
        gl.enable(gl.BLEND);
        gl.blendFuncSeparate(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA, gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
      }
      for (const prop of this.halfSeen()) this.body(prop, { colour: prop.colour, alpha: GHOST, swing });
    }
    gl.disable(gl.BLEND);
    gl.depthFunc(gl.LESS);
  }

  use({ program, place }, frame) {
    const gl = this.gl;
    gl.useProgram(program);
    const [r, u, t] = frame.axes;
    gl.uniformMatrix3fv(place.axes, false, [0, 1, 2].flatMap((k) => [r[k], u[k], t[k]]));
    gl.uniform3fv(place.centre, this.centre);
    gl.uniform3fv(place.scale, frame.scale);
  }

  body(body, { colourBy = 0, colour = [1, 1, 1], swing = [0, 0], shift = [0, 0, 0], map = STILL, alpha = 1 }) {
    const gl = this.gl, { place } = this.solid;
    gl.uniform3fv(place.middle, body.middle);
    gl.uniform1f(place.halfSize, body.half);
    gl.uniform3fv(place.shift, shift);
    gl.uniformMatrix3fv(place.carried, false, map);
    gl.uniform1f(place.alpha, alpha);
    gl.uniform2fv(place.swing, swing);
    gl.uniform2f(place.full, this.one.full, this.two.full);
    gl.uniform1i(place.colourBy, colourBy);
    gl.uniform3fv(place.oneColour, colour);
    gl.bindVertexArray(body.array);
    gl.drawElements(gl.TRIANGLES, body.count, gl.UNSIGNED_SHORT, 0);
  }

  lines(frame, values, tint, width) {
    const gl = this.gl, { place } = this.line;
    this.use(this.line, frame);
    gl.uniform2fv(place.pixels, frame.pixels);
    gl.uniform1f(place.width, 2 * width * frame.ratio);
    gl.uniform4fv(place.tint, tint);
    gl.bindVertexArray(this.lineArray);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.lineEnds);
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.DYNAMIC_DRAW);
    gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 4, values.length / 6);
  }
}
