// The two plots of the live page: the margin with its range, and the margin against rotation of the bar.

const BAND = { low: 0.05, high: 20, left: 16, right: 304, y: 38 };

function bandPlace(value) {
  const kept = Math.min(Math.max(value, BAND.low), BAND.high);
  const share = Math.log(kept / BAND.low) / Math.log(BAND.high / BAND.low);
  return BAND.left + share * (BAND.right - BAND.left);
}

function drawBand(view, cut, old) {
  const one = bandPlace(1), { left, right, y } = BAND;
  view.replaceChildren(
    svg("rect", { x: one, y: y - 14, width: right - one, height: 28, fill: "#e9eef5" }),
    svg("line", { x1: left, x2: right, y1: y + 14, y2: y + 14, stroke: "#565c66" }),
    svg("line", { x1: one, x2: one, y1: y - 20, y2: y + 20, stroke: "#1f2530", "stroke-width": 2 }),
    svg("text", { x: one - 8, y: 14, "text-anchor": "end", class: "word" }, "noisy"),
    svg("text", { x: one + 8, y: 14, class: "word" }, "quiet"),
  );
  for (const value of [0.1, 0.3, 1, 3, 10]) {
    view.append(svg("text", { x: bandPlace(value), y: 68, "text-anchor": "middle", class: "word" }, String(value)));
  }
  const none = cut.likely === null;
  if (cut.low !== undefined) {
    const from = bandPlace(cut.low ?? BAND.high), to = bandPlace(cut.high ?? BAND.high);
    view.append(svg("rect", { x: from, y: y - 6, width: Math.max(to - from, 2), height: 12, rx: 2,
      fill: old ? "#a3aab8" : "#00609c" }));
  }
  view.append(svg("circle", { cx: none ? right : bandPlace(cut.likely), cy: y, r: 6, fill: "#fff", stroke: "#1f2530", "stroke-width": 2 }));
  const words = none ? "no limit" : `likely ${twoDigits(cut.likely)}`;
  view.setAttribute("aria-label", `Margin of the cut at the worst of its speeds: ${words}; past 1 it is likely quiet at all of them.`);
}

function drawDial(view, words, turned, model) {
  const values = turned.margin.map((one) => one ?? 0), most = Math.max(...values, 1e-9);
  const top = Math.max(1.15 * most, most > 0.4 ? 1 : 0), by = 92 / top;
  const at = (radius, degrees) => {
    const turn = ((degrees + 90) * Math.PI) / 180;
    return [radius * Math.cos(turn), -radius * Math.sin(turn)];
  };
  view.replaceChildren();
  if (!turned.alike) {
    for (const [start, stop] of turned.windows) {
      for (const half of [0, 180]) view.append(sector(at, start + half, stop + half));
    }
  }
  const ring = [...values, ...values, values[0]].map((one, k) => at(by * one, turned.angles[k % values.length] + (k >= values.length ? 180 : 0) + (k === 2 * values.length ? 180 : 0)));
  if (top >= 1) view.append(svg("circle", { r: by, fill: "none", stroke: "#1f2530", "stroke-dasharray": "4 3", "stroke-width": 0.9 }));
  const rim = Math.max(...model.outline.flat().map(([y, z]) => Math.hypot(y, z)), 1e-9);
  const section = model.outline.map(([[a, b], [c, d]]) => `M${[a, -b, c, -d].map((one) => (24 * one) / rim).join(" ")}`.replace(/^(M\S+ \S+) /, "$1L")).join("");
  view.append(
    svg("path", { d: section, stroke: "#1f2530", "stroke-width": 1.3, fill: "none" }),
    svg("polygon", { points: ring.map((one) => one.join(",")).join(" "), fill: "none", stroke: "#00609c", "stroke-width": 2.2 }),
  );
  const [x, y] = at(96, turned.now);
  view.append(svg("line", { x1: x, y1: y, x2: -x, y2: -y, stroke: "#b5123e", "stroke-width": 1.4, "stroke-dasharray": "7 3 1.5 3" }));
  for (let degrees = 0; degrees < 360; degrees += 30) {
    const [a, b] = at(109, degrees);
    view.append(svg("text", { x: a, y: b + 3, "text-anchor": "middle", class: "word" }, `${degrees % 180}°`));
  }
  words.textContent = dialWords(turned, top);
}

function sector(at, start, stop) {
  const points = ["0,0"];
  for (let k = 0; k <= 24; k++) points.push(at(96, start + ((stop - start) * k) / 24).join(","));
  return svg("polygon", { points: points.join(" "), fill: "#f0e6d8" });
}

function dialWords(turned, top) {
  const rest = `The curve is the margin with the bar turned in its holder, seen from the free end; the chain line is the bar as it stands${top >= 1 ? ", the dashed circle a margin of 1" : ""}.`;
  if (turned.alike) return "Turning this bar in its holder changes hardly anything.";
  return `Best turned to about ${Math.round(turned.best)}°; it stands at ${Math.round(turned.now)}°. The shaded windows are good. ${rest}`;
}
