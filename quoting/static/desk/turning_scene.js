// What is drawn: the shape of a layer, its creases as lines, and an arrow along the draw (+Y).

import * as twgl from "../vendor/twgl-7.0.0/twgl-full.module.min.js";

const GROUND = [0.98, 0.976, 0.961], INK = [28, 33, 40], BODY = [176, 190, 205], ARROW = [28, 79, 71];
const SHARPEST = 2; // device pixels for each pixel of the page
const MOST_BANDS = 16;

const VERTEX = `#version 300 es
in vec3 POSITION; in vec3 NORMAL; in float _VALUE; in float _FLAG;
uniform mat3 turned; uniform vec3 middle; uniform vec2 scale; uniform vec2 shift; uniform float reach; uniform float nearer;
out vec3 normal; out float value; out float flag;
void main() {
  vec3 seen = turned * (POSITION - middle);
  gl_Position = vec4(seen.xy * scale + shift, -seen.z / reach - nearer, 1.0);
  normal = turned * NORMAL; value = _VALUE; flag = _FLAG;
}`;

// The light is that of the pictures: a sun at the upper left and a fill, both wrapped half-way round.
const FRAGMENT = `#version 300 es
precision highp float;
in vec3 normal; in float value; in float flag;
uniform vec3 body; uniform vec3 bands[${MOST_BANDS}]; uniform int count; uniform vec3 none; uniform vec3 hatch;
uniform bool isPainted; uniform bool isHatched; uniform bool isLit; uniform float pixel;
out vec4 colour;
void main() {
  vec3 base = body;
  if (isPainted) base = value < -0.001 ? none : bands[int(clamp(floor(value * float(count) + 1e-4), 0.0, float(count) - 1.0))];
  if (isHatched && flag > 0.5) {
    float along = mod((gl_FragCoord.x + gl_FragCoord.y) / pixel, 7.0);
    base = along < 3.4 ? hatch : along < 4.6 ? vec3(1.0) : base;
  }
  if (isLit) {
    vec3 n = normalize(normal);
    if (n.z < 0.0) n = -n;
    float sun = clamp(0.5 + 0.5 * dot(n, vec3(-0.45, 0.62, 0.64)), 0.0, 1.0);
    float fill = clamp(0.5 + 0.5 * dot(n, vec3(0.75, 0.25, 0.61)), 0.0, 1.0);
    float light = 0.42 + 0.58 * sun * sun + 0.16 * fill * fill + 0.06 * pow(sun, 40.0);
    base *= isPainted ? 0.62 + 0.38 * min(light, 1.12) : light;
  }
  colour = vec4(base, 1.0);
}`;

const shares = (colour) => colour.map((part) => part / 255);

function bufferOf(gl, program, shape, indices) {
  const { POSITION, NORMAL, _VALUE, _FLAG } = shape.attributes;
  const info = twgl.createBufferInfoFromArrays(gl, {
    POSITION: { numComponents: 3, data: POSITION }, NORMAL: { numComponents: 3, data: NORMAL },
    _VALUE: { numComponents: 1, data: _VALUE }, _FLAG: { numComponents: 1, data: _FLAG },
    indices: { numComponents: 1, data: indices },
  });
  return twgl.createVertexArrayInfo(gl, program, info);
}

/** An arrow as high as `length` along +Y, standing at the origin. */
function arrowOf(length) {
  const { createTruncatedConeVertices: cone, reorientVertices, concatVertices } = twgl.primitives;
  const part = (bottom, top, height, foot) => reorientVertices(
    cone(bottom * length, top * length, height * length, 20, 1), twgl.m4.translation([0, (foot + height / 2) * length, 0]));
  const { position, normal, indices } = concatVertices([part(0.028, 0.028, 0.7, 0), part(0.085, 0, 0.3, 0.7)]);
  const blank = new Float32Array(position.length / 3);
  return { attributes: { POSITION: position, NORMAL: normal, _VALUE: blank, _FLAG: blank }, indices };
}

/** Everything on the graphics card, and the sizes that frame it. */
export function prepareScene(gl, { shapes }) {
  const program = twgl.createProgramInfo(gl, [VERTEX, FRAGMENT]);
  const { low, high } = shapes[0];
  const half = low.map((value, axis) => (high[axis] - value) / 2), middle = low.map((value, axis) => value + half[axis]);
  const length = 0.55 * Math.max(half[0], half[2]);
  const arrow = arrowOf(length);
  return {
    program,
    shapes: shapes.map((shape) => ({
      faces: bufferOf(gl, program, shape, shape.triangles), lines: shape.lines && bufferOf(gl, program, shape, shape.lines),
    })),
    arrow: bufferOf(gl, program, arrow, arrow.indices),
    foot: [middle[0], high[1] + 0.1 * length, middle[2]],
    middle: [middle[0], middle[1] + 0.25 * length, middle[2]],
    round: Math.hypot(half[0], half[2]),
    high: half[1] + 0.6 * length,
  };
}

/** Rows point right, up and to the eye; written column by column as the shader wants it. */
function turnedBy(turn, lift) {
  const [ct, st, cl, sl] = [Math.cos(turn), Math.sin(turn), Math.cos(lift), Math.sin(lift)];
  const right = [ct, 0, st], toward = [-st * cl, sl, ct * cl], up = [st * sl, cl, -ct * sl];
  return [0, 1, 2].flatMap((axis) => [right[axis], up[axis], toward[axis]]);
}

export function drawScene(gl, scene, layer, view) {
  const ratio = Math.min(window.devicePixelRatio || 1, SHARPEST);
  twgl.resizeCanvasToDisplaySize(gl.canvas, ratio);
  const { width, height } = gl.canvas;
  if (!width || !height) return;
  const turn = view.turn * Math.PI / 180, lift = view.lift * Math.PI / 180;
  // As large as it fits whichever way it is turned about the draw, so that it does not grow and shrink on the way.
  const tall = scene.round * Math.abs(Math.sin(lift)) + scene.high * Math.cos(lift);
  const pixels = 0.47 * Math.min(width / scene.round, height / tall) * view.zoom;
  gl.viewport(0, 0, width, height);
  gl.clearColor(...GROUND, 1);
  gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
  gl.enable(gl.DEPTH_TEST);
  gl.useProgram(scene.program.program);
  const bands = Array.from({ length: MOST_BANDS }, (_, number) => shares(layer.bands[number] ?? [0, 0, 0])).flat();
  const common = {
    turned: turnedBy(turn, lift), scale: [2 * pixels / width, 2 * pixels / height], shift: view.shift, middle: scene.middle,
    reach: 2 * Math.hypot(scene.round, scene.high), nearer: 0, bands, count: layer.bands.length, none: shares(layer.empty),
    hatch: shares(layer.flag), body: shares(BODY), isPainted: layer.painted, isHatched: layer.hatched, isLit: true, pixel: ratio,
  };
  const draw = (vertices, mode, more) => {
    gl.bindVertexArray(vertices.vertexArrayObject);
    twgl.setUniforms(scene.program, { ...common, ...more });
    twgl.drawBufferInfo(gl, vertices, mode);
  };
  const shape = scene.shapes[layer.shape], plain = { isPainted: false, isHatched: false };
  gl.enable(gl.POLYGON_OFFSET_FILL);
  gl.polygonOffset(1, 1);
  draw(shape.faces, gl.TRIANGLES, {});
  gl.disable(gl.POLYGON_OFFSET_FILL);
  if (shape.lines) draw(shape.lines, gl.LINES, { ...plain, isLit: false, body: shares(INK), nearer: 0.001 });
  const from = scene.middle.map((value, axis) => value - scene.foot[axis]);
  draw(scene.arrow, gl.TRIANGLES, { ...plain, body: shares(ARROW), middle: from });
}
