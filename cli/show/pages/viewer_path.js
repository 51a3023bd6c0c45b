// The end view: the section as seen from the free end, the force, and the line or ellipse the edge draws.

const SVG = "http://www.w3.org/2000/svg";

function svg(name, attributes, text) {
  const one = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) one.setAttribute(key, value);
  if (text) one.textContent = text;
  return one;
}

function pathPoints(viewer) {
  const { model, state } = viewer, size = viewer.factor(), mode = model.modes[viewer.mode];
  const two = model.modes[mode.twin ?? viewer.mode].edge, out = [];
  for (let at = 0; at <= 72; at++) {
    const turn = (2 * Math.PI * at) / 72;
    const a = size * Math.cos(turn), b = size * state.share * (state.together ? Math.cos(turn) : Math.sin(turn));
    out.push(mode.edge.map((one, k) => 1000 * (model.edge[k] + a * one + b * two[k])));
  }
  return out;
}

function drawPath(viewer) {
  const view = byId("path"), { model } = viewer, mode = model.modes[viewer.mode];
  const points = pathPoints(viewer), rim = model.outline.flat();
  const reach = Math.max(...rim.map(([y, z]) => Math.hypot(y, z)), 1e-9);
  // The same scale for all modes at the size of movement they start with, so that sizes compare.
  const widest = Math.max(1.45 * reach, ...points.map(([, y, z]) => 1.12 * Math.hypot(y, z)));
  const by = 96 / widest, flat = ([, y, z]) => `${(by * y).toFixed(2)} ${(-by * z).toFixed(2)}`;
  const section = model.outline.map(([a, b]) => `M${flat([0, ...a])}L${flat([0, ...b])}`).join("");
  const edge = model.edge.map((one) => 1000 * one), push = model.force;
  const tail = [0, 1, 2].map((k) => edge[k] - 1.3 * reach * push[k]);
  const marks = svg("defs", {});
  marks.append(svg("marker", { id: "head", viewBox: "0 0 10 10", refX: 9, refY: 5, markerWidth: 6, markerHeight: 6, orient: "auto" }));
  marks.firstChild.append(svg("path", { d: "M0 0L10 5L0 10z", fill: "#b5123e" }));
  view.replaceChildren(
    marks,
    svg("path", { d: "M-98 0H98M0 -98V98", stroke: "#d9d5c9", "stroke-width": 0.6, fill: "none" }),
    svg("path", { d: section, stroke: "#1f2530", "stroke-width": 1.4, fill: "none", "stroke-linecap": "round" }),
    svg("text", { x: -97, y: -90 }, "left"),
    svg("text", { x: 78, y: -90 }, "right"),
  );
  if (Math.hypot(push[1], push[2]) > 0.1) {
    const [x1, y1] = flat(tail).split(" "), [x2, y2] = flat(edge).split(" ");
    view.append(svg("line", { x1, y1, x2, y2, stroke: "#b5123e", "stroke-width": 2, "marker-end": "url(#head)" }));
  }
  view.append(
    svg("polyline", { points: points.map(flat).join(" "), stroke: "#00609c", "stroke-width": 2.6, fill: "none", "stroke-linejoin": "round" }),
    svg("circle", { id: "path-dot", r: 4, fill: "#00609c", stroke: "#fff", "stroke-width": 1.2 }),
  );
  viewer.pathPlace = (swing) => flat(edge.map((at, k) => at + 1000 * (swing[0] * mode.edge[k] + swing[1] * model.modes[mode.twin ?? viewer.mode].edge[k])));
  byId("path-words").textContent = pathWords(viewer, mode);
  movePathDot(viewer);
}

function pathWords(viewer, mode) {
  if (mode.still) return "Seen from the free end. The edge hardly moves in this mode.";
  const { share, together } = viewer.state;
  const form = share > 0 && !together ? "The edge draws an ellipse." : `The edge draws a line: ${mode.way}.`;
  const mixed = share > 0 && together ? "Mixed in step with its twin, the edge draws a line between the two." : form;
  const endwise = Math.abs(mode.edge[0]) > 0.2 * Math.hypot(...mode.edge) ? " It also moves along the bar, which this view does not show." : "";
  return `Seen from the free end, movement as large as in the picture; the arrow is the force on the edge. ${mixed}${endwise}`;
}

function movePathDot(viewer) {
  const dot = byId("path-dot");
  if (!dot || !viewer.pathPlace) return;
  const [x, y] = viewer.pathPlace(viewer.state.swing).split(" ");
  dot.setAttribute("cx", x);
  dot.setAttribute("cy", y);
}
