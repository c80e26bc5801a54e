/** The centreline of a bent piece as points in the room: straights and arcs, the frame carried without twist. */
import { add, along, cross, rotate, scale, type Vec } from './vector';

export interface Frame {
  origin: Vec;
  axis: Vec;
  normal: Vec;
}

export interface Arc {
  start_mm: number;
  angle_rad: number;
  roll_rad: number;
  radius_mm: number;
}

export interface Station {
  s: number;
  frame: Frame;
}

export const FLAT_FRAME: Frame = { origin: [0, 0, 0], axis: [1, 0, 0], normal: [0, 0, 1] };

export function toward(frame: Frame, roll: number): Vec {
  return add(scale(frame.normal, Math.cos(roll)), scale(cross(frame.axis, frame.normal), Math.sin(roll)));
}

function advanced(frame: Frame, mm: number): Frame {
  return { ...frame, origin: along(frame.origin, frame.axis, mm) };
}

export function bent(frame: Frame, radius: number, angle: number, roll: number): Frame {
  const side = toward(frame, roll);
  const about = cross(frame.axis, side);
  const centre = along(frame.origin, side, radius);
  const spoke = rotate(scale(side, -1), about, angle);
  return {
    origin: along(centre, spoke, radius),
    axis: rotate(frame.axis, about, angle),
    normal: rotate(frame.normal, about, angle),
  };
}

/** Stations along the piece: both ends of every straight, and points in each arc. */
export function stations(length: number, arcs: readonly Arc[], start: Frame = FLAT_FRAME): Station[] {
  const out: Station[] = [{ s: 0, frame: start }];
  let s = 0;
  let frame = start;
  for (const arc of [...arcs].sort((a, b) => a.start_mm - b.start_mm)) {
    const straight = Math.max(0, arc.start_mm - s);
    frame = advanced(frame, straight);
    s = arc.start_mm;
    out.push({ s, frame });
    const parts = Math.max(2, Math.ceil(arc.angle_rad / 0.12));
    for (let i = 1; i <= parts; i += 1) {
      const angle = (arc.angle_rad * i) / parts;
      out.push({ s: s + arc.radius_mm * angle, frame: bent(frame, arc.radius_mm, angle, arc.roll_rad) });
    }
    frame = bent(frame, arc.radius_mm, arc.angle_rad, arc.roll_rad);
    s += arc.radius_mm * arc.angle_rad;
  }
  out.push({ s: length, frame: advanced(frame, Math.max(0, length - s)) });
  return out;
}

/** The frame at station s of a list made by `stations`. */
export function frameAt(list: readonly Station[], s: number): Frame {
  let before = list[0]!;
  for (const next of list) {
    if (next.s >= s) {
      const span = next.s - before.s;
      const k = span > 1e-9 ? (s - before.s) / span : 0;
      const a = before.frame;
      const b = next.frame;
      return {
        origin: add(scale(a.origin, 1 - k), scale(b.origin, k)),
        axis: k < 0.5 ? a.axis : b.axis,
        normal: k < 0.5 ? a.normal : b.normal,
      };
    }
    before = next;
  }
  return before.frame;
}
