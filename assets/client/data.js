// What the page was given: the scene as JSON, and the packed numbers behind it.

const scene = JSON.parse(document.getElementById("scene").textContent);
const element = (id) => document.getElementById(id);

/** The packed bytes, in the order in which they were written. */
function unpacked() {
  const text = atob(element("bytes").textContent);
  const packed = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) packed[i] = text.charCodeAt(i);
  return library.unzlibSync(packed);
}

/** Takes pieces off the front of some bytes. */
function reader(bytes) {
  let at = 0;
  const take = (count) => bytes.slice(at, (at += count));
  return {
    take,
    /** Little-endian whole numbers of two or four bytes. */
    numbers(count, Type) {
      const piece = take(count * Type.BYTES_PER_ELEMENT);
      return new Type(piece.buffer, 0, count);
    },
  };
}

/** Frames from their differences; each holds all x, then all y, then all z. */
function readFrames(from, count, length) {
  const frames = [];
  let before = new Int8Array(length);
  for (let f = 0; f < count; f++) {
    const frame = new Int8Array(from.take(length).buffer);
    for (let i = 0; i < length; i++) frame[i] += before[i];
    frames.push(frame);
    before = frame;
  }
  return frames;
}

/** Everything packed, ready to use. */
function readAll() {
  const from = reader(unpacked());
  const { n, cells, times } = scene.motion;
  const blocks = n[0] * n[1] * n[2];
  const data = { blocks };
  data.frames = readFrames(from, times.length, 3 * blocks);
  data.water = Float32Array.from(from.take(blocks), (share) => share / 255);
  data.wet = from.take(Math.ceil((cells[0] * cells[1] * cells[2]) / 8));
  data.rockPoints = from.numbers(3 * scene.rock.points, Uint16Array);
  data.rockShade = from.take(scene.rock.points);
  data.rockTriangles = from.numbers(3 * scene.rock.triangles, Uint32Array);
  return data;
}
