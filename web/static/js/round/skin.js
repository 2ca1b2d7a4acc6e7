// The skin as meshes: one grid of points cut into tiles, each of which can wear a finer picture.

import * as THREE from "/static/lib/three/three.module.js";

// Soft lamp from the upper left, wide bounce from the right. Light only ever takes away, so ink
// stays ink; the little gloss there is falls on bare skin alone. The mesh is fine and light is
// soft, so it is worked out at the corners: the picture is all that is left to do for a pixel.
const VERTEX = `
  attribute float fade;
  #ifdef MOVED
  attribute vec2 moved;
  varying vec2 vMoved;
  #endif
  uniform vec4 place;
  varying vec2 vAt;
  varying vec3 vShade;
  varying vec2 vGlossFade;
  void main() {
    #ifdef MOVED
    vMoved = moved;
    #endif
    vAt = uv * place.xy + place.zw;
    vec3 n = normalize(normalMatrix * normal);
    float lamp = dot(n, vec3(-0.45, 0.38, 0.81));
    float bounce = dot(n, vec3(0.86, -0.10, 0.50));
    float light = smoothstep(-0.55, 0.95, lamp) * 0.92 + 0.13 * max(bounce, 0.0);
    float rim = pow(1.0 - max(n.z, 0.0), 2.6);
    vShade = mix(vec3(0.60, 0.505, 0.47), vec3(1.012, 1.006, 1.0), clamp(light, 0.0, 1.0));
    vShade *= 1.0 - rim * vec3(0.20, 0.25, 0.27);
    vGlossFade = vec2(0.029 * pow(max(dot(n, vec3(-0.281, 0.261, 0.924)), 0.0), 14.0), fade);
    gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
  }`;

const FRAGMENT = `
  uniform sampler2D picture;
  uniform float brightest;
  varying vec2 vAt;
  varying vec3 vShade;
  varying vec2 vGlossFade;
  #ifdef MOVED
  uniform float told;
  uniform vec3 levels;
  uniform vec4 inks[3];
  varying vec2 vMoved;
  #endif
  void main() {
    vec3 ink = texture2D(picture, vAt).rgb;
    float bare = clamp(ink.g * brightest - 3.0, 0.0, 1.0);
    vec3 here = ink * vShade + vGlossFade.x * bare;
    #ifdef MOVED
    // The sheet's bands of stretch; where skin folds, its hatching.
    vec4 band = vMoved.x < levels.x ? vec4(0.0) : vMoved.x < levels.y ? inks[0] : vMoved.x < levels.z ? inks[1] : inks[2];
    if (vMoved.y > 0.5) band = mod(gl_FragCoord.x + gl_FragCoord.y, 9.0) < 2.5 ? vec4(0.157, 0.122, 0.157, 0.55) : vec4(0.0);
    here = mix(here, band.rgb * min(vShade, 1.0), band.a * told);
    #endif
    gl_FragColor = vec4(here, 1.0);
  }`;

const FADING = `
  uniform vec3 skin;
  varying vec3 vShade;
  varying vec2 vGlossFade;
  void main() {
    gl_FragColor = vec4(skin * vShade + vGlossFade.x, 1.0 - smoothstep(0.10, 0.98, vGlossFade.y));
  }`;

const blank = new THREE.DataTexture(new Uint8Array([255, 255, 255, 255]), 1, 1);
blank.needsUpdate = true;

/** '#rrggbb' to three numbers, just as CSS has them. */
export function colourOf(hex) {
  return new THREE.Vector3(...[1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255));
}

function material(skin, picture, place, plain, moved = null) {
  const uniforms = { picture: { value: picture ?? blank }, place: { value: place }, skin: { value: skin }, brightest: { value: 4 / Math.max(skin.y, 0.05) } };
  if (moved) {
    Object.assign(uniforms, { told: { value: 0 }, levels: { value: new THREE.Vector3(...moved.levels) },
      inks: { value: moved.inks.map((ink) => new THREE.Vector4(...ink)) } });
  }
  return new THREE.ShaderMaterial({ vertexShader: VERTEX, fragmentShader: plain ? FADING : FRAGMENT, transparent: plain,
    defines: moved ? { MOVED: 1 } : {}, uniforms });
}

/** The grid of skin points, asked by (u, s). */
export class Grid {
  constructor(grid) {
    Object.assign(this, grid);
    this.xyz = new Float32Array(grid.xyz);
    this.normals = new Float32Array(grid.normals);
    this.turns = grid.turns ?? 1;   // less than one: chest or back, which has edges
  }

  /** Point on the skin at (u, s), lifted off it by `lift` mm. */
  at(u, s, lift = 0) {
    const turn = this.turns === 1 ? u - this.u0 - Math.floor(u - this.u0)
      : Math.min(Math.max((u - this.u0) / this.turns, 0), 1);
    const x = turn * (this.columns - 1);
    const y = Math.min(Math.max((s - this.s0) / (this.s1 - this.s0), 0), 1) * (this.rows - 1);
    const i = Math.min(Math.floor(x), this.columns - 2), j = Math.min(Math.floor(y), this.rows - 2);
    const a = x - i, b = y - j;
    const out = [0, 0, 0];
    for (const [di, dj, w] of [[0, 0, (1 - a) * (1 - b)], [1, 0, a * (1 - b)], [0, 1, (1 - a) * b], [1, 1, a * b]]) {
      const k = 3 * ((j + dj) * this.columns + i + di);
      for (let c = 0; c < 3; c++) out[c] += w * (this.xyz[k + c] + lift * this.normals[k + c]);
    }
    return out;
  }

  /** Middle of the section at s. */
  middle(s) {
    const a = this.at(this.u0, s), b = this.at(this.u0 + 0.5, s);
    return a.map((v, i) => (v + b[i]) / 2);
  }
}

/** Every mesh of the part: tiles of skin with `uv` from 0 to 1 over all of it, and the soft ends. */
export function buildSkin(data, grid) {
  const { drawn } = grid;
  const position = new THREE.BufferAttribute(drawn ? new Float32Array(drawn.xyz) : grid.xyz, 3);
  const normal = new THREE.BufferAttribute(drawn ? new Float32Array(drawn.normals) : grid.normals, 3);
  const uv = drawn ? new Float32Array(drawn.uv) : new Float32Array(grid.columns * grid.rows * 2);
  for (let j = 0, k = 0; j < grid.rows && !drawn; j++) {
    for (let i = 0; i < grid.columns; i++) {
      uv[k++] = i / (grid.columns - 1);
      uv[k++] = j / (grid.rows - 1);
    }
  }
  const at = new THREE.BufferAttribute(uv, 2);
  const fade = new THREE.BufferAttribute(new Float32Array(grid.columns * grid.rows), 1);
  const moved = data.moved && new THREE.BufferAttribute(new Float32Array(data.moved.values.flatMap((v, i) => [v, data.moved.folds[i]])), 2);
  const skin = colourOf(data.skin);
  const whole = new THREE.Vector4(1, 1, 0, 0);
  const tiles = [];
  const wide = (grid.columns - 1) / data.tiles.columns, high = (grid.rows - 1) / data.tiles.rows;
  for (let row = 0; row < data.tiles.rows; row++) {
    for (let column = 0; column < data.tiles.columns; column++) {
      const index = [];
      for (let j = row * high; j < (row + 1) * high; j++) {
        for (let i = column * wide; i < (column + 1) * wide; i++) {
          const a = j * grid.columns + i;
          if (drawn && !drawn.inside[j * (grid.columns - 1) + i]) continue;
          index.push(a, a + 1, a + grid.columns + 1, a, a + grid.columns + 1, a + grid.columns);
        }
      }
      const geometry = new THREE.BufferGeometry();
      geometry.setAttribute("position", position);
      geometry.setAttribute("normal", normal);
      geometry.setAttribute("uv", at);
      geometry.setAttribute("fade", fade);
      if (moved) geometry.setAttribute("moved", moved);
      geometry.setIndex(index);
      const mesh = new THREE.Mesh(geometry, material(skin, null, whole, false, data.moved));
      mesh.frustumCulled = false;
      const u = grid.u0 + grid.turns * (column + 0.5) / data.tiles.columns;
      const s = grid.s0 + (grid.s1 - grid.s0) * (row + 0.5) / data.tiles.rows;
      mesh.userData = { column, row, u, s };
      tiles.push(mesh);
    }
  }
  const ends = data.ends.map((end) => {
    const geometry = new THREE.BufferGeometry();
    geometry.setAttribute("position", new THREE.BufferAttribute(new Float32Array(end.xyz), 3));
    geometry.setAttribute("normal", new THREE.BufferAttribute(new Float32Array(end.normals), 3));
    geometry.setAttribute("uv", new THREE.BufferAttribute(new Float32Array(end.fade.length * 2), 2));
    geometry.setAttribute("fade", new THREE.BufferAttribute(new Float32Array(end.fade), 1));
    geometry.setIndex(end.faces);
    const mesh = new THREE.Mesh(geometry, material(skin, null, whole, true));
    mesh.frustumCulled = false;
    return mesh;
  });
  return { tiles, ends };
}
