// Play, time, turning: by mouse, finger and keyboard.

const LOOKS = { corner: [0.5, 0.42], front: [0, 0.08], above: [0, 1.55], left: [-Math.PI / 2, 0.12], right: [Math.PI / 2, 0.12] };
const calm = window.matchMedia("(prefers-reduced-motion: reduce)");

function start() {
  const canvas = element("view"), slider = element("time"), lanes = Array.from(document.querySelectorAll(".lane:not(.clock):not(.ends)"));
  const data = readAll();
  const water = makeWater(data);
  const drift = makeDrift(water, window.innerWidth < 700 ? 2200 : 4200);
  canvas.hidden = false;
  const view = makeView(canvas, data, drift);
  if (!view) throw new Error("this browser can't draw in three dimensions (no WebGL)");
  view.height = () => canvas.clientHeight;
  element("still").hidden = true;
  element("controls").hidden = false;
  slider.disabled = false;
  const labels = makeLabels(view);
  const state = { time: 0, playing: false, stale: true, goal: null, last: 0, visible: true };

  water.set(0);
  for (let i = 0; i < 30; i++) drift.advance(0.1, 0);

  function show() {
    const share = water.length > 0 ? state.time / water.length : 0;
    element("lanes").style.setProperty("--t", share.toFixed(4));
    slider.value = String(Math.round(1000 * share));
    const words = `${state.time.toFixed(0)} s`;
    if (element("now").textContent !== words) element("now").textContent = words;
    slider.setAttribute("aria-valuetext", `${words} of ${water.length.toFixed(0)} s`);
    scene.jets.forEach((jet, i) => lanes[i].classList.toggle("on", shareAt(jet, state.time) > 0.5));
    labels.place(state.time, element("names").checked);
  }

  function glide(dt) {
    if (!state.goal) return;
    const step = calm.matches ? 1 : Math.min(1, 6 * dt);
    const [turn, lift] = state.goal;
    view.look.turn += step * (turn - view.look.turn);
    view.look.lift += step * (lift - view.look.lift);
    if (Math.abs(turn - view.look.turn) + Math.abs(lift - view.look.lift) < 0.002) state.goal = null;
    state.stale = true;
  }

  function tick(now) {
    const wall = Math.min(0.1, (now - state.last) / 1000);
    state.last = now;
    glide(wall);
    if (state.playing && state.visible) {
      const dt = wall * Number(element("pace").value);
      state.time += dt;
      if (state.time >= water.length) state.time = water.length > 0 ? state.time % water.length : 0;
      water.set(state.time);
      const parts = Math.ceil(dt / 0.1);
      for (let i = 0; i < parts; i++) drift.advance(dt / parts, state.time);
      state.stale = true;
    }
    if (state.stale && state.visible) {
      view.draw(state.time);
      show();
      state.stale = false;
    }
    requestAnimationFrame(tick);
  }

  function play(on) {
    state.playing = on;
    element("play").textContent = on ? "Pause" : "Play";
  }

  function seek(time) {
    state.time = Math.min(water.length, Math.max(0, time));
    water.set(state.time);
    for (let i = 0; i < 12; i++) drift.advance(0.1, state.time);
    state.stale = true;
  }

  function turn(by, lift) {
    const from = state.goal || [view.look.turn, view.look.lift];
    state.goal = [from[0] + by, Math.min(1.55, Math.max(-0.25, from[1] + lift))];
    pressed(null);
  }

  function come(by) {
    view.look.nearness = Math.min(6, Math.max(0.6, view.look.nearness * by));
    state.stale = true;
  }

  function pressed(name) {
    for (const button of document.querySelectorAll("[data-look]")) button.setAttribute("aria-pressed", String(button.dataset.look === name));
  }

  function lookFrom(name) {
    const [turned, lift] = LOOKS[name];
    const round = 2 * Math.PI * Math.round((view.look.turn - turned) / (2 * Math.PI));
    state.goal = [turned + round, lift];
    view.look.nearness = 1;
    pressed(name);
  }

  const keys = {
    ArrowLeft: () => turn(-0.2, 0), ArrowRight: () => turn(0.2, 0), ArrowUp: () => turn(0, 0.15), ArrowDown: () => turn(0, -0.15),
    "+": () => come(1.15), "=": () => come(1.15), "-": () => come(1 / 1.15), Home: () => lookFrom("corner"),
  };
  canvas.addEventListener("keydown", (event) => {
    const act = keys[event.key];
    if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    act();
  });
  document.addEventListener("keydown", (event) => {
    const busy = event.target.closest && event.target.closest("button, select, input, a");
    if (event.key !== " " || busy || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    play(!state.playing);
  });

  let held = null;
  canvas.addEventListener("pointerdown", (event) => {
    held = [event.clientX, event.clientY];
    canvas.setPointerCapture(event.pointerId);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!held) return;
    const [dx, dy] = [event.clientX - held[0], event.clientY - held[1]];
    held = [event.clientX, event.clientY];
    state.goal = null;
    view.look.turn -= dx * 0.008;
    view.look.lift = Math.min(1.55, Math.max(-0.25, view.look.lift + dy * 0.006));
    pressed(null);
    state.stale = true;
  });
  for (const name of ["pointerup", "pointercancel"]) canvas.addEventListener(name, () => (held = null));

  element("play").addEventListener("click", () => play(!state.playing));
  element("nearer").addEventListener("click", () => come(1.25));
  element("farther").addEventListener("click", () => come(1 / 1.25));
  element("names").addEventListener("change", () => (state.stale = true));
  slider.addEventListener("input", () => seek((Number(slider.value) / 1000) * water.length));
  for (const button of document.querySelectorAll("[data-look]")) button.addEventListener("click", () => lookFrom(button.dataset.look));
  new ResizeObserver(() => {
    view.resize();
    state.stale = true;
  }).observe(canvas);
  new IntersectionObserver((entries) => {
    state.visible = entries[entries.length - 1].isIntersecting;
    state.stale = true;
  }).observe(canvas);
  canvas.addEventListener("webglcontextlost", (event) => {
    event.preventDefault();
    standStill("the browser took the drawing surface away; load the page again");
  });

  pressed("corner");
  play(!calm.matches);
  requestAnimationFrame((now) => {
    state.last = now;
    tick(now);
  });
  // For whoever checks the page: what it is doing now.
  window.slackwater = { state, look: view.look, water, drift };
}

/** Shows the still picture and says why. */
function standStill(why) {
  element("view").hidden = true;
  element("still").hidden = false;
  element("controls").hidden = true;
  element("why-still").textContent = `This picture stands still: ${why}.`;
}

try {
  start();
} catch (error) {
  standStill(error.message);
}
