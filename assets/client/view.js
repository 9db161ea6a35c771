// The view: tank, rock, nozzles and drifting marks, drawn with WebGL.

const SOLID = {
  vertex: `
    attribute vec3 position; attribute vec3 normal; attribute float shade;
    uniform mat4 viewMatrix; uniform mat4 projectionMatrix;
    varying vec3 vNormal; varying float vShade; varying vec3 vPlace;
    void main() {
      vNormal = normal; vShade = shade; vPlace = position;
      gl_Position = projectionMatrix * viewMatrix * vec4(position, 1.0);
    }`,
  fragment: `
    precision highp float;
    uniform vec3 colour; uniform float alpha; uniform float flat_light; uniform vec3 cameraPosition;
    varying vec3 vNormal; varying float vShade; varying vec3 vPlace;
    void main() {
      vec3 n = normalize(vNormal);
      vec3 eye = normalize(cameraPosition - vPlace);
      float light = 0.30 + 0.55 * max(dot(n, normalize(vec3(-0.35, -0.45, 0.82))), 0.0) + 0.22 * max(dot(n, eye), 0.0);
      gl_FragColor = vec4(colour * mix(light * vShade, 1.0, flat_light), alpha);
    }`,
};

const LINE = {
  vertex: `
    attribute vec3 position; uniform mat4 viewMatrix; uniform mat4 projectionMatrix;
    void main() { gl_Position = projectionMatrix * viewMatrix * vec4(position, 1.0); }`,
  fragment: `precision mediump float; uniform vec3 colour; uniform float alpha; void main() { gl_FragColor = vec4(colour, alpha); }`,
};

// A mark is a streak on the screen from where the water was a moment ago to where it is.
const STREAK = {
  vertex: `
    attribute vec2 position; attribute vec3 place; attribute vec3 velocity; attribute vec3 tint; attribute float fade;
    uniform mat4 viewMatrix; uniform mat4 projectionMatrix; uniform vec2 pixels; uniform float trail; uniform float width;
    varying vec3 vTint; varying float vFade; varying vec2 vCorner;
    void main() {
      mat4 seen = projectionMatrix * viewMatrix;
      vec4 head = seen * vec4(place, 1.0), tail = seen * vec4(place - velocity * trail, 1.0);
      vec2 a = head.xy / head.w * pixels, b = tail.xy / tail.w * pixels;
      vec2 along = a - b;
      float length_ = length(along);
      along = length_ > 0.001 ? along / length_ : vec2(1.0, 0.0);
      vec2 at = mix(b, a, position.y) + vec2(-along.y, along.x) * position.x * width + along * (position.y * 2.0 - 1.0) * width;
      gl_Position = vec4(at / pixels, mix(tail.z / tail.w, head.z / head.w, position.y), 1.0);
      vTint = tint; vFade = fade; vCorner = position;
    }`,
  fragment: `
    precision mediump float; varying vec3 vTint; varying float vFade; varying vec2 vCorner;
    void main() {
      float edge = 1.0 - vCorner.x * vCorner.x;
      gl_FragColor = vec4(vTint, vFade * edge * mix(0.12, 1.0, vCorner.y));
    }`,
};

const COLOURS = {
  rock: [0.6, 0.55, 0.5], sand: [0.5, 0.455, 0.365], fitted: [0.55, 0.62, 0.68], glass: [0.62, 0.78, 0.88], surface: [0.35, 0.66, 0.82],
  wall: [0.075, 0.115, 0.15], resting: [0.56, 0.6, 0.64], running: [0.95, 0.55, 0.22], intake: [0.93, 0.95, 0.97],
};

/** Starts WebGL on the canvas; nothing when the browser has none. */
function makeView(canvas, data, drift) {
  const { Camera, Geometry, Mesh, Program, Renderer, Transform } = library;
  const trial = document.createElement("canvas");
  if (!(trial.getContext("webgl2") || trial.getContext("webgl"))) return null;
  const renderer = new Renderer({ canvas, dpr: Math.min(2, window.devicePixelRatio || 1), antialias: true, alpha: false, preserveDrawingBuffer: true });
  const gl = renderer.gl;
  gl.clearColor(0.051, 0.086, 0.114, 1);
  const camera = new Camera(gl, { fov: 32, near: 0.02, far: 100 });
  camera.up.set(0, 0, 1);
  const root = new Transform();

  const floats = (list) => (list instanceof Float32Array ? list : new Float32Array(list));
  function program(source, uniforms, options) {
    return new Program(gl, { ...source, uniforms, cullFace: false, ...options });
  }
  function add(shape, colour, { alpha = 1, flat = 0, order = 0, cull = false } = {}) {
    const geometry = new Geometry(gl, {
      position: { size: 3, data: floats(shape.position) },
      normal: { size: 3, data: floats(shape.normal) },
      shade: { size: 1, data: floats(shape.shade) },
      index: { data: new Uint32Array(shape.index) },
    });
    const uniforms = { colour: { value: colour.slice() }, alpha: { value: alpha }, flat_light: { value: flat } };
    const see_through = alpha < 1;
    const options = { transparent: see_through, depthWrite: !see_through, cullFace: cull ? gl.BACK : false };
    const mesh = new Mesh(gl, { geometry, program: program(SOLID, uniforms, options), frustumCulled: false, renderOrder: order });
    mesh.setParent(root);
    return mesh;
  }
  function addLines(lines, colour, alpha) {
    const geometry = new Geometry(gl, { position: { size: 3, data: floats(lines) } });
    const uniforms = { colour: { value: colour }, alpha: { value: alpha } };
    const mesh = new Mesh(gl, { geometry, mode: gl.LINES, program: program(LINE, uniforms, { transparent: true, depthWrite: false }), frustumCulled: false, renderOrder: 2 });
    mesh.setParent(root);
  }

  const [L, W, H] = scene.size;
  buildTank();
  const nozzles = scene.jets.map(buildJet);
  const streaks = buildStreaks();

  function buildTank() {
    const faces = {
      back: [[0, W, 0], [L, W, 0], [L, W, H], [0, W, H]], front: [[L, 0, 0], [0, 0, 0], [0, 0, H], [L, 0, H]],
      left: [[0, 0, 0], [0, W, 0], [0, W, H], [0, 0, H]], right: [[L, W, 0], [L, 0, 0], [L, 0, H], [L, W, H]],
      bottom: [[0, 0, 0], [L, 0, 0], [L, W, 0], [0, W, 0]],
    };
    const wall = makeShape();
    for (const name of [...scene.opaque.filter((name) => name !== "bottom"), "bottom"]) wall.quad(faces[name]);
    add(wall, COLOURS.wall, { flat: 1, cull: true });
    if (scene.sand > 0) {
      const sand = makeShape();
      addBox(sand, [0, 0, 0.001], [L, W, scene.sand]);
      add(sand, COLOURS.sand);
    }
    if (scene.rock.points > 0) add(rockShape(data), COLOURS.rock);
    const fitted = makeShape();
    for (const [from, to] of scene.boxes) addBox(fitted, from, to);
    if (scene.boxes.length) {
      add(fitted, COLOURS.fitted, { alpha: 0.28, order: 3 });
      addLines(scene.boxes.flatMap(([from, to]) => boxEdges(from, to)), COLOURS.glass, 0.35);
    }
    addLines(boxEdges([0, 0, 0], [L, W, H]), COLOURS.glass, 0.75);
    const surface = makeShape();
    surface.quad([[0, 0, scene.level], [L, 0, scene.level], [L, W, scene.level], [0, W, scene.level]]);
    add(surface, COLOURS.surface, { alpha: 0.1, flat: 1, order: 4 });
    addLines(boxEdges([0, 0, scene.level], [L, W, scene.level]), COLOURS.surface, 0.5);
    const intakes = makeShape();
    for (const intake of scene.intakes) addTube(intakes, intake.at, intake.normal, intake.radius, intake.radius * 0.7, 1);
    add(intakes, COLOURS.intake);
  }

  function buildJet(jet) {
    const shape = makeShape();
    const radius = Math.max(0.5 * jet.bore, 0.012) * (jet.propeller ? 1 : 1.25);
    const back = jet.propeller ? -0.6 : 0;
    addTube(shape, sum(jet.at, scaled(jet.aim, back * jet.bore)), jet.aim, radius, jet.propeller ? jet.bore * 1.2 : radius * 3.2, jet.propeller ? 1 : 0.72);
    return add(shape, COLOURS.resting);
  }

  function buildStreaks() {
    const tints = new Float32Array(3 * drift.count);
    const geometry = new Geometry(gl, {
      position: { size: 2, data: new Float32Array([-1, 0, 1, 0, -1, 1, 1, 1]) },
      index: { data: new Uint16Array([0, 1, 2, 2, 1, 3]) },
      place: { size: 3, instanced: 1, data: drift.places, usage: gl.DYNAMIC_DRAW },
      velocity: { size: 3, instanced: 1, data: drift.velocities, usage: gl.DYNAMIC_DRAW },
      tint: { size: 3, instanced: 1, data: tints, usage: gl.DYNAMIC_DRAW },
      fade: { size: 1, instanced: 1, data: drift.fades, usage: gl.DYNAMIC_DRAW },
    });
    const uniforms = { pixels: { value: [1, 1] }, trail: { value: 0.45 }, width: { value: 1.2 } };
    const mesh = new Mesh(gl, { geometry, program: program(STREAK, uniforms, { transparent: true, depthWrite: false }), frustumCulled: false, renderOrder: 1 });
    mesh.setParent(root);
    return { geometry, uniforms, tints };
  }

  function tint() {
    const last = scene.colours.length - 1;
    for (let i = 0; i < drift.count; i++) {
      const v = drift.velocities, p = 3 * i;
      const share = Math.min(1, Math.hypot(v[p], v[p + 1], v[p + 2]) / scene.scale);
      const colour = scene.colours[Math.round(share * last)];
      for (let d = 0; d < 3; d++) streaks.tints[p + d] = colour[d] / 255;
    }
  }

  /** Where the camera looks from: turn and lift in radians, 0 and 0 from the front; nearness 1 shows the whole tank. */
  const look = { turn: 0.5, lift: 0.42, nearness: 1 };
  const middle = [L / 2, W / 2, H / 2];

  function placeCamera() {
    const [sinT, cosT, sinL, cosL] = [Math.sin(look.turn), Math.cos(look.turn), Math.sin(look.lift), Math.cos(look.lift)];
    const back = [sinT * cosL, -cosT * cosL, sinL], right = [cosT, sinT, 0], up = cross(back, right);
    const tall = Math.tan((camera.fov * Math.PI) / 360), wide = tall * camera.aspect;
    // How far back each side of the picture pushes the camera; halfway between two opposite sides the tank is in the middle.
    const push = (axis, width) => {
      let plus = -Infinity, minus = -Infinity;
      for (let bits = 0; bits < 8; bits++) {
        const corner = [0, 1, 2].map((d) => (((bits >> d) & 1) - 0.5) * scene.size[d]);
        plus = Math.max(plus, dot(corner, axis) / width + dot(corner, back));
        minus = Math.max(minus, -dot(corner, axis) / width + dot(corner, back));
      }
      return { away: (plus + minus) / 2, shift: (width * (plus - minus)) / 2 };
    };
    const sideways = push(right, wide), upright = push(up, tall);
    const target = sum(middle, sum(scaled(right, sideways.shift), scaled(up, upright.shift)));
    const away = Math.max(sideways.away, upright.away);
    camera.position.set(...sum(target, scaled(back, (away * 1.1) / look.nearness)));
    camera.lookAt(target);
  }

  function resize() {
    const { clientWidth, clientHeight } = canvas;
    if (!clientWidth || !clientHeight) return;
    renderer.setSize(clientWidth, clientHeight);
    canvas.style.width = canvas.style.height = "";
    camera.perspective({ aspect: clientWidth / clientHeight });
    streaks.uniforms.pixels.value = [gl.canvas.width / 2, gl.canvas.height / 2];
    streaks.uniforms.width.value = 1.05 * renderer.dpr;
  }

  function draw(time) {
    placeCamera();
    tint();
    for (const name of ["place", "velocity", "tint", "fade"]) streaks.geometry.attributes[name].needsUpdate = true;
    scene.jets.forEach((jet, i) => {
      const share = shareAt(jet, time);
      nozzles[i].program.uniforms.colour.value = COLOURS.resting.map((x, d) => x + share * (COLOURS.running[d] - x));
    });
    renderer.render({ scene: root, camera });
  }

  /** Where a place in the tank is on the canvas, in CSS pixels; null behind the viewer. */
  function onCanvas(place) {
    const point = new library.Vec3(...place);
    camera.project(point);
    if (point[2] > 1) return null;
    return [(0.5 + 0.5 * point[0]) * canvas.clientWidth, (0.5 - 0.5 * point[1]) * canvas.clientHeight];
  }

  resize();
  /** Whether a wall that looks this way, level, is on the viewer's side of the tank. */
  const faces = (x, y) => x * Math.sin(look.turn) - y * Math.cos(look.turn) > 0;

  return { look, resize, draw, onCanvas, faces };
}
