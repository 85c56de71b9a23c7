// Reads the binary glTF files that the house writes: float vertices, 32-bit indices, everything in one buffer.

const MAGIC = 0x46546c67, JSON_CHUNK = 0x4e4f534a, BINARY_CHUNK = 0x004e4942;
const TRIANGLES = 4, LINES = 1;

/** Chunks of a file by their kind. */
function chunksOf(file) {
  const head = new DataView(file);
  if (file.byteLength < 20 || head.getUint32(0, true) !== MAGIC || head.getUint32(4, true) !== 2) {
    throw new Error("This is no binary glTF file.");
  }
  const chunks = {};
  for (let at = 12; at + 8 <= file.byteLength;) {
    const length = head.getUint32(at, true);
    chunks[head.getUint32(at + 4, true)] = [at + 8, length];
    at += 8 + length;
  }
  return chunks;
}

/** `{shapes: [{attributes, triangles, lines, low, high}], extras}` of an ArrayBuffer. */
export function readGlb(file) {
  const chunks = chunksOf(file);
  const [start, length] = chunks[JSON_CHUNK];
  const [base] = chunks[BINARY_CHUNK];
  const gltf = JSON.parse(new TextDecoder().decode(new Uint8Array(file, start, length)));
  const array = (number) => {
    const accessor = gltf.accessors[number], view = gltf.bufferViews[accessor.bufferView];
    const Kind = accessor.componentType === 5125 ? Uint32Array : Float32Array;
    return new Kind(file, base + view.byteOffset, view.byteLength / 4);
  };
  const shapes = gltf.meshes.map(({ primitives }) => {
    const faces = primitives.find((one) => one.mode === TRIANGLES), edges = primitives.find((one) => one.mode === LINES);
    const place = gltf.accessors[faces.attributes.POSITION];
    const attributes = Object.entries(faces.attributes).map(([name, number]) => [name, array(number)]);
    return {
      attributes: Object.fromEntries(attributes), triangles: array(faces.indices),
      lines: edges ? array(edges.indices) : null, low: place.min, high: place.max,
    };
  });
  return { shapes, extras: gltf.scenes[0].extras };
}
