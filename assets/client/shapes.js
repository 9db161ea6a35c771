// Points and triangles of simple things: flat arrays, three numbers a point.

const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const scaled = (a, s) => a.map((x) => x * s);
const sum = (a, b) => a.map((x, d) => x + b[d]);
const unit = (a) => scaled(a, 1 / Math.max(1e-9, Math.hypot(...a)));

/** A shape under construction. */
function makeShape() {
  const position = [], normal = [], shade = [], index = [];
  return {
    position, normal, shade, index,
    /** Four corners round a flat face, anticlockwise seen from the side that the normal points to. */
    quad(corners) {
      const start = position.length / 3;
      const away = unit(cross(sum(corners[1], scaled(corners[0], -1)), sum(corners[3], scaled(corners[0], -1))));
      for (const corner of corners) {
        position.push(...corner);
        normal.push(...away);
        shade.push(1);
      }
      index.push(start, start + 1, start + 2, start, start + 2, start + 3);
    },
  };
}

/** The six faces of an upright box, looking out. */
function addBox(shape, from, to) {
  const low = from.map((x, d) => Math.min(x, to[d])), high = from.map((x, d) => Math.max(x, to[d]));
  const [x, y, z] = low, [X, Y, Z] = high;
  shape.quad([[x, y, z], [X, y, z], [X, y, Z], [x, y, Z]]);
  shape.quad([[X, Y, z], [x, Y, z], [x, Y, Z], [X, Y, Z]]);
  shape.quad([[x, Y, z], [x, y, z], [x, y, Z], [x, Y, Z]]);
  shape.quad([[X, y, z], [X, Y, z], [X, Y, Z], [X, y, Z]]);
  shape.quad([[x, y, Z], [X, y, Z], [X, Y, Z], [x, Y, Z]]);
  shape.quad([[x, Y, z], [X, Y, z], [X, y, z], [x, y, z]]);
}

/** Two unit vectors across a direction and across each other. */
function across(axis) {
  const side = unit(cross(axis, Math.abs(axis[2]) > 0.9 ? [1, 0, 0] : [0, 0, 1]));
  return [side, cross(axis, side)];
}

/** A tube with a closed end, from a place along a direction; narrower at its end when `tip` is under 1. */
function addTube(shape, at, axis, radius, length, tip) {
  const SIDES = 16;
  const [u, v] = across(axis);
  const ring = (turn, r) => sum(scaled(u, r * Math.cos(turn)), scaled(v, r * Math.sin(turn)));
  const end = sum(at, scaled(axis, length));
  for (let i = 0; i < SIDES; i++) {
    const a = (2 * Math.PI * i) / SIDES, b = (2 * Math.PI * (i + 1)) / SIDES;
    shape.quad([sum(at, ring(a, radius)), sum(at, ring(b, radius)), sum(end, ring(b, radius * tip)), sum(end, ring(a, radius * tip))]);
    shape.quad([end, sum(end, ring(a, radius * tip)), sum(end, ring((a + b) / 2, radius * tip)), sum(end, ring(b, radius * tip))]);
  }
}

/** The twelve edges of a box, as pairs of points. */
function boxEdges(from, to) {
  const corner = (bits) => [0, 1, 2].map((d) => ((bits >> d) & 1 ? to[d] : from[d]));
  const lines = [];
  for (let bits = 0; bits < 8; bits++) {
    for (let d = 0; d < 3; d++) {
      if (!((bits >> d) & 1)) lines.push(...corner(bits), ...corner(bits | (1 << d)));
    }
  }
  return lines;
}

/** The rock as it was packed, with normals from its triangles. */
function rockShape(data) {
  const { origin, step } = scene.rock;
  const position = new Float32Array(data.rockPoints.length), normal = new Float32Array(position.length);
  for (let i = 0; i < position.length; i++) position[i] = origin[i % 3] + step * data.rockPoints[i];
  const at = (i) => [position[3 * i], position[3 * i + 1], position[3 * i + 2]];
  for (let t = 0; t < data.rockTriangles.length; t += 3) {
    const [a, b, c] = [0, 1, 2].map((i) => data.rockTriangles[t + i]);
    const away = cross(sum(at(b), scaled(at(a), -1)), sum(at(c), scaled(at(a), -1)));
    for (const i of [a, b, c]) for (let d = 0; d < 3; d++) normal[3 * i + d] += away[d];
  }
  const shade = Float32Array.from(data.rockShade, (open) => 0.45 + (0.55 * open) / 255);
  return { position, normal, shade, index: data.rockTriangles };
}
