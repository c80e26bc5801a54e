/** From the room to the picture: a direction to look along, and a fit into a box. Picture units are px, y down. */
import { cross, dot, norm, sub, unit, type Vec } from './vector';

export type Flat = readonly [number, number];

export interface Look {
  right: Vec;
  up: Vec;
}

/** Square to the plane of the points where they have one; else from a corner. */
export function bestLook(points: readonly Vec[]): Look {
  const first = points[0] ?? [0, 0, 0];
  const last = points[points.length - 1] ?? [1, 0, 0];
  let normal: Vec | null = null;
  let axis = sub(last, first);
  for (const p of points) if (norm(axis) < 1e-6) axis = sub(p, first);
  const along1 = unit(axis);
  for (const p of points) {
    const side = cross(along1, sub(p, first));
    if (norm(side) > 2) {
      normal = unit(side);
      break;
    }
  }
  if (normal === null) return { right: [1, 0, 0], up: [0, 0, 1] };
  const flat = points.every((p) => Math.abs(dot(sub(p, first), normal)) < 2);
  if (!flat) return CORNER;
  const n: Vec = normal;
  const upright = Math.abs(n[2]) < 0.9;
  const up: Vec = upright ? [0, 0, 1] : [0, 1, 0];
  const right = unit(cross(up, n));
  const turned = dot(right, [1, 0, 0]) < 0 ? (right.map((v) => -v) as unknown as Vec) : right;
  return { right: turned, up };
}

/** A view from above and the front, all three directions to be seen. */
export const CORNER: Look = {
  right: [0.906, -0.423, 0],
  up: [0.21, 0.45, 0.868],
};

export const flatten = (p: Vec, look: Look): Flat => [dot(p, look.right), -dot(p, look.up)];

export interface Fit {
  px: (p: Flat) => Flat;
  k: number;
}

/** A fit of the points into width x height with a pad; `most` limits the scale (px per mm). */
export function fit(points: readonly Flat[], width: number, height: number, pad: number, most = Infinity, padY = pad): Fit {
  const xs = points.map((p) => p[0]);
  const ys = points.map((p) => p[1]);
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const k = Math.min((width - 2 * pad) / Math.max(x1 - x0, 1), (height - 2 * padY) / Math.max(y1 - y0, 1), most);
  const dx = width / 2 - (k * (x0 + x1)) / 2;
  const dy = height / 2 - (k * (y0 + y1)) / 2;
  return { k, px: (p) => [k * p[0] + dx, k * p[1] + dy] };
}

export const path = (points: readonly Flat[]): string =>
  points.map((p, i) => `${i ? 'L' : 'M'}${p[0].toFixed(1)} ${p[1].toFixed(1)}`).join('');

/** The hull of points, for the outline of a solid. */
export function hull(points: readonly Flat[]): Flat[] {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list: readonly Flat[]): Flat[] => {
    const out: Flat[] = [];
    for (const p of list) {
      while (out.length > 1) {
        const [a, b] = [out[out.length - 2]!, out[out.length - 1]!];
        if ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0) break;
        out.pop();
      }
      out.push(p);
    }
    return out.slice(0, -1);
  };
  return [...half(sorted), ...half(sorted.reverse())];
}
