// Words that float over the view: edges of the tank, nozzles, slow places.

function makeLabels(view) {
  const holder = element("labels");
  const [L, W, H] = scene.size;
  const walls = [["front", L / 2, 0, 0, -1], ["back", L / 2, W, 0, 1], ["left end", 0, W / 2, -1, 0], ["right end", L, W / 2, 1, 0]];
  const labels = [
    ...walls.map(([words, x, y, ...normal]) => ({ kind: "edge", words, at: [x, y, 0], normal })),
    ...scene.spots.map((spot, i) => ({ kind: "spot", words: String(i + 1), at: spot.at })),
    ...scene.jets.map((jet) => ({ kind: "jet", words: jet.id, at: jet.at, jet })),
  ];
  for (const label of labels) {
    label.span = document.createElement("span");
    label.span.className = label.kind;
    label.span.textContent = label.words;
    holder.append(label.span);
    label.size = null;
  }

  /** Puts a label at its place, moved aside until it covers no other; hidden when there is no room. */
  function settle(label, taken) {
    // A near wall is named outside its lower edge, a far one over its rim, so that no name lies over the water; from above all at the rim.
    const high = view.look.lift > 0.9, near = label.normal && (high || view.faces(...label.normal));
    const out = near ? 0.05 * Math.max(L, W) : 0;
    const place = label.normal ? [label.at[0] + out * label.normal[0], label.at[1] + out * label.normal[1], near && !high ? 0 : H] : label.at;
    const at = view.onCanvas(place);
    if (!at) return false;
    label.size = label.size || [label.span.offsetWidth, label.span.offsetHeight];
    const [w, h] = label.size;
    const tries = label.kind === "edge" ? [[-w / 2, near ? -h / 2 : -h - 5]] : [[-w / 2, -h / 2], [8, -h / 2], [-w - 8, -h / 2], [-w / 2, -h - 8], [-w / 2, 8], [10, -h - 6], [-w - 10, h - 6]];
    for (const [dx, dy] of tries) {
      const box = [at[0] + dx, at[1] + dy, at[0] + dx + w, at[1] + dy + h];
      const inside = box[0] >= 0 && box[1] >= 0 && box[2] <= holder.clientWidth && box[3] <= view.height();
      if (inside && taken.every((other) => box[2] < other[0] || box[0] > other[2] || box[3] < other[1] || box[1] > other[3])) {
        taken.push(box);
        label.span.style.transform = `translate(${box[0].toFixed(1)}px, ${box[1].toFixed(1)}px)`;
        return true;
      }
    }
    return false;
  }

  return {
    place(time, withNames) {
      const taken = [];
      for (const label of labels) {
        label.span.style.visibility = withNames && settle(label, taken) ? "visible" : "hidden";
        if (label.jet) label.span.classList.toggle("on", shareAt(label.jet, time) > 0.5);
      }
    },
  };
}
