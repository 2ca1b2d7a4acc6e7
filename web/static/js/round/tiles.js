// Pictures of the skin: one coarse for all of it, and finer ones for the part that is looked at.

import * as THREE from "/static/lib/three/three.module.js";

const MOST = 14;

async function load(address, renderer, sharpness) {
  const response = await fetch(address);
  if (!response.ok) throw new Error(await response.text());
  const bitmap = await createImageBitmap(await response.blob(), { imageOrientation: "flipY", premultiplyAlpha: "none", colorSpaceConversion: "none" });
  const texture = new THREE.Texture(bitmap);
  texture.flipY = false;
  texture.colorSpace = THREE.NoColorSpace;
  texture.generateMipmaps = true;
  texture.minFilter = THREE.LinearMipmapLinearFilter;
  texture.anisotropy = Math.min(sharpness, renderer.capabilities.getMaxAnisotropy());
  texture.needsUpdate = true;
  return texture;
}

export class Tiles {
  constructor(base, data, meshes, renderer, sharpness, changed) {
    Object.assign(this, { base, data, meshes, renderer, sharpness, changed });
    this.fine = new Map();
    this.asked = new Set();
    this.dropped = false;
    this.whole = new THREE.Vector4(1, 1, 0, 0);
    const { columns, rows, px, gutter } = data.tiles;
    this.size = px + 2 * gutter;
    this.coarseness = Math.max(data.girth * (data.grid.turns ?? 1), data.grid.s1 - data.grid.s0) / 2048;
    this.place = (column, row) => {
      const k = px / this.size, g = gutter / this.size;
      return new THREE.Vector4(columns * k, rows * k, g - column * k, g - row * k);
    };
  }

  async start() {
    this.coarse = await load(`${this.base}/skin.png?v=${this.data.texture}`, this.renderer, this.sharpness);
    if (!this.data.grid.turns) this.coarse.wrapS = THREE.RepeatWrapping;
    for (const mesh of this.meshes) this.wear(mesh, this.coarse, this.whole);
    this.changed();
  }

  /** Take over the pictures of the same skin in another pose. */
  adopt(old) {
    old.dropped = true;
    this.coarse = old.coarse;
    for (const mesh of this.meshes) this.wear(mesh, this.coarse, this.whole);
    for (const [key, { texture }] of old.fine) {
      const [column, row] = key.split("/").map(Number);
      const mesh = this.meshes.find((m) => m.userData.column === column && m.userData.row === row);
      this.fine.set(key, { texture, mesh });
      this.wear(mesh, texture, this.place(column, row));
    }
  }

  wear(mesh, texture, place) {
    mesh.material.uniforms.picture.value = texture;
    mesh.material.uniforms.place.value = place;
  }

  /** Ask for what is missing: `wanted` are meshes in view, nearest the middle first. */
  refine(wanted, mmPerPixel) {
    if (this.dropped || !this.coarse || mmPerPixel > this.coarseness * 1.1) return;
    for (const mesh of wanted.slice(0, MOST)) {
      const { column, row } = mesh.userData;
      const key = `${column}/${row}`;
      const there = this.fine.get(key);
      if (there) {
        this.fine.delete(key);
        this.fine.set(key, there);
      } else if (!this.asked.has(key) && this.asked.size < 4) {
        this.asked.add(key);
        load(`${this.base}/skin/${key}.png?v=${this.data.texture}`, this.renderer, this.sharpness).then((texture) => {
          if (this.dropped) return texture.dispose();
          this.renderer.initTexture(texture);
          this.fine.set(key, { texture, mesh });
          this.wear(mesh, texture, this.place(column, row));
          this.forget();
          this.changed();
        }).catch(() => {}).finally(() => this.asked.delete(key));
      }
    }
  }

  forget() {
    for (const [key, { texture, mesh }] of this.fine) {
      if (this.fine.size <= MOST) return;
      this.wear(mesh, this.coarse, this.whole);
      texture.dispose();
      this.fine.delete(key);
    }
  }

  get settled() {
    return Boolean(this.coarse) && this.asked.size === 0;
  }

  drop() {
    this.dropped = true;
    this.coarse?.dispose();
    for (const { texture } of this.fine.values()) texture.dispose();
  }
}
