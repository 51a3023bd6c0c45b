// A recording or a pull on the live page: brought by hand, by drop or by keys; sent once; its answer shown.

const PASSED = { true: ["✓", "passed"], false: ["✗", "failed"], null: ["–", "not tested"] };
const MOST_TOLD = 12;
const NO_PROGRAM = "The program behind this page does not answer. Start it again and load the page anew.";

class Bench {
  constructor(page, first) {
    this.page = page;
    this.most = first.recording;
    byId("recording").addEventListener("change", (event) => {
      const [file] = event.target.files;
      if (file) this.bring(file);
      event.target.value = "";
    });
    byId("choose").addEventListener("click", () => byId("recording").click());
    byId("bench-close").addEventListener("click", () => this.close());
    byId("bench-keep").addEventListener("click", () => this.keep());
    byId("pull-add").addEventListener("click", () => this.addReading().querySelector("input").focus());
    byId("pull").addEventListener("submit", (event) => { event.preventDefault(); this.pullAlone(); });
    for (let at = 0; at < 5; at++) this.addReading();
    this.drops();
  }

  // A file may be let go anywhere on the page; the browser would open it otherwise.
  drops() {
    const carries = (event) => Array.from(event.dataTransfer?.types ?? []).includes("Files");
    addEventListener("dragover", (event) => {
      if (!carries(event)) return;
      event.preventDefault();
      byId("drop").dataset.over = "yes";
    });
    addEventListener("dragleave", (event) => { if (!event.relatedTarget) delete byId("drop").dataset.over; });
    addEventListener("drop", (event) => {
      if (!carries(event)) return;
      event.preventDefault();
      delete byId("drop").dataset.over;
      const files = event.dataTransfer.files;
      if (files.length === 1) this.bring(files[0]);
      else this.refuse("One recording at a time, please.");
    });
  }

  addReading() {
    const row = document.createElement("tr"), number = byId("pull-rows").children.length + 1;
    for (const [name, unit] of [["Load", "N"], ["Dial", "µm"]]) {
      const cell = document.createElement("td"), input = document.createElement("input");
      Object.assign(input, { type: "number", step: "any", inputMode: "decimal" });
      input.setAttribute("aria-label", `${name} ${number}, ${unit}`);
      cell.append(input);
      row.append(cell);
    }
    byId("pull-rows").append(row);
    return row;
  }

  // The readings that were typed, as an entry of a log; none where nothing was typed.
  pulls() {
    const typed = Array.from(byId("pull-rows").children, (row) => Array.from(row.querySelectorAll("input"), (one) => one.value));
    const rows = typed.filter(([load, dial]) => load !== "" && dial !== "").map((row) => row.map(Number));
    if (!rows.length) return [];
    const number = (id) => Number(byId(id).value || NaN), torque = byId("pull-torque").value;
    return [{ base: byId("pull-base").value, direction: byId("pull-direction").value, screw_nm: torque === "" ? null : Number(torque), load_at: number("pull-load-at"), dial_at: number("pull-dial-at"),
      loads_n: rows.map((row) => row[0]), readings_um: rows.map((row) => row[1]) }];
  }

  pullAlone() {
    const pulls = this.pulls();
    if (!pulls.length) this.refuse("Type loads and readings first: three different loads at least, up and down again.");
    else if (this.last) this.send(this.last, pulls);
    else this.send(null, pulls);
  }

  bring(file) {
    if (file.size > this.most.bytes) {
      this.refuse(this.most.words);
      return;
    }
    this.last = file;
    this.send(file, this.pulls());
  }

  async send(file, pulls) {
    if (pulls.some((one) => !Number.isFinite(one.load_at) || !Number.isFinite(one.dial_at))) {
      this.refuse("A pull needs where you pulled and where the dial stood, both from the holder's face.");
      return;
    }
    const { source, changes, tab } = this.page.question(false);
    const asked = { source, changes, tab, name: file?.name ?? "", direction: byId("direction").value, pulls };
    const stop = new AbortController();
    this.stop?.abort();
    this.stop = stop;
    this.say(file ? `Listening to ${file.name}, then fitting. Some seconds.` : "Fitting the pull. Some seconds.", true);
    try {
      const reply = await fetch(`/recording?asked=${encodeURIComponent(JSON.stringify(asked))}`, { method: "POST",
        signal: stop.signal, body: file ?? new Blob(), headers: { "content-type": "application/octet-stream", "x-stickout": "page" } });
      const json = reply.headers.get("content-type")?.includes("json");
      const told = json ? await reply.json() : { mistakes: [await reply.text()] };
      if (told.mistakes || told.failed) this.refuse(told.mistakes?.join(" ") ?? told.failed);
      else if (!told.stale) this.show(told, { name: asked.name, named: this.page.named() });
    } catch (trouble) {
      if (trouble.name !== "AbortError") this.refuse(NO_PROGRAM);
    }
  }

  say(words, busy = false) {
    byId("bench").hidden = false;
    byId("bench").setAttribute("aria-busy", String(busy));
    byId("bench-answer").textContent = words;
    byId("bench-found").hidden = true;
    byId("bench").scrollIntoView({ block: "start", behavior: "instant" });
  }

  refuse(words) {
    this.say(words);
    document.body.dataset.heard = "refused";
  }

  close() {
    this.stop?.abort();
    byId("bench").hidden = true;
    byId("choose").focus();
  }

  show(told, { name, named }) {
    this.say(told.answer);
    byId("bench-found").hidden = false;
    byId("bench-for").textContent = `${name || "A pull"}, for ${named}.`;
    byId("bench-apart").textContent = told.fit?.disagreement ? `They do not fit together: ${told.fit.disagreement}. Nothing was averaged.` : "";
    list("bench-unused", told.fit ? told.unused : []);
    list("bench-next", told.next ?? []);
    list("bench-notes", told.notes ?? []);
    const off = (told.listen?.recordings ?? []).flatMap((one) => one.taps_refused), shown = off.slice(0, MOST_TOLD);
    const more = off.length > shown.length ? [`and ${off.length - shown.length} more`] : [];
    list("bench-refused", [...shown.map((tap) => `at ${tap.at_s.toFixed(2)} s: ${tap.reason}`), ...more]);
    byId("bench-trust").replaceChildren(...(told.trust ?? []).map(({ passed, words }) => {
      const row = document.createElement("li"), [mark, said] = PASSED[passed];
      row.dataset.passed = passed;
      const sign = Object.assign(document.createElement("span"), { textContent: mark, className: "sign" });
      sign.setAttribute("aria-hidden", "true");
      const text = document.createElement("span"), outcome = Object.assign(document.createElement("span"), { textContent: `${said}: ` });
      if (passed) outcome.className = "unseen";
      text.append(outcome, words);
      row.append(sign, text);
      return row;
    }));
    byId("bench-bands").replaceChildren(...(told.bands ?? []).flatMap(bandRows));
    byId("bench-keep").hidden = !told.fit;
    byId("bench-kept").textContent = "";
    byId("bench-texts").textContent = told.texts.map((one) => `$ stickout ${one.command}\n\n${one.text}`).join("\n");
    for (const [id, there] of [["trust-part", told.trust?.length], ["next-part", told.next?.length], ["bands-part", told.bands],
      ["notes-part", told.notes?.length], ["refused-part", byId("bench-refused").children.length], ["curves-part", told.curves]]) {
      byId(id).hidden = !there;
    }
    if (told.curves) this.draw(told);
    document.body.dataset.heard = told.fit ? "fitted" : "refused";
  }

  draw(told) {
    const { curves } = told, refused = told.listen.recordings.flatMap((one) => one.taps_refused);
    drawTaps(byId("taps"), byId("taps-words"), curves, refused);
    const parts = { spectrum: curves.spectrum, decay: curves.decay, near: curves.near };
    for (const [name, there] of Object.entries(parts)) byId(`${name}-figure`).hidden = !there;
    const modes = this.page.modesHz(), rpm = this.page.question(false).speed;
    if (curves.spectrum) drawSpectrum(byId("spectrum"), byId("spectrum-words"), curves, modes);
    if (curves.near) drawComb(byId("near"), byId("near-words"), curves, { modes, rpm });
    if (curves.decay) drawDecay(byId("decay"), byId("decay-words"), curves);
  }

  async keep() {
    byId("bench-kept").textContent = "Saving.";
    const { source, changes, tab } = this.page.question(false);
    const reply = await this.page.post("/keep", { source, changes, tab }).catch(() => null);
    const told = await reply?.json().catch(() => null);
    if (!told?.file) {
      byId("bench-kept").textContent = told?.mistakes?.join(" ") ?? NO_PROGRAM;
      return;
    }
    byId("bench-kept").textContent = `Saved: ${told.file}. The page shows it now, with the measured numbers in it.`;
    byId("bench-keep").hidden = true;
    this.page.opened(told.source);
  }
}

function list(id, lines) {
  byId(id).replaceChildren(...lines.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
}

// One band before and after: words, and below them a picture of both on one scale of their own.
function bandRows({ words, outside, before, after }) {
  const row = document.createElement("tr"), under = document.createElement("tr"), head = document.createElement("th"), picture = document.createElement("td");
  head.scope = "row";
  head.textContent = words;
  const cells = [before.text, after.text].map((text) => Object.assign(document.createElement("td"), { textContent: text }));
  if (outside) cells[1].append(Object.assign(document.createElement("small"), { textContent: "outside what was assumed: look twice" }));
  const view = svg("svg", { viewBox: "0 0 400 30", preserveAspectRatio: "none", "aria-hidden": "true", class: "bands" });
  const low = Math.min(before.low, after.low), high = Math.max(before.high, after.high);
  const place = (value) => 4 + (392 * Math.log(value / low)) / (Math.log(high / low) || 1);
  for (const [one, y, fill] of [[before, 4, "#8d95a1"], [after, 17, "#00609c"]]) {
    view.append(
      svg("rect", { x: place(one.low), y, width: Math.max(place(one.high) - place(one.low), 2), height: 9, fill }),
      svg("line", { x1: place(one.likely), x2: place(one.likely), y1: y - 2, y2: y + 11, stroke: "#1f2530", "stroke-width": 2, "vector-effect": "non-scaling-stroke" }),
    );
  }
  picture.colSpan = 3;
  picture.append(view);
  row.append(head, ...cells);
  under.append(picture);
  return [row, under];
}
