// The moving water and the marks that drift with it. Metres and seconds; x along the length, y to the back, z up.

/** A kept component, -127 to 127, in m/s: the square of its share of the top, with its sign. */
const speedOf = Float32Array.from({ length: 256 }, (_, byte) => {
  const share = (byte < 128 ? byte : byte - 256) / 127;
  return scene.motion.top * share * Math.abs(share);
});

/** Repeatable random numbers from 0 to 1 (a 32-bit xorshift). */
function randomNumbers(seed) {
  let state = seed;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) / 4294967296;
  };
}

/** The recorded water. `set` picks the time; `at` then gives the velocity at a place. */
function makeWater(data) {
  const { n, h, cells, cell, times } = scene.motion;
  const length = times[times.length - 1];
  const now = new Float32Array(3 * data.blocks);
  let frame = 0;

  function set(time) {
    if (times[frame] > time) frame = 0;
    while (frame + 2 < times.length && times[frame + 1] <= time) frame++;
    const next = Math.min(frame + 1, times.length - 1);
    const span = times[next] - times[frame];
    const share = span > 0 ? Math.min(1, Math.max(0, (time - times[frame]) / span)) : 0;
    const a = data.frames[frame], b = data.frames[next];
    for (let i = 0; i < now.length; i++) {
      const from = speedOf[a[i] & 255];
      now[i] = from + share * (speedOf[b[i] & 255] - from);
    }
  }

  // The eight blocks round a place: first block, steps to the next ones, shares. Kept outside the loop, for it runs some 10 000 times a picture.
  const [nx, ny, nz] = n, row = nx, layer = nx * ny;
  const clamped = (x, count) => Math.min(count - 1, Math.max(0, x / h - 0.5));
  const lowest = (along, count) => Math.min(Math.floor(along), Math.max(0, count - 2));

  function at(x, y, z, out) {
    const ax = clamped(x, nx), ay = clamped(y, ny), az = clamped(z, nz);
    const i = lowest(ax, nx), j = lowest(ay, ny), k = lowest(az, nz);
    const px = ax - i, py = ay - j, pz = az - k;
    const sx = nx > 1 ? 1 : 0, sy = ny > 1 ? row : 0, sz = nz > 1 ? layer : 0;
    const first = i + row * j + layer * k;
    let all = 1e-6, u = 0, v = 0, w = 0;
    for (let corner = 0; corner < 8; corner++) {
      const cx = corner & 1, cy = (corner >> 1) & 1, cz = corner >> 2;
      const block = first + cx * sx + cy * sy + cz * sz;
      const weight = (cx ? px : 1 - px) * (cy ? py : 1 - py) * (cz ? pz : 1 - pz) * data.water[block];
      all += weight;
      u += weight * now[block];
      v += weight * now[block + data.blocks];
      w += weight * now[block + 2 * data.blocks];
    }
    out[0] = u / all;
    out[1] = v / all;
    out[2] = w / all;
  }

  function isWet(x, y, z) {
    const i = Math.floor(x / cell), j = Math.floor(y / cell), k = Math.floor(z / cell);
    if (!(i >= 0 && j >= 0 && k >= 0 && i < cells[0] && j < cells[1] && k < cells[2])) return false;
    const index = i + cells[0] * (j + cells[1] * k);
    return ((data.wet[index >> 3] >> (index & 7)) & 1) === 1;
  }

  const box = cells.map((count) => count * cell);
  return { length, set, at, isWet, box };
}

/** Share of its largest flow that a jet has at a time. */
function shareAt(jet, time) {
  const times = scene.motion.times;
  let after = 1;
  while (after < times.length - 1 && times[after] < time) after++;
  if (times.length < 2) return jet.share[0] || 0;
  const span = times[after] - times[after - 1];
  const part = span > 0 ? Math.min(1, Math.max(0, (time - times[after - 1]) / span)) : 0;
  return jet.share[after - 1] + part * (jet.share[after] - jet.share[after - 1]);
}

/** Marks that drift: `places` and `velocities` three numbers each, `fades` one. Places are looked at as they are kept, in single precision:
 *  rounding may carry one over the edge of a rock. */
function makeDrift(water, count) {
  const AT_JETS = 0.3, SHORTEST = 3, LONGEST = 9, FADING = 0.8;
  const random = randomNumbers(20240229);
  const places = new Float32Array(3 * count), velocities = new Float32Array(3 * count), fades = new Float32Array(count);
  const ages = new Float32Array(count), lives = new Float32Array(count);
  const here = [0, 0, 0];

  function anywhere() {
    for (let tries = 0; tries < 60; tries++) {
      const place = water.box.map((edge) => Math.fround(edge * random()));
      if (water.isWet(...place)) return place;
    }
    return water.box.map((edge) => edge / 2);
  }

  function atJet(time) {
    const flows = scene.jets.map((jet) => jet.most * shareAt(jet, time));
    let mark = random() * flows.reduce((sum, flow) => sum + flow, 0);
    const jet = scene.jets[flows.findIndex((flow) => (mark -= flow) < 0)];
    if (!jet) return anywhere();
    const ahead = jet.bore * (1 + 2 * random());
    const place = jet.at.map((x, d) => Math.fround(x + ahead * jet.aim[d] + jet.bore * 0.5 * (2 * random() - 1)));
    return water.isWet(...place) ? place : anywhere();
  }

  function bear(i, time) {
    const place = random() < AT_JETS ? atJet(time) : anywhere();
    places.set(place, 3 * i);
    ages[i] = 0;
    lives[i] = SHORTEST + (LONGEST - SHORTEST) * random();
    water.at(...place, here);
    velocities.set(here, 3 * i);
  }

  function move(i, dt) {
    const p = 3 * i;
    water.at(places[p], places[p + 1], places[p + 2], here);
    water.at(places[p] + 0.5 * dt * here[0], places[p + 1] + 0.5 * dt * here[1], places[p + 2] + 0.5 * dt * here[2], here);
    velocities.set(here, p);
    const x = Math.fround(places[p] + dt * here[0]), y = Math.fround(places[p + 1] + dt * here[1]), z = Math.fround(places[p + 2] + dt * here[2]);
    if (water.isWet(x, y, z)) {
      places[p] = x;
      places[p + 1] = y;
      places[p + 2] = z;
    } else {
      ages[i] = Math.max(ages[i], lives[i] - FADING);
    }
  }

  function advance(dt, time) {
    for (let i = 0; i < count; i++) {
      ages[i] += dt;
      if (ages[i] >= lives[i]) bear(i, time);
      else move(i, dt);
      fades[i] = Math.max(0, Math.min(1, ages[i] / FADING, (lives[i] - ages[i]) / FADING));
    }
  }

  for (let i = 0; i < count; i++) {
    bear(i, 0);
    ages[i] = random() * lives[i];
  }
  return { count, places, velocities, fades, advance };
}
