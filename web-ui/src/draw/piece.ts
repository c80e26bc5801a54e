/** From the plan's pieces to points and outlines for drawing. */
import type { MarkedBend, ObstacleView, PlannedPiece } from '../engine/types';
import { FLAT_FRAME, stations, type Arc, type Frame, type Station } from './chain';
import { add, along, cross, scale, sub, unit, type Vec } from './vector';

export const rad = (deg: number): number => (deg * Math.PI) / 180;

function arcOf(bend: MarkedBend): Arc {
  const angle = rad(bend.angle_deg);
  return {
    start_mm: bend.arc_start_mm,
    angle_rad: angle,
    roll_rad: rad(bend.roll_deg),
    radius_mm: (bend.arc_end_mm - bend.arc_start_mm) / Math.max(angle, 1e-9),
  };
}

function startFrame(piece: PlannedPiece): Frame {
  return { origin: piece.start.point_mm, axis: piece.start.axis, normal: piece.start.normal };
}

/** The piece in the room, or (flat) on the bench, with the bends that `made` lets through. */
export function pieceStations(piece: PlannedPiece, flat = false, made: (bend: MarkedBend) => boolean = () => true): Station[] {
  const arcs = piece.bends.filter(made).map(arcOf);
  return stations(piece.cut_length_mm, arcs, flat ? FLAT_FRAME : startFrame(piece));
}

/** Points on a solid whose hull is its outline; `reach` shortens what goes far across the run. */
export function solidPoints(obstacle: Pick<ObstacleView, 'solid' | 'at'>, reach = 90): Vec[] {
  const solid = obstacle.solid;
  if (solid.solid === 'cylinder') {
    const axis = unit(sub(solid.end, solid.start));
    const cutOff = (p: Vec): Vec => {
      const d = sub(p, obstacle.at);
      const k = d[0] * axis[0] + d[1] * axis[1] + d[2] * axis[2];
      return along(p, axis, Math.max(-reach, Math.min(reach, k)) - k);
    };
    const one = unit(cross(axis, Math.abs(axis[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0]));
    const two = cross(axis, one);
    const out: Vec[] = [];
    for (const end of [cutOff(solid.start), cutOff(solid.end)]) {
      for (let i = 0; i < 28; i += 1) {
        const a = (i * Math.PI) / 14;
        out.push(add(end, add(scale(one, solid.radius_mm * Math.cos(a)), scale(two, solid.radius_mm * Math.sin(a)))));
      }
    }
    return out;
  }
  if (solid.solid === 'box') {
    const out: Vec[] = [];
    for (const i of [0, 1]) {
      for (const j of [0, 1]) {
        for (const k of [0, 1]) {
          out.push(add(add(add(solid.corner, scale(solid.edge_x, i)), scale(solid.edge_y, j)), scale(solid.edge_z, k)));
        }
      }
    }
    return out;
  }
  return [];
}
