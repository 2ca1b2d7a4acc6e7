// Lines with a width in pixels: level rings, the plate under the limb, the outline of a piece.

import * as THREE from "/static/lib/three/three.module.js";

const VERTEX = `
  attribute vec3 before;
  attribute vec3 after;
  attribute float side;
  attribute float along;
  uniform vec2 size;
  uniform float width;
  varying float vAlong;
  void main() {
    vec4 here = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
    vec4 a = projectionMatrix * modelViewMatrix * vec4(before, 1.0);
    vec4 b = projectionMatrix * modelViewMatrix * vec4(after, 1.0);
    vec2 dir = (b.xy / b.w - a.xy / a.w) * size;
    dir = length(dir) > 1e-6 ? normalize(dir) : vec2(1.0, 0.0);
    here.xy += vec2(-dir.y, dir.x) * side * width / size * here.w;
    vAlong = along;
    gl_Position = here;
  }`;

const FRAGMENT = `
  uniform vec3 colour;
  uniform float alpha;
  uniform float dash;
  varying float vAlong;
  void main() {
    if (dash > 0.0 && fract(vAlong / dash) > 0.62) discard;
    gl_FragColor = vec4(colour, alpha);
  }`;

/** A mesh of the polylines (arrays of [x, y, z]); `size` is the picture's, shared by all lines. */
export function lines(polylines, { colour, alpha = 1, width = 1.5, dash = 0, size, closed = false }) {
  const position = [], before = [], after = [], side = [], along = [], index = [];
  for (const points of polylines) {
    const n = points.length;
    let run = 0;
    const first = position.length / 3;
    const count = closed ? n + 1 : n;
    for (let k = 0; k < count; k++) {
      const p = points[k % n];
      const q = closed ? points[(k - 1 + n) % n] : points[Math.max(k - 1, 0)];
      const r = closed ? points[(k + 1) % n] : points[Math.min(k + 1, n - 1)];
      if (k) run += Math.hypot(p[0] - points[k - 1][0], p[1] - points[k - 1][1], p[2] - points[k - 1][2]);
      for (const sign of [-1, 1]) {
        position.push(...p);
        before.push(...q);
        after.push(...r);
        side.push(sign);
        along.push(run);
      }
      if (k) {
        const a = first + 2 * (k - 1);
        index.push(a, a + 1, a + 2, a + 1, a + 3, a + 2);
      }
    }
  }
  const geometry = new THREE.BufferGeometry();
  const put = (name, list, n) => geometry.setAttribute(name, new THREE.BufferAttribute(new Float32Array(list), n));
  put("position", position, 3);
  put("before", before, 3);
  put("after", after, 3);
  put("side", side, 1);
  put("along", along, 1);
  geometry.setIndex(index);
  const mesh = new THREE.Mesh(geometry, new THREE.ShaderMaterial({
    vertexShader: VERTEX, fragmentShader: FRAGMENT, transparent: true, depthWrite: false, side: THREE.DoubleSide,
    uniforms: { colour: { value: colour }, alpha: { value: alpha }, width: { value: width }, dash: { value: dash }, size: { value: size } },
  }));
  mesh.frustumCulled = false;
  return mesh;
}
