/** The survey as a rough line in the room, at once and without the engine: right in place, rough in the bends. */
import { parseLength } from '../text/lengths';
import { isLeg, kindOf, type Feature, type Survey } from '../app/kept/survey';
import { add, along, cross, rotate, scale, type Vec } from './vector';

export interface Thing {
  name: string;
  kind: 'round' | 'square';
  at: Vec;
  /** half size along the run, half across, half off the surface */
  half: Vec;
  heading: Vec;
  left: Vec;
  normal: Vec;
  firm: boolean;
}
export interface Note {
  from: Vec;
  to: Vec;
  text: string;
  field: string;
  side: Vec;
}
export interface Rough {
  corners: Vec[];
  things: Thing[];
  notes: Note[];
  surface: Vec[];
  radius_mm: number;
  empty: boolean;
}

const RADII: Record<string, number> = { '1/2': 114, '3/4': 138, '1': 178, '1-1/4': 250 };

/** Lengths not yet given get a guess, so that the picture keeps its form. */
export function roughWalk(survey: Survey): Rough {
  const unit = survey.units;
  const mm = (text: string | undefined, guess: number): number => {
    const value = parseLength(text ?? '', unit);
    return value === null ? guess : Math.min(value, 60000);
  };
  const run = survey.run;
  const size = run.raceway.split(' ')[1] ?? '1/2';
  const radius = RADII[size] ?? 150;
  const half = 10;
  let heading: Vec = [1, 0, 0];
  let normal: Vec = [0, 0, 1];
  let origin: Vec = [0, 0, mm(run.stand_off, 0) + half];
  const rough: Rough = { corners: [origin], things: [], notes: [], surface: [[0, 0, 0]], radius_mm: radius, empty: true };
  let a = 0;
  let b = 0;
  run.walk.forEach((part, index) => {
    const left = cross(normal, heading);
    const place = (x: number, da = a, db = b): Vec =>
      along(add(along(origin, heading, x), scale(normal, da)), left, db);
    if (isLeg(part)) {
      const given = parseLength(part.leg, unit);
      if (given) rough.empty = false;
      const length = given ? Math.min(given, 60000) : 900;
      const bare = origin;
      let slope: [number, number] = [0, 0];
      let slopeFrom = 0;
      for (const [j, feature] of (part.features ?? []).entries()) {
        const field = `run.walk[${index}].features[${j}]`;
        const out = feature.kick ? feature.kick : null;
        if (out) {
          const rise = mm(out.rise, 60);
          const at = out.starts_at ? mm(out.starts_at, length / 2) : length - rise / Math.tan(0.35);
          const way = out.toward ?? 'away';
          slopeFrom = Math.min(at, length - 1);
          rough.corners.push(place(slopeFrom));
          slope = way === 'left' ? [0, rise] : way === 'right' ? [0, -rise] : way === 'toward' ? [-rise, 0] : [rise, 0];
          rough.notes.push({ from: place(0), to: place(slopeFrom), text: out.starts_at ?? '', field: `${field}.kick.starts_at`, side: normal });
          continue;
        }
        [a, b] = featureOn(rough, feature, field, { place, heading, normal, left, length, a, b, mm, off: a + half });
      }
      a += slope[0];
      b += slope[1];
      origin = place(length, a, b);
      if (part.leg.trim()) {
        rough.notes.push({ from: bare, to: along(bare, heading, length), text: part.leg, field: `run.walk[${index}].leg`, side: scale(normal, -1) });
      }
      rough.surface.push(along(origin, normal, -(half + a)));
      rough.corners.push(origin);
      a = 0;
      b = 0;
    } else {
      const angle = ((Number(part.angle ?? 90) || 90) * Math.PI) / 180;
      if (part.turn === 'left' || part.turn === 'right') {
        heading = rotate(heading, normal, part.turn === 'left' ? angle : -angle);
      } else {
        const about = scale(left, part.turn === 'away' ? -1 : 1);
        [heading, normal] = [rotate(heading, about, angle), rotate(normal, about, angle)];
      }
    }
  });
  return rough;
}

interface Here {
  place: (x: number, a?: number, b?: number) => Vec;
  heading: Vec;
  normal: Vec;
  left: Vec;
  length: number;
  a: number;
  b: number;
  off: number;
  mm: (text: string | undefined, guess: number) => number;
}

/** Draw one feature; gives where the line lies afterwards (away, left). */
function featureOn(rough: Rough, feature: Feature, field: string, h: Here): [number, number] {
  const { place, mm, length, a, b } = h;
  const kind = kindOf(feature);
  if (feature.saddle) {
    const s = feature.saddle;
    const x = Math.min(mm(s.centre, length / 2), length);
    const side = s.toward === 'left' ? 1 : s.toward === 'right' ? -1 : 0;
    const top = side ? mm(s.reach, 50) : mm(s.height, 50);
    const clear = 8;
    const rise = s.rise !== undefined ? mm(s.rise, 50) : Math.max(side ? top + 10 + clear : top + 10 + clear - h.off, 1);
    const wide = s.over === 'square' ? mm(s.width, 120) : 0;
    const angle = ((Number(s.angle) || (s.bends === '4' || wide > 90 ? 30 : 22.5)) * Math.PI) / 180;
    const go = rise / Math.tan(angle);
    const flat = s.bends === '4' || wide > 90 ? wide / 2 + 40 : 0;
    const up = (k: number): [number, number] => (side ? [a, b + side * k] : [a + k, b]);
    rough.corners.push(place(x - flat - go, a, b));
    if (flat) rough.corners.push(place(x - flat, ...up(rise)), place(x + flat, ...up(rise)));
    else rough.corners.push(place(x, ...up(rise + 8)));
    rough.corners.push(place(x + flat + go, a, b));
    if (s.rise === undefined) {
      const lift = mm(s.lift, 0);
      const tall = side ? mm(s.width, 50) : top - lift;
      const w = s.over === 'square' ? wide : side ? tall : mm(s.width, tall);
      const centre = side ? place(x, 60, b + side * (top - tall / 2)) : place(x, lift + tall / 2 - h.off + a, b);
      const halves: Vec = side ? [w / 2, tall / 2, 150] : [w / 2, 220, tall / 2];
      rough.things.push(thing(s.name ?? '', s.over ?? 'round', centre, halves, h, true));
    }
    rough.notes.push({ from: place(0, a, b), to: place(x, a, b), text: s.centre, field: `${field}.saddle.centre`, side: h.normal });
    return [a, b];
  }
  if (feature.keep_clear) {
    const k = feature.keep_clear;
    const x = mm(k.centre, length / 2);
    const [tall, wide, lift] = [mm(k.height, 60), mm(k.width, 80), mm(k.lift, 0)];
    const centre = place(x, (lift + tall) / 2 - h.off + a, b + mm(k.side, 0));
    rough.things.push(thing(k.name ?? '', k.over ?? 'square', centre, [wide / 2, 150, Math.max(tall - lift, 4) / 2], h, false));
    rough.notes.push({ from: place(0, a, b), to: place(x, a, b), text: k.centre, field: `${field}.keep_clear.centre`, side: h.normal });
    return [a, b];
  }
  const o = feature.offset ?? feature.box_offset!;
  const shift = feature.offset?.shift;
  const rise = o.rise !== undefined || shift === undefined ? mm(o.rise, kind === 'box_offset' ? 12 : 60) : 0;
  const da = o.toward === 'toward' ? -rise : rise;
  const db = shift !== undefined ? mm(shift, 60) * (feature.offset?.side === 'right' ? -1 : 1) : 0;
  const angle = ((Number(o.angle) || (kind === 'box_offset' ? 10 : 30)) * Math.PI) / 180;
  const go = Math.hypot(da, db) / Math.tan(angle);
  const middle = feature.offset?.middle_at;
  let x = mm(o.starts_at, length / 3) + rough.radius_mm * Math.tan(angle / 2);
  if (o.done_by !== undefined) x = mm(o.done_by, length / 2) - go - rough.radius_mm * Math.tan(angle / 2);
  if (middle !== undefined) x = mm(middle, length / 2) - go / 2;
  const named = o.done_by !== undefined ? 'done_by' : middle !== undefined ? 'middle_at' : 'starts_at';
  const text = o.done_by ?? middle ?? o.starts_at ?? '';
  rough.corners.push(place(x, a, b), place(x + go, a + da, b + db));
  rough.notes.push({ from: place(0, a, b), to: place(mm(text, x), a, b), text, field: `${field}.${kind}.${named}`, side: h.normal });
  return [a + da, b + db];
}

function thing(name: string, kind: 'round' | 'square', at: Vec, half: Vec, h: Here, firm: boolean): Thing {
  return { name, kind, at, half, heading: h.heading, left: h.left, normal: h.normal, firm };
}

/** Corners rounded to the radius where there is room for it. */
export function rounded(corners: readonly Vec[], radius: number): Vec[] {
  const out: Vec[] = [corners[0]!];
  for (let i = 1; i < corners.length - 1; i += 1) {
    const [p, c, n] = [corners[i - 1]!, corners[i]!, corners[i + 1]!];
    const back: Vec = [p[0] - c[0], p[1] - c[1], p[2] - c[2]];
    const on: Vec = [n[0] - c[0], n[1] - c[1], n[2] - c[2]];
    const [lb, lo] = [Math.hypot(...back) || 1, Math.hypot(...on) || 1];
    const cosine = -(back[0] * on[0] + back[1] * on[1] + back[2] * on[2]) / lb / lo;
    const turn = Math.acos(Math.max(-1, Math.min(1, cosine)));
    const t = Math.min(radius * Math.tan(turn / 2), lb / 2.05, lo / 2.05);
    const from = along(c, back, t / lb);
    const to = along(c, on, t / lo);
    for (let k = 0; k <= 8; k += 1) {
      const u = k / 8;
      out.push(add(add(scale(from, (1 - u) ** 2), scale(c, 2 * u * (1 - u))), scale(to, u * u)));
    }
  }
  out.push(corners[corners.length - 1]!);
  return out;
}
