// The turntable's picture: camera, skin, lines, words. It draws only when something changed.

import * as THREE from "/static/lib/three/three.module.js";
import { lines } from "./lines.js";
import { buildSkin, colourOf, Grid } from "./skin.js";
import { Tiles } from "./tiles.js";

const FAR_MM = 2400;
const PENCIL = colourOf("#6d6250");
const VIOLET = colourOf("#5b3fa0");
const PLATE_MM = 66;
const COARSEST = 0.55;   // pixels to a CSS pixel

function drawnBySoftware() {
  const gl = document.createElement("canvas").getContext("webgl2");
  if (!gl) throw new Error("This browser has no WebGL.");
  const named = gl.getExtension("WEBGL_debug_renderer_info");
  const name = String(gl.getParameter(named ? named.UNMASKED_RENDERER_WEBGL : gl.RENDERER));
  gl.getExtension("WEBGL_lose_context")?.loseContext();
  return /swiftshader|llvmpipe|softpipe|software|basic render/i.test(name);
}

export class Stage {
  constructor(stand, canvas, words, look) {
    Object.assign(this, { stand, canvas, words, look });
    // A processor that stands in for a graphics chip smooths by drawing more pixels once it rests.
    this.software = drawnBySoftware();
    this.renderer = new THREE.WebGLRenderer({ canvas, antialias: !this.software, alpha: true, powerPreference: "high-performance" });
    this.renderer.setClearColor(0, 0);
    this.camera = new THREE.PerspectiveCamera(12, 1, FAR_MM - 700, FAR_MM + 700);
    this.camera.up.set(0, 0, 1);
    this.scene = new THREE.Scene();
    this.size = new THREE.Vector2(1, 1);
    this.finest = Math.min(window.devicePixelRatio || 1, 2);
    this.quick = this.finest;
    this.ratio = this.software ? 2 : this.quick;
    this.now = 0;
    this.mean = 16;
    this.rings = false;
    this.mirror = false;
    this.drawn = () => {};
    this.rested = () => {};
    look.changed = () => {
      this.turning = true;
      this.ask();
    };
    new ResizeObserver(() => this.fit()).observe(stand);
  }

  /** Put a part on the turntable. */
  async put(data, base) {
    const old = this.tiles;
    const grid = new Grid(data.grid);
    const { tiles, ends } = buildSkin(data, grid);
    const next = new Tiles(base, data, tiles, this.renderer, this.software ? 1 : 8, () => {
      this.stand.dataset.fine = next.fine.size;
      this.ask();
    });
    if (old?.data.texture === data.texture && old.coarse) next.adopt(old);
    else await next.start();
    const beside = await this.neighbours(data.beside ?? []);
    this.scene.clear();
    if (old?.coarse !== next.coarse) old?.drop();
    Object.assign(this, { data, grid });
    this.tiles = next;
    this.skinMeshes = tiles;
    this.scene.add(...tiles, ...ends);
    if (beside.length) this.scene.add(...beside);
    this.coloured = [...tiles, ...beside].filter((mesh) => mesh.material.uniforms.told);
    this.told = Boolean(data.moved?.only);
    this.bounds([...ends, ...beside]);
    this.pencil();
    this.mark(this.marked);
    this.fit();
    this.stand.dataset.shown = `${data.texture} ${data.pose}`;
  }

  /** What the part meets (arms, the other side of the trunk), in its plain picture; not to be picked here. */
  async neighbours(rows) {
    const found = await Promise.all(rows.map(async ({ base, turned, shift, pose }) => {
      try {
        const response = await fetch(`${base}/shape.json?${new URLSearchParams({ pose })}`);
        if (!response.ok) return [];
        const data = await response.json();
        const move = (flat, by) => {
          for (let i = 0; i < flat.length; i += 3) {
            const k = turned ? -1 : 1;
            flat[i] = k * flat[i] + by[0];
            flat[i + 1] = k * flat[i + 1] + by[1];
            flat[i + 2] += by[2];
          }
        };
        for (const shape of [data.grid, data.grid.drawn, ...data.ends]) {
          if (!shape) continue;
          move(shape.xyz, shift);
          move(shape.normals, [0, 0, 0]);
        }
        const { tiles, ends } = buildSkin(data, new Grid(data.grid));
        await new Tiles(base, data, tiles, this.renderer, 1, () => this.ask()).start();
        return [...tiles, ...ends];
      } catch {
        return [];   // the part itself is what is looked at
      }
    }));
    return found.flat();
  }

  /** Whether what the pose does to the skin is coloured. */
  set told(on) {
    for (const mesh of this.coloured) mesh.material.uniforms.told.value = on ? 1 : 0;
    this.ask();
  }

  get told() {
    return Boolean(this.coloured?.[0]?.material.uniforms.told.value);
  }

  bounds(ends) {
    const box = new THREE.Box3().setFromBufferAttribute(this.skinMeshes[0].geometry.getAttribute("position"));
    for (const end of ends) box.expandByPoint(new THREE.Box3().setFromBufferAttribute(end.geometry.getAttribute("position")).min);
    for (const end of ends) box.expandByPoint(new THREE.Box3().setFromBufferAttribute(end.geometry.getAttribute("position")).max);
    this.foot = box.min.z - 6;
    this.centre = box.getCenter(new THREE.Vector3());
    this.radius = Math.hypot(box.max.x - box.min.x, box.max.y - box.min.y) / 2;
    this.look.heightMm = box.max.z - box.min.z;
    this.look.widthMm = this.radius;
    this.centre.z = (box.max.z + this.foot - 26) / 2;
    this.tall = box.max.z - this.foot + 64;
  }

  pencil() {
    const { grid, data } = this;
    if (data.lines) return this.pencilPanel();
    const turn = Array.from({ length: 120 }, (_, i) => grid.u0 + i / 120);
    const ring = (s) => turn.map((u) => grid.at(u, s, 0.5));
    const style = { colour: PENCIL, size: this.size };
    const levels = data.levels;
    this.scene.add(lines([levels[0], levels.at(-1)].map((lv) => ring(lv.s)), { ...style, alpha: 0.5, width: 1.2, closed: true }));
    this.levelLines = lines(levels.slice(1, -1).map((lv) => ring(lv.s)), { ...style, alpha: 0.75, width: 1.2, dash: 7, closed: true });
    this.scene.add(this.levelLines);
    this.stands(levels.map((lv) => ({ kind: "level", text: lv.name, s: lv.s, ring: turn.filter((_, i) => i % 4 === 0).map((u) => grid.at(u, lv.s)) })));
  }

  /** Chest or back: its edges, and on request midline and level curves. */
  pencilPanel() {
    const { grid, data } = this;
    const style = { colour: PENCIL, size: this.size };
    const [outline, ...quiet] = data.lines.map((line) => this.onSkin(line.flat(), line.length > 60));
    this.scene.add(lines([outline], { ...style, alpha: 0.5, width: 1.2, closed: true }));
    this.levelLines = lines(quiet, { ...style, alpha: 0.75, width: 1.2, dash: 7 });
    this.scene.add(this.levelLines);
    this.stands([]);
  }

  stands(names) {
    const { grid, data } = this;
    const style = { colour: PENCIL, size: this.size };
    // The plate: a ring to stand on, ticked at every eighth, that turns with the part.
    const middle = data.level ? grid.middle(grid.s0) : this.centre.toArray();
    const round = (r, n = 96) => Array.from({ length: n }, (_, i) => this.onPlate(middle, i / n, r));
    const ticks = Array.from({ length: 32 }, (_, i) => [this.onPlate(middle, i / 32, PLATE_MM), this.onPlate(middle, i / 32, PLATE_MM + (i % 8 ? i % 4 ? 2.5 : 4 : 6))]);
    this.plate = [lines([round(PLATE_MM)], { ...style, alpha: 0.7, width: 1.3, closed: true }), lines(ticks, { ...style, alpha: 0.7, width: 1.2 })];
    this.scene.add(...this.plate);
    const sides = Object.entries(data.views).map(([name, u]) => ({ kind: "side", text: data.words?.[name] ?? (name === "outer" || name === "inner" ? `${name} side` : name), u, at: this.onPlate(middle, u, PLATE_MM + 13) }));
    this.words.replaceChildren(...[...sides, ...names].map((word) => {
      const span = document.createElement("span");
      span.className = word.kind;
      span.textContent = word.text;
      word.span = span;
      return span;
    }));
    this.labels = [...sides, ...names];
  }

  onPlate([x, y], u, r) {
    const a = 2 * Math.PI * u;
    return [x + r * Math.sin(a), y - r * Math.cos(a), this.foot];
  }

  /** Draw the outline of a piece, or of none. */
  mark(piece) {
    this.marked = piece;
    if (this.outline) {
      this.scene.remove(this.outline);
      this.outline.geometry.dispose();
    }
    this.outline = null;
    if (piece && this.grid) {
      const rings = piece.rings.map((ring) => this.onSkin(ring));
      this.outline = lines(rings, { colour: VIOLET, width: 2, size: this.size, closed: true });
      this.scene.add(this.outline);
    }
    this.ask();
  }

  /** A flat ring u, s, u, s ... as points just off the skin, never more than 4 mm apart. */
  onSkin(ring, closed = true) {
    const out = [];
    for (let i = 0; i < ring.length - (closed ? 0 : 2); i += 2) {
      const j = (i + 2) % ring.length;
      const du = ring[j] - ring[i], ds = ring[j + 1] - ring[i + 1];
      const n = Math.max(1, Math.ceil(Math.hypot(du * this.data.girth, ds) / 4));
      for (let k = 0; k < n; k++) out.push(this.grid.at(ring[i] + du * k / n, ring[i + 1] + ds * k / n, 0.4));
    }
    return out;
  }

  fit() {
    const w = this.stand.clientWidth, h = this.stand.clientHeight;
    if (!w || !h) return;
    this.wide = w;
    this.high = h;
    this.camera.aspect = w / h;
    this.resize(this.ratio);
    this.ask();
  }

  resize(ratio) {
    this.at = ratio;
    this.renderer.setPixelRatio(ratio);
    this.renderer.setSize(this.wide, this.high, false);
    this.size.set(this.wide, this.high);
  }

  /** Whole picture's height in mm at the limb's middle, before coming nearer. */
  get fitMm() {
    return Math.max(this.tall, (2 * this.radius + 70) * this.high / this.wide);
  }

  get mm() {
    return this.fitMm / this.high / this.look.zoom;
  }

  aim() {
    const { look, camera } = this;
    const near = Math.min(Math.max((look.zoom - 1) / 1.2, 0), 1);
    const z = this.centre.z + look.along;
    const s = this.grid.s0 + (z - this.grid.middle(this.grid.s0)[2]);
    const [mx, my] = this.data.level ? this.grid.middle(s) : [this.centre.x, this.centre.y];
    const a = 2 * Math.PI * look.u, c = Math.cos(look.tilt), t = Math.sin(look.tilt);
    const target = new THREE.Vector3(
      this.centre.x * (1 - near) + mx * near + Math.cos(a) * look.across,
      this.centre.y * (1 - near) + my * near + Math.sin(a) * look.across, z);
    camera.position.set(target.x + FAR_MM * c * Math.sin(a), target.y - FAR_MM * c * Math.cos(a), target.z + FAR_MM * t);
    camera.fov = 2 * Math.atan(this.fitMm / 2 / FAR_MM) * 180 / Math.PI;
    camera.zoom = look.zoom;
    camera.lookAt(target);
    camera.updateProjectionMatrix();
    camera.updateMatrixWorld();
  }

  ask() {
    if (!this.asked && this.grid && this.wide) {
      this.asked = true;
      requestAnimationFrame((now) => this.draw(now));
    }
  }

  /** In motion as coarsely as it takes to keep up, the first frame too: a fine one may last longer than all others. */
  draw(now) {
    this.asked = false;
    const gap = now - this.now;
    this.now = now;
    if (this.turning) {
      if (this.went && gap < 1000) this.mean += (gap - this.mean) * (gap > 100 ? 0.5 : 0.15);
      if (this.mean > 21 && this.quick > COARSEST) {
        this.quick = Math.max(COARSEST, this.quick * Math.max(0.5, Math.min(0.85, 16 / this.mean)));
        this.mean = 16;
      }
      if (this.at !== this.quick) this.resize(this.quick);
    }
    this.went = this.turning;
    this.turning = false;
    clearTimeout(this.later);
    this.later = setTimeout(() => this.rest(), 170);
    this.paint();
  }

  paint() {
    this.aim();
    this.levelLines.visible = this.rings;
    this.renderer.render(this.scene, this.camera);
    this.place();
    this.drawn();
    const t = performance.now();
    if (!this.software && t - (this.refined ?? 0) > 150) {
      this.refined = t;
      this.tiles.refine(this.inView(), this.mm / this.ratio);
    }
  }

  rest() {
    if (this.look.moving) return;
    this.went = false;
    this.mean = 16;
    this.quick = Math.min(this.finest, this.quick * 1.12);   // what slowed it down may be over
    if (this.at !== this.ratio) {
      this.resize(this.ratio);
      this.paint();
    }
    this.tiles.refine(this.inView(), this.mm / this.ratio);
    this.rested();
  }

  /** Tiles that face the eye and lie in the picture, nearest its middle first. */
  inView() {
    const eye = this.camera.position, p = new THREE.Vector3(), n = new THREE.Vector3();
    const { columns, rows } = this.data.tiles;
    const du = 0.5 * this.grid.turns / columns, ds = (this.grid.s1 - this.grid.s0) / rows / 2;
    const out = [];
    for (const mesh of this.skinMeshes) {
      const { u, s } = mesh.userData;
      let near = Infinity, lo = [9, 9], hi = [-9, -9], faces = false;
      for (const [i, j] of [[0, 0], [-1, -1], [1, -1], [-1, 1], [1, 1], [-1, 0], [1, 0]]) {
        const here = this.grid.at(u + i * du, s + j * ds), out1 = this.grid.at(u + i * du, s + j * ds, 1);
        p.set(...here);
        n.set(out1[0] - here[0], out1[1] - here[1], out1[2] - here[2]);
        faces ||= n.dot(new THREE.Vector3().subVectors(eye, p)) > 0;
        p.project(this.camera);
        lo = [Math.min(lo[0], p.x), Math.min(lo[1], p.y)];
        hi = [Math.max(hi[0], p.x), Math.max(hi[1], p.y)];
        near = Math.min(near, Math.hypot(p.x, p.y));
      }
      if (faces && lo[0] < 1 && hi[0] > -1 && lo[1] < 1 && hi[1] > -1) out.push({ mesh, near });
    }
    return out.sort((a, b) => a.near - b.near).map((x) => x.mesh);
  }

  /** Pixel of a point in space; x is turned over in the mirror. */
  pixel(point, v = new THREE.Vector3()) {
    v.set(...point).project(this.camera);
    return [(this.mirror ? 1 - v.x : 1 + v.x) / 2 * this.wide, (1 - v.y) / 2 * this.high];
  }

  /** Words: sides round the plate, levels at the right edge of the limb. */
  place() {
    for (const word of this.labels) {
      let shown, x, y, here = false;
      if (word.kind === "side") {
        const facing = Math.cos(2 * Math.PI * (word.u - this.look.u));
        [x, y] = this.pixel(word.at);
        shown = facing > -0.35;
        here = facing > 0.92;
        const aside = Math.sin(2 * Math.PI * (word.u - this.look.u)) * (this.mirror ? -1 : 1);
        x += aside * (word.span.offsetWidth / 2 - 2);
        y += 5 * Math.max(facing, 0);
      } else {
        shown = this.rings;
        if (shown) {
          const px = word.ring.map((p) => this.pixel(p));
          [x, y] = px.reduce((a, b) => (b[0] > a[0] ? b : a));
        }
      }
      if (shown) word.span.style.transform = `translate(${x.toFixed(1)}px, ${y.toFixed(1)}px)`;
      word.span.style.visibility = shown ? "visible" : "hidden";
      word.span.classList.toggle("here", here);
    }
  }

  /** Keep what lies at a pixel of the window there: call the answer once the size has changed. */
  hold(x, y) {
    const box = this.stand.getBoundingClientRect(), us = this.skinAt(x, y), was = this.mm;
    const flip = this.mirror ? -1 : 1, px = x - box.left, py = y - box.top;
    return () => {
      let dx = (px - this.wide / 2) * (was - this.mm) * flip, dy = (py - this.high / 2) * (was - this.mm);
      if (us) {
        this.aim();
        const [nx, ny] = this.pixel(this.grid.at(...us));
        dx = (nx - px) * this.mm * flip;
        dy = (ny - py) * this.mm;
      }
      this.look.set({ across: this.look.across + dx, along: this.look.along - dy });
    };
  }

  /** Skin at a pixel of the window: [u, s], or null beside the limb. */
  skinAt(x, y) {
    const box = this.stand.getBoundingClientRect();
    let a = (x - box.left) / box.width * 2 - 1;
    if (this.mirror) a = -a;
    const ray = new THREE.Raycaster();
    ray.setFromCamera(new THREE.Vector2(a, 1 - (y - box.top) / box.height * 2), this.camera);
    const hit = ray.intersectObjects(this.skinMeshes, false)[0];
    if (!hit) return null;
    return [this.grid.u0 + hit.uv.x * this.grid.turns, this.grid.s0 + hit.uv.y * (this.grid.s1 - this.grid.s0)];
  }
}
