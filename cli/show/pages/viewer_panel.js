// The panel round the picture: modes, movement, colours, path of the edge, keys, touch.

const PERIOD_S = 2;
const COLOUR_WORDS = { 1: "Movement", 2: "Parts", 3: "Energy for its volume" };
const byId = (name) => document.getElementById(name);

// Two digits in plain writing, thousands parted by a narrow space.
function twoDigits(value) {
  const digits = Math.max(0, 1 - Math.floor(Math.log10(value)));
  const kept = Number(value.toPrecision(2));
  return digits > 0 ? kept.toFixed(digits) : String(kept).replace(/\B(?=(\d{3})+$)/g, "\u202f");
}

// The picture by the graphics card, else one without it; null where the browser has neither.
function sceneOn(canvas) {
  for (const Kind of [SolidScene, FlatScene]) {
    try {
      return new Kind(canvas);
    } catch (trouble) {
      console.info(`${Kind.name}: ${trouble.message}`);
    }
  }
  return null;
}

class Viewer {
  constructor() {
    const calm = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
    this.state = { swing: [1, 0], share: 0, together: false, colourBy: 1, rest: true, force: true, work: true };
    this.mode = null;
    this.phase = 0;
    this.size = 1;
    this.speed = 1;
    this.playing = !calm;
    this.calm = calm;
    this.held = null;
    this.scene = sceneOn(byId("solid"));
    byId("unmoved").hidden = this.scene !== null;
    byId("window").hidden = this.scene === null;
    byId("flat-note").hidden = !(this.scene instanceof FlatScene);
    byId("still-note").hidden = !calm;
    if (window.matchMedia("(min-width: 821px)").matches) {
      for (const fold of document.querySelectorAll("details.fold")) fold.open = true;
    }
    this.listen();
    this.tellPlaying();
  }

  load(model, { keep = false } = {}) {
    const before = this.mode;
    this.model = model;
    if (byId("sentence")) byId("sentence").textContent = model.sentence;
    document.querySelector("#signs .force-sign").textContent = model.forced ? "cutting force" : "force";
    this.scene?.load(model);
    byId("work-mark").hidden = !model.props.some((one) => one.kind === "ghost");
    this.modeButtons();
    const kept = keep && before !== null && before < model.modes.length;
    this.choose(kept ? before : model.aligned, { keep: kept });
    if (this.scene && !(keep && this.scene.centre)) this.look("corner");
    if (!this.running) this.run();
  }

  modeButtons() {
    byId("modes").replaceChildren(...this.model.modes.flatMap((mode, at) => {
      if (mode.hidden) return [];
      const button = document.createElement("button");
      button.type = "button";
      button.className = "mode";
      const cell = (name, text) => {
        const span = document.createElement("span");
        span.className = name;
        span.textContent = text;
        button.append(span);
      };
      cell("number", mode.number);
      cell("hertz", mode.heading);
      cell("way", mode.kind === "torsion" ? "twisting" : `${mode.kind}, ${mode.way}`);
      if (at === this.model.aligned) cell("mark", this.model.forced ? "along the cutting force" : "along the force");
      button.addEventListener("click", () => this.choose(at));
      return button;
    }));
  }

  choose(at, { keep = false } = {}) {
    const mode = this.model.modes[at], wasTogether = this.model.modes[this.mode]?.together;
    if (!mode || mode.hidden) return;
    this.mode = at;
    [...byId("modes").children].forEach((one, k) => one.setAttribute("aria-pressed", String(k === at)));
    const said = byId("mode-words");
    if (said.textContent !== mode.words) said.textContent = mode.words;
    byId("pair").hidden = mode.twin === null || Boolean(mode.together);
    if (mode.twin === null || !keep || mode.together || wasTogether) {
      this.state.share = 0;
      byId("twin").value = 0;
    }
    // Tool and part keep their own phase: the two halves of their motion are a quarter turn apart.
    this.state.together = !mode.together && byId("together").checked;
    if (mode.together) this.state.share = 1;
    if (mode.twin !== null) byId("twin-name").textContent = `Its twin, mode ${mode.twin + 1},`;
    this.scene?.show(at, mode.twin);
    if (this.scene?.centre && Boolean(mode.together) !== Boolean(wasTogether)) this.scene.fit();
    byId("solid").setAttribute("aria-label", `The bar moving in mode ${mode.number}, ${mode.heading}, ${mode.way}`);
    this.tellSize();
    this.drawPath();
    this.dirty = true;
  }

  listen() {
    byId("play").addEventListener("click", () => this.play(!this.playing));
    byId("size").addEventListener("input", (event) => this.set("size", event.target.value / 100));
    byId("speed").addEventListener("input", (event) => this.set("speed", event.target.value / 100));
    byId("twin").addEventListener("input", (event) => this.mark("share", event.target.value / 100));
    for (const name of ["together", "rest", "force", "work"]) {
      byId(name).addEventListener("change", (event) => this.mark(name, event.target.checked));
    }
    for (const radio of document.querySelectorAll('input[name="colour"]')) {
      radio.addEventListener("change", () => this.mark("colourBy", Number(radio.value)));
    }
    for (const button of document.querySelectorAll("#views button")) {
      button.addEventListener("click", () => this.look(button.dataset.view));
    }
    document.addEventListener("keydown", (event) => this.key(event));
    if (this.scene) this.listenToTouch(byId("solid"));
    byId("solid").addEventListener("redraw", () => { this.dirty = true; });
    new ResizeObserver(() => {
      if (this.scene?.centre) this.scene.fit();
      this.dirty = true;
    }).observe(byId("solid"));
  }

  listenToTouch(canvas) {
    const fingers = new Map();
    let apart = 0, held = null;
    const lift = (event) => { fingers.delete(event.pointerId); apart = 0; };
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      fingers.set(event.pointerId, [event.clientX, event.clientY]);
      const scene = this.scene;
      held = scene && { azimuth: scene.azimuth, elevation: scene.elevation, centre: [...scene.centre] };
    });
    canvas.addEventListener("pointermove", (event) => {
      const before = fingers.get(event.pointerId);
      if (!before) return;
      const now = [event.clientX, event.clientY];
      fingers.set(event.pointerId, now);
      if (fingers.size === 1) this.turn(-0.4 * (now[0] - before[0]), 0.4 * (now[1] - before[1]));
      if (fingers.size === 2) {
        const [one, two] = [...fingers.values()], wide = Math.hypot(one[0] - two[0], one[1] - two[1]);
        if (apart) this.nearer(wide / apart);
        apart = wide;
      }
    });
    canvas.addEventListener("pointerup", lift);
    canvas.addEventListener("pointercancel", (event) => {
      lift(event); // The page took the finger over to scroll: what it turned until then is undone.
      if (held && this.scene) Object.assign(this.scene, held);
      this.dirty = true;
    });
    canvas.addEventListener("dblclick", () => this.look("corner"));
    canvas.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.nearer(Math.exp(-0.0015 * event.deltaY));
    }, { passive: false });
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || !this.model) return;
    const on = event.target, name = on.tagName ?? "";
    if (["TEXTAREA", "SELECT"].includes(name) || (name === "INPUT" && on.type === "number")) return;
    const key = event.key.toLowerCase();
    const taken = ["BUTTON", "SUMMARY", "INPUT", "A"].includes(name);
    if (/^[1-9]$/.test(key)) this.choose(Number(key) - 1);
    else if (key === " " && !taken) this.play(!this.playing);
    else if (key === "c") this.nextColour();
    else if (key === "o") byId("rest").click();
    else if (key === "f") byId("force").click();
    else if (key === "r") this.look("corner");
    else if (on === byId("solid") && this.steer(key)) { /* turned or brought nearer */ }
    else return;
    if (key === " " || key.startsWith("arrow")) event.preventDefault();
  }

  steer(key) {
    const turns = { arrowleft: [-6, 0], arrowright: [6, 0], arrowup: [0, 6], arrowdown: [0, -6] };
    if (turns[key]) this.turn(...turns[key]);
    else if (key === "+" || key === "=") this.nearer(1.15);
    else if (key === "-") this.nearer(1 / 1.15);
    else return false;
    return true;
  }

  nextColour() {
    const next = (this.state.colourBy % 3) + 1;
    document.querySelector(`input[name="colour"][value="${next}"]`).click();
  }

  set(name, value) {
    this[name] = value;
    this.tellSize();
    this.drawPath();
    this.dirty = true;
  }

  mark(name, value) {
    this.state[name] = value;
    this.tellSize();
    this.drawPath();
    this.dirty = true;
  }

  look(name) {
    this.scene?.look(name);
    for (const one of document.querySelectorAll("#views button")) {
      one.setAttribute("aria-pressed", String(one.dataset.view === name));
    }
    this.dirty = true;
  }

  turn(right, up) {
    this.scene?.turn(right, up);
    for (const one of document.querySelectorAll("#views button")) one.setAttribute("aria-pressed", "false");
    this.dirty = true;
  }

  nearer(by) {
    if (this.scene) this.scene.zoom = Math.max(0.3, Math.min(12, this.scene.zoom * by));
    this.dirty = true;
  }

  play(on) {
    this.playing = on;
    byId("still-note").hidden = on || !this.calm;
    this.tellPlaying();
  }

  tellPlaying() {
    byId("play").textContent = this.playing ? "Pause" : "Play";
    byId("play").setAttribute("aria-pressed", String(!this.playing));
  }

  // Magnification and slow-down, and what the colours mean.
  tellSize() {
    const mode = this.model.modes[this.mode], drawn = mode.magnification * this.factor();
    const inch = this.model.units === "inch";
    const real = inch ? `${twoDigits(mode.swing / 25.4e-6)} thou` : `${twoDigits(mode.swing * 1e6)} µm`;
    const slow = (mode.hertz * PERIOD_S) / this.speed;
    byId("size-words").hidden = this.scene === null;
    byId("size-words").textContent = drawn > 0
      ? `Movement drawn ${twoDigits(drawn)} times life size (for a swing of ${real}) and slowed ${twoDigits(slow)} times.`
      : "At rest.";
    const scale = byId("scale"), by = this.state.colourBy;
    const part = (html, colour, text) => {
      const span = document.createElement("span"), dot = document.createElement("i");
      span.className = "part";
      dot.style.background = colour;
      span.append(dot, text);
      scale.append(span);
    };
    const word = (text) => scale.append(Object.assign(document.createElement("span"), { textContent: text }));
    scale.replaceChildren();
    word(`${COLOUR_WORDS[by]}:`);
    if (by === 2) {
      const colours = partColours(this.model);
      this.model.parts.forEach((one, at) => part(scale, colours[at], one.words));
    } else if (by === 3 && mode.energy === null) {
      word("follows with the full answer");
    } else {
      const bar = document.createElement("span");
      bar.className = "bar";
      for (const colour of this.model.table) bar.append(Object.assign(document.createElement("i"), { style: `background:${colour}` }));
      word("none");
      scale.append(bar);
      word("most");
    }
    const block = this.model.parts.find((one) => one.name === "holder");
    if (block && by === 1) part(scale, HOLDER, block.words);
    for (const one of this.model.parts) if (by === 1 && one.colour) part(scale, one.colour, one.words);
    if (this.model.props.some((one) => ["still", "rides"].includes(one.kind))) part(scale, HOLDER, "drawn only: holder, cutter, work");
  }

  // How large the movement is drawn, over what fills the picture. A page with sliders holds one magnification
  // for each mode, so that a stiffer bar is seen to swing less.
  factor() {
    if (!this.held) return this.size;
    const mode = this.model.modes[this.mode];
    this.held[mode.number] ??= mode.magnification;
    return this.size * Math.min(this.held[mode.number] / mode.magnification, 2.5);
  }

  hold(on) {
    this.held = on ? {} : null;
    if (this.model) this.set("size", this.size);
  }

  run() {
    this.running = true;
    let last = performance.now();
    const step = (now) => {
      const passed = Math.min(now - last, 100) / 1000;
      last = now;
      if (this.playing) this.phase += (2 * Math.PI * passed * this.speed) / PERIOD_S;
      if (this.playing || this.dirty) this.paint();
      requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  }

  paint() {
    this.dirty = false;
    const { share, together } = this.state, size = this.factor(), one = size * Math.cos(this.phase);
    const two = size * share * (together ? Math.cos(this.phase) : Math.sin(this.phase));
    this.state.swing = [one, two];
    movePathDot(this);
    if (!this.scene?.centre) return;
    this.scene.draw(this.state);
    const sign = document.querySelector("#signs .force-sign");
    sign.hidden = !this.state.force;
    if (this.state.force) {
      const tail = this.scene.edgeAt([one, two]).map((at, k) => at - 1.06 * this.scene.reach * this.model.force[k]);
      const [x, y] = this.scene.place(tail), above = this.model.force[2] < 0;
      const room = this.scene.canvas.clientWidth - sign.offsetWidth - 6;
      sign.style.transform = `translate(${Math.max(6, Math.min(room, x - sign.offsetWidth / 2))}px, ${above ? y - 24 : y}px)`;
    }
  }

  drawPath() {
    drawPath(this);
  }
}
