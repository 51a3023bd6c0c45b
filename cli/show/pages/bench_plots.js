// The plots of a recording: taps, spectrum, the spindle's comb around the note, one decay.

const CHART = { left: 34, right: 392, top: 16, bottom: 168 };
const GREY = "#4f5966", BLACK = "#1f2530", RED = "#b5123e", BLUE = "#00609c";

// An empty chart; returns where values lie. The scale across is logarithmic where it is asked for.
function chart(view, { x, y, log = false, ticks, levels, across, up }) {
  const { left, right, top, bottom } = CHART, by = log ? Math.log : Number;
  const px = (value) => left + ((by(value) - by(x[0])) / (by(x[1]) - by(x[0]))) * (right - left);
  const py = (value) => bottom - ((value - y[0]) / (y[1] - y[0])) * (bottom - top);
  view.replaceChildren(svg("line", { x1: left, x2: right, y1: bottom, y2: bottom, stroke: GREY }));
  for (const value of ticks) {
    view.append(svg("line", { x1: px(value), x2: px(value), y1: bottom, y2: bottom + 4, stroke: GREY }),
      svg("text", { x: px(value), y: bottom + 15, "text-anchor": "middle", class: "word" }, String(value)));
  }
  for (const value of levels) view.append(svg("text", { x: left - 5, y: py(value) + 4, "text-anchor": "end", class: "word" }, String(value)));
  view.append(svg("text", { x: right, y: bottom + 28, "text-anchor": "end", class: "word" }, across),
    svg("text", { x: 2, y: 11, class: "word" }, up));
  return { px, py };
}

function curveLine(x, y, { px, py }, more = {}) {
  const points = x.map((value, at) => `${px(value).toFixed(1)},${py(y[at]).toFixed(1)}`).join(" ");
  return svg("polyline", { points, fill: "none", stroke: BLUE, "stroke-width": 1.3, ...more });
}

function upright(at, { px }, words, more = {}) {
  const mark = svg("line", { x1: px(at), x2: px(at), y1: CHART.top, y2: CHART.bottom, stroke: RED, "stroke-width": 1.5, ...more });
  mark.append(svg("title", {}, words));
  return mark;
}

// Round steps, some six of them.
function evenTicks(low, high) {
  const rough = (high - low) / 6, ten = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((one) => one * ten).find((one) => one >= rough);
  const ticks = [];
  for (let value = Math.ceil(low / step) * step; value <= high; value += step) ticks.push(Number(value.toPrecision(6)));
  return ticks;
}

function tell(view, words, text) {
  view.setAttribute("aria-label", text);
  words.textContent = text;
}

function drawTaps(view, words, { level, used_s }, refused) {
  const end = level.x.at(-1) || 1, most = Math.max(...level.y) || 1;
  const places = chart(view, { x: [0, end], y: [0, 1.25 * most], ticks: evenTicks(0, end), levels: [], across: "seconds", up: "loudness" });
  view.append(curveLine(level.x, level.y, places));
  for (const at of used_s) {
    const x = places.px(at), y = places.py(1.08 * most), mark = svg("polygon", { points: `${x - 5},${y - 5} ${x + 5},${y - 5} ${x},${y + 5}`, fill: BLACK, class: "mark" });
    mark.append(svg("title", {}, `used, at ${at.toFixed(2)} s`));
    view.append(mark);
  }
  for (const { at_s, reason } of refused) {
    const x = places.px(at_s), y = places.py(1.2 * most), mark = svg("g", { class: "mark", stroke: RED, "stroke-width": 2 });
    mark.append(svg("rect", { x: x - 8, y: y - 9, width: 16, height: 18, fill: "transparent", stroke: "none" }),
      svg("path", { d: `M${x - 5} ${y - 5}L${x + 5} ${y + 5}M${x - 5} ${y + 5}L${x + 5} ${y - 5}` }),
      svg("title", {}, `refused, at ${at_s.toFixed(2)} s: ${reason}`));
    view.append(mark);
  }
  const why = refused.length ? `; ${refused.length} refused (crosses: touch one for the reason, or read the list)` : ", none refused";
  tell(view, words, `Loudness over time: ${used_s.length} taps used (triangles)${why}.`);
}

function drawSpectrum(view, words, { spectrum, notes_hz }, modes) {
  const low = 100, high = Math.min(spectrum.x.at(-1), 12000), kept = spectrum.x.map((hz, at) => [hz, spectrum.y[at]]).filter(([hz]) => hz >= low && hz <= high);
  const places = chart(view, { x: [low, high], y: [-60, 6], log: true, ticks: [100, 200, 500, 1000, 2000, 5000, 10000].filter((hz) => hz <= high),
    levels: [0, -20, -40, -60], across: "Hz", up: "dB" });
  for (const { hz, name } of modes.filter((one) => one.hz > low && one.hz < high)) {
    view.append(upright(hz, places, `model: ${name}`, { stroke: GREY, "stroke-dasharray": "2 3" }));
  }
  view.append(curveLine(kept.map(([hz]) => hz), kept.map(([, db]) => Math.max(db, -60)), places));
  for (const hz of notes_hz) view.append(upright(hz, places, `heard: ${Math.round(hz)} Hz`));
  const heard = notes_hz.map((hz) => `${Math.round(hz)} Hz`).join(", ") || "no note";
  const near = modes.map((one) => `${Math.round(one.hz)} Hz`).join(", ");
  tell(view, words, `Spectrum of the taps. Red lines: heard, ${heard}. Dotted: what the model expected before, ${near}.`);
}

function drawComb(view, words, { near, notes_hz }, { modes, rpm }) {
  const note = notes_hz[0], turns = rpm ? rpm / 60 : 0, reach = turns ? Math.min(8 * turns, 0.2 * note) : 0.1 * note;
  const ends = [note - reach, note + reach], kept = near.x.map((hz, at) => [hz, near.y[at]]).filter(([hz]) => hz >= ends[0] && hz <= ends[1]);
  const low = Math.min(...kept.map(([, db]) => db), -6);
  const places = chart(view, { x: ends, y: [low - 2, 3], ticks: evenTicks(...ends), levels: [0], across: "Hz", up: "dB" });
  let comb = "The set-up gives no spindle speed, so no lines of the spindle are drawn.";
  if (turns) {
    for (let order = Math.ceil(ends[0] / turns); order * turns <= ends[1]; order++) {
      view.append(upright(order * turns, places, `${order} times the spindle: ${(order * turns).toFixed(1)} Hz`, { stroke: GREY, "stroke-dasharray": "2 3", "stroke-width": 1 }));
    }
    const order = Math.round(note / turns), off = Math.abs(note - order * turns);
    comb = `Dotted: where the lines of the spindle lie at ${Math.round(rpm)} rpm, ${turns.toFixed(2)} Hz apart; the nearest, number ${order}, is ${off.toFixed(1)} Hz off. ` +
      "With so many, one is always near: that says nothing by itself.";
  }
  view.append(curveLine(kept.map(([hz]) => hz), kept.map(([, db]) => db), places));
  for (const hz of notes_hz.filter((one) => one > ends[0] && one < ends[1])) view.append(upright(hz, places, `heard: ${Math.round(hz)} Hz`));
  for (const { hz, name } of modes.filter((one) => one.hz > ends[0] && one.hz < ends[1])) view.append(upright(hz, places, `model: ${name}`, { stroke: BLACK, "stroke-dasharray": "7 3" }));
  tell(view, words, `Around the note of ${Math.round(note)} Hz (red). ${comb}`);
}

function drawDecay(view, words, { decay, notes_hz }) {
  const end = decay.ms.at(-1), top = Math.max(...decay.level_db), low = Math.max(Math.min(...decay.level_db), top - 60);
  const shift = (row) => row.map((db) => Math.max(db - top, low - top));
  const places = chart(view, { x: [0, end], y: [low - top - 2, 4], ticks: evenTicks(0, end), levels: [0, -20, -40, -60].filter((db) => db > low - top - 2), across: "milliseconds", up: "dB" });
  const { left, top: high, bottom } = CHART, wide = places.px(Math.min(decay.window_ms, end)) - left;
  view.append(svg("rect", { x: left, y: high, width: wide, height: bottom - high, fill: "#e9eef5" }),
    curveLine(decay.ms, shift(decay.level_db), places),
    curveLine(decay.ms, shift(decay.read_db), places, { stroke: RED, "stroke-dasharray": "6 4" }));
  const fall = (decay.read_db[0] - decay.read_db.at(-1)) / (decay.ms.at(-1) - decay.ms[0]);
  tell(view, words, `How ${Math.round(notes_hz[0])} Hz dies away in the first tap: a thousandth after ${Math.round(60 / fall)} ms. Dashed: as read from all taps; shaded: what was read, ${Math.round(decay.window_ms)} ms.`);
}
