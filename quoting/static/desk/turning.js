// Turns a part in the page: a drawing board's view without perspective, lit as the pictures are. The mesh is fetched
// when somebody opens the view; without WebGL the view stays hidden and the pictures stand alone.

import { readGlb } from "./glb.js";
import { drawScene, prepareScene } from "./turning_scene.js";

const START = { turn: -32, lift: 33, zoom: 1, shift: [0, 0] }; // degrees: the view of the picture from above
const STEP = 15; // degrees for a key or a button
const CLOSER = 1.25;
const LARGEST_ZOOM = 40, SMALLEST_ZOOM = 0.5;
const PER_PIXEL = 0.4; // degrees
const KEYS = {
  ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down", "+": "closer", "=": "closer",
  "-": "away", Home: "reset",
};

class Turning {
  constructor(box, gl) {
    this.box = box;
    this.gl = gl;
    this.canvas = gl.canvas;
    this.view = structuredClone(START);
    this.pointers = new Map();
    this.find = (name) => box.querySelector(`[data-${name}]`);
  }

  async load() {
    const answer = await fetch(this.box.dataset.turning, { credentials: "same-origin" });
    if (!answer.ok) throw new Error(`status ${answer.status}`);
    this.model = readGlb(await answer.arrayBuffer());
    this.scene = prepareScene(this.gl, this.model);
    this.box.querySelector(".turning-box").hidden = false;
    this.model.extras.layers.forEach((layer) => this.addLayer(layer));
    this.choose(this.model.extras.layers[0]);
    this.listen();
    this.tell();
  }

  addLayer(layer) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "btn btn-plain btn-sm";
    button.textContent = layer.name;
    button.addEventListener("click", () => this.choose(layer));
    this.find("layers").append(button);
  }

  choose(layer) {
    this.layer = layer;
    for (const button of this.find("layers").children) {
      button.setAttribute("aria-pressed", button.textContent === layer.name);
    }
    this.find("title").textContent = layer.title;
    this.find("note").textContent = layer.note;
    this.find("legend").replaceChildren(...layer.legend.map(legendEntry).reverse());
    this.redraw();
  }

  listen() {
    const { canvas, box } = this;
    for (const button of box.querySelectorAll("[data-do]")) {
      button.addEventListener("click", () => this.act(button.dataset.do));
    }
    canvas.addEventListener("keydown", (event) => {
      if (!KEYS[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      this.act(KEYS[event.key]);
    });
    canvas.addEventListener("wheel", (event) => {
      if (document.activeElement !== canvas && !event.ctrlKey) return; // the page scrolls on until the view is taken up
      event.preventDefault();
      this.zoom(Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.0015)), this.place(event));
      this.tell();
    }, { passive: false });
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      this.pointers.set(event.pointerId, this.place(event));
    });
    canvas.addEventListener("pointermove", (event) => this.moved(event));
    for (const name of ["pointerup", "pointercancel"]) {
      canvas.addEventListener(name, (event) => {
        this.pointers.delete(event.pointerId);
        this.tell();
      });
    }
    canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
    canvas.addEventListener("webglcontextrestored", () => {
      this.scene = prepareScene(this.gl, this.model);
      this.redraw();
    });
    new ResizeObserver(() => this.redraw()).observe(canvas);
  }

  /** Where a pointer stands, from -1 to 1 to the right and up. */
  place(event) {
    const frame = this.canvas.getBoundingClientRect();
    return [2 * (event.clientX - frame.left) / frame.width - 1, 1 - 2 * (event.clientY - frame.top) / frame.height];
  }

  moved(event) {
    const before = this.pointers.get(event.pointerId);
    if (!before) return;
    const here = this.place(event), step = [here[0] - before[0], here[1] - before[1]];
    const others = [...this.pointers].filter(([id]) => id !== event.pointerId).map(([, at]) => at);
    this.pointers.set(event.pointerId, here);
    if (others.length) {
      const apart = (at) => Math.hypot((at[0] - others[0][0]) * this.canvas.clientWidth, (at[1] - others[0][1]) * this.canvas.clientHeight);
      this.view.shift = this.view.shift.map((value, axis) => value + step[axis] / 2);
      this.zoom(apart(here) / Math.max(apart(before), 1), here.map((value, axis) => (value + others[0][axis]) / 2));
    } else if (event.shiftKey) {
      this.view.shift = this.view.shift.map((value, axis) => value + step[axis]);
    } else {
      this.turn(step[0] * this.canvas.clientWidth / 2 * PER_PIXEL, -step[1] * this.canvas.clientHeight / 2 * PER_PIXEL);
    }
    this.redraw();
  }

  act(deed) {
    if (deed === "reset") this.view = structuredClone(START);
    if (deed === "left") this.turn(-STEP, 0);
    if (deed === "right") this.turn(STEP, 0);
    if (deed === "up") this.turn(0, STEP);
    if (deed === "down") this.turn(0, -STEP);
    if (deed === "closer") this.zoom(CLOSER, [0, 0]);
    if (deed === "away") this.zoom(1 / CLOSER, [0, 0]);
    this.redraw();
    this.tell();
  }

  turn(round, lift) {
    this.view.turn = (this.view.turn + round + 540) % 360 - 180;
    this.view.lift = Math.min(90, Math.max(-90, this.view.lift + lift));
  }

  /** Closer by a factor, with what lies at `place` staying there. */
  zoom(factor, place) {
    const zoom = Math.min(LARGEST_ZOOM, Math.max(SMALLEST_ZOOM, this.view.zoom * factor)), by = zoom / this.view.zoom;
    this.view.shift = this.view.shift.map((value, axis) => place[axis] + (value - place[axis]) * by);
    this.view.zoom = zoom;
    this.redraw();
  }

  redraw() {
    this.asked ??= requestAnimationFrame(() => {
      this.asked = undefined;
      drawScene(this.gl, this.scene, this.layer, this.view);
    });
  }

  tell() {
    const { turn, lift, zoom } = this.view, level = Math.round(lift);
    const from = level === 90 ? "along the draw" : level === 0 ? "level with the rim"
      : `${Math.abs(level)}° ${level > 0 ? "above" : "below"} the rim`;
    this.find("seen").textContent = `Seen ${from}, turned ${String(Math.round(turn)).replace("-", "−")}°, zoom ${Math.round(100 * zoom)}\u00a0%`;
  }
}

function legendEntry({ colour, label, hatched }) {
  const entry = document.createElement("li"), swatch = document.createElement("span");
  swatch.className = hatched ? "swatch swatch-hatched" : "swatch";
  swatch.style.setProperty("--swatch", `rgb(${colour.join(" ")})`);
  entry.append(swatch, label);
  return entry;
}

for (const box of document.querySelectorAll("[data-turning]")) {
  const gl = box.querySelector("canvas").getContext("webgl2", { antialias: true, alpha: false });
  if (!gl) continue;
  box.hidden = false;
  const state = box.querySelector(".turning-state"), details = box.querySelector("details");
  let isAsked = false;
  details.addEventListener("toggle", async () => {
    if (!details.open || isAsked) return;
    isAsked = true;
    state.textContent = "Loading the model…";
    try {
      await new Turning(box, gl).load();
      state.textContent = "";
    } catch (error) {
      isAsked = false;
      state.textContent = "The model could not be loaded. Close this and open it again, or go by the pictures above.";
      console.warn(error);
    }
  });
}
