// The live page: sliders in, answers out. One question is under way at a time, and the newest wins.

const REST_MS = 350, SAME_MOVE_MS = 2000;

class Page {
  constructor(first) {
    this.viewer = new Viewer();
    this.viewer.hold(true);
    this.tab = Array.from(crypto.getRandomValues(new Uint8Array(12)), (one) => one.toString(16)).join("");
    this.home = first.home;
    this.source = first.own;
    this.lastKept = { key: null, at: 0 };
    this.underWay = null;
    this.waiting = false;
    this.fullTimer = 0;
    this.answered = 0;
    byId("source").append(...first.names.map((name) => new Option(name.replaceAll("_", " "), name)));
    byId("source").value = this.source;
    byId("source").addEventListener("change", (event) => { this.open(event.target.value); this.keep(); });
    byId("reset").addEventListener("click", () => { this.open(this.source); this.keep(); });
    byId("modes").addEventListener("click", () => this.keep("mode"));
    addEventListener("popstate", () => this.restore());
    byId("save").addEventListener("click", () => this.save());
    byId("hold").addEventListener("change", (event) => this.viewer.hold(event.target.checked));
    this.opening = first.opening;
    this.wanted = new URLSearchParams(location.search);
    this.wantedMode = this.wanted.get("mode");
    this.buildSliders();
  }

  // What the address says is the state: set-up, sliders that were moved, the mode that is shown.
  keep(key = null) {
    const said = new URLSearchParams(), { changes, speed, source } = this.question(false);
    if (source !== this.home) said.set("source", source);
    for (const [name, value] of Object.entries(changes)) said.set(name, value);
    if (speed !== null && document.querySelector("#sliders input[data-key=speed]").dataset.file !== String(speed)) said.set("speed", speed);
    if (key === "mode" || this.wantedMode !== null) said.set("mode", this.wantedMode = String(this.viewer.mode + 1));
    const address = `${location.pathname}${said.size ? `?${said}` : ""}`, now = Date.now();
    if (address === location.pathname + location.search) return;
    // One slider moved bit by bit by keys is one step of Back.
    const same = key !== null && key === this.lastKept.key && now - this.lastKept.at < SAME_MOVE_MS;
    history[same ? "replaceState" : "pushState"](null, "", address);
    this.lastKept = { key, at: now };
  }

  restore() {
    const said = new URLSearchParams(location.search), name = said.get("source") ?? this.home;
    this.lastKept = { key: null, at: 0 };
    this.wanted = said;
    this.wantedMode = said.get("mode");
    if (name !== this.source) {
      byId("source").value = name;
      this.open(name);
      this.wanted = said;
      return;
    }
    for (const input of document.querySelectorAll("#sliders input")) input.value = input.dataset.file;
    this.moveSliders();
    this.ask();
  }

  // Moves the sliders as the address says, once; returns whether any of the set-up's own keys moved.
  moveSliders() {
    let moved = false;
    for (const input of document.querySelectorAll("#sliders input")) {
      const value = this.wanted.get(input.dataset.key);
      if (value !== null && value !== "" && Number.isFinite(Number(value))) input.value = value;
      input.dispatchEvent(new Event("told"));
      moved ||= input.value !== input.dataset.file;
    }
    this.wanted = new URLSearchParams();
    return moved;
  }

  open(name) {
    this.wanted = new URLSearchParams();
    this.source = name;
    this.opening = null;
    this.revision = null;
    this.fresh = true;
    byId("sliders").replaceChildren();
    this.ask();
  }

  buildSliders() {
    this.revision = this.opening.revision;
    byId("title").textContent = this.opening.title;
    document.title = this.opening.title;
    byId("file-words").textContent = `File: ${this.opening.file}`;
    for (const one of document.querySelectorAll(".pull-unit")) one.textContent = this.opening.units === "inch" ? "in" : "mm";
    byId("sliders").replaceChildren(...this.opening.sliders.map((one, at) => {
      const row = document.createElement("div"), name = document.createElement("label");
      const input = document.createElement("input"), said = document.createElement("output");
      row.className = "slider";
      name.textContent = one.name;
      name.htmlFor = said.htmlFor = input.id = `slider-${at}`;
      Object.assign(input, { type: "range", min: one.low, max: one.high, step: one.step, value: one.value });
      input.dataset.key = one.key;
      input.dataset.file = input.value;
      const tell = () => {
        said.textContent = `${Number(Number(input.value).toPrecision(6))} ${one.unit}`;
        input.setAttribute("aria-valuetext", said.textContent);
      };
      tell();
      input.addEventListener("told", tell);
      input.addEventListener("input", () => { tell(); this.ask(); });
      input.addEventListener("change", () => this.keep(one.key));
      row.append(name, said, input);
      return row;
    }));
    return this.moveSliders();
  }

  // Only sliders that were moved change anything: the file's own values may be finer than a slider's steps.
  question(full) {
    const changes = {};
    let speed = null;
    for (const input of document.querySelectorAll("#sliders input")) {
      if (input.dataset.key === "speed") speed = Number(input.value);
      else if (input.value !== input.dataset.file) changes[input.dataset.key] = Number(input.value);
    }
    return { source: this.source, changes, speed, full, tab: this.tab };
  }

  ask() {
    clearTimeout(this.fullTimer);
    for (const cell of document.querySelectorAll("#figures td:last-child")) cell.className = "old";
    byId("full-words").textContent = "waits";
    this.waiting = true;
    if (this.underWay === null) this.send(false);
    else if (this.underWay.full) this.underWay.stop.abort();
  }

  async send(full) {
    this.waiting = false;
    const stop = new AbortController();
    this.underWay = { full, stop };
    if (full) byId("full-words").textContent = "solving";
    let told = null;
    const asked = this.named(), question = this.question(full);
    try {
      const reply = await this.post("/answer", question, stop.signal);
      told = { ...await reply.json(), asked };
    } catch (trouble) {
      if (trouble.name !== "AbortError") {
        told = { failed: "The program behind this page does not answer. Start it again and load the page anew." };
      }
    }
    this.underWay = null;
    if (told && !told.stale && !(this.waiting && full) && question.source === this.source) this.show(told);
    if (this.waiting) this.send(false);
    else if (!full && told?.model) this.fullTimer = setTimeout(() => this.send(true), REST_MS);
  }

  post(address, question, signal) {
    return fetch(address, { method: "POST", signal, body: JSON.stringify(question),
      headers: { "content-type": "application/json", "x-stickout": "page" } });
  }

  show(told) {
    const trouble = told.mistakes?.join(" ") ?? (told.failed && `${told.failed} Move a slider to try again.`) ?? told.trouble ?? "";
    // The file changed between question and answer: the answer belongs to other sliders, so it is asked anew.
    const other = told.opening && told.opening.revision !== this.revision, opened = this.revision === null;
    let moved = false;
    if (other) {
      this.opening = told.opening;
      this.lastBand = null;
      moved = this.buildSliders();
    }
    byId("message").textContent = trouble;
    byId("message").hidden = !trouble;
    if (other && (!opened || moved) && told.model) {
      this.dim(true);
      this.waiting = true;
      return;
    }
    if (!told.model) {
      byId("full-words").textContent = "none";
      this.dim(true);
      if (this.shown) byId("message").textContent = `${trouble} What is dimmed is the last answer, for ${this.shown}.`;
      return;
    }
    this.dim(false);
    this.shown = told.asked;
    this.answered += 1;
    document.body.dataset.answered = this.answered;
    this.viewer.load(told.model, { keep: !this.fresh });
    this.fresh = false;
    const mode = Number(this.wantedMode) - 1;
    if (this.wantedMode !== null && mode !== this.viewer.mode && mode in told.model.modes) this.viewer.choose(mode);
    this.figures(told);
    byId("warnings").replaceChildren(...told.warnings.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
  }

  // Header, picture, modes and table are of one answer, so they dim together.
  dim(old) {
    if (old) document.body.dataset.old = "yes";
    else delete document.body.dataset.old;
  }

  // A set-up that was made just now is chosen in the list and opened.
  opened(name) {
    if (!Array.from(byId("source").options).some((one) => one.value === name)) byId("source").append(new Option(name.replaceAll("_", " "), name));
    byId("source").value = name;
    this.open(name);
    this.keep();
  }

  // Notes of the model as last answered, twins once.
  modesHz() {
    const modes = (this.viewer.model?.modes ?? []).map((one) => ({ hz: one.hertz, name: `mode ${one.number}, ${one.heading}` }));
    return modes.filter((one, at) => !modes.slice(0, at).some((other) => Math.abs(one.hz / other.hz - 1) < 0.005));
  }

  // Which set-up an answer is for: its title and the sliders as they stood when it was asked.
  named() {
    const moved = Array.from(document.querySelectorAll("#sliders .slider"), (row) =>
      `${row.querySelector("label").textContent.toLowerCase()} ${row.querySelector("output").textContent}`);
    return [this.opening?.title ?? this.source, ...moved].join(", ");
  }

  figures(told) {
    const place = told.full ? 2 : 1, cut = told.cut ?? {};
    const words = { ...told.rows, margin: cut.margin, depth: cut.depth, at_speed: cut.at_speed };
    for (const row of document.querySelectorAll("#figures tbody tr")) {
      const text = words[row.dataset.row];
      if (!told.full) row.hidden = text === undefined;
      row.children[place].textContent = text ?? "";
      if (told.full) row.children[2].className = "";
    }
    byId(told.full ? "full-words" : "quick-words").textContent = told.accuracy;
    byId("verdict").textContent = told.cut ? told.cut.verdict : told.why;
    byId("cut-words").textContent = told.cut ? told.cut.words : "";
    byId("spring-words").textContent = `${told.full ? "Full accuracy" : "Quick figure"}: ${told.rows.sentence}`;
    for (const name of ["band-figure", "dial-figure"]) byId(name).hidden = !told.cut;
    if (!told.cut) return;
    if (told.full) this.lastBand = told.cut;
    drawBand(byId("band"), told.full ? told.cut : this.scaledBand(told.cut), !told.full);
    byId("dial").style.display = told.turned.alike ? "none" : "";
    drawDial(byId("dial"), byId("dial-words"), told.turned, told.model);
  }

  // Until the full answer comes, the range keeps its width and moves with the likely value, in grey.
  scaledBand(cut) {
    const last = this.lastBand;
    if (!last?.likely || !cut.likely || !last.low || !last.high) return cut;
    const by = cut.likely / last.likely;
    return { ...cut, low: last.low * by, high: last.high * by };
  }

  async save() {
    const reply = await this.post("/save", this.question(false)).catch(() => null);
    if (!reply?.ok) {
      byId("message").textContent = "The set-up could not be saved: the program behind this page gave no file.";
      byId("message").hidden = false;
      return;
    }
    const link = document.createElement("a");
    link.href = URL.createObjectURL(await reply.blob());
    link.download = `${this.source.replaceAll(" ", "_")}.toml`;
    link.click();
    URL.revokeObjectURL(link.href);
  }
}
