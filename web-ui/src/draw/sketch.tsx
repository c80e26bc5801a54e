/** The run as entered so far, as the engine lays it out; before that a plain line. */
import type { SketchAnswer } from '../engine/types';
import { t } from '../text/words';
import { solidPoints } from './piece';
import { bestLook, CORNER, fit, flatten, hull, path, type Flat } from './view';

const WIDTH = 360;
const PLAIN: Pick<SketchAnswer, 'points' | 'outside_diameter_mm' | 'things' | 'surface' | 'readings'> = {
  points: [[0, 0, 0], [900, 0, 0]],
  outside_diameter_mm: 18,
  things: [],
  surface: [[0, 0, -9], [900, 0, -9]],
  readings: [],
};

interface SketchProps {
  sketch: SketchAnswer | null;
  name: string;
  /** No leg has been read yet: what is drawn is a guess. */
  empty: boolean;
  many: boolean;
  active: string;
  /** The reading of a field as it was written. */
  textOf: (field: string) => string;
}

export function Sketch({ sketch, name, empty, many, active, textOf }: SketchProps) {
  const drawn = sketch ?? PLAIN;
  const look = bestLook(drawn.points);
  const outlines = drawn.things.map((thing) => solidPoints(thing, 70).map((p) => flatten(p, look)));
  const flat = drawn.points.map((p) => flatten(p, look));
  const surface = drawn.surface.map((p) => flatten(p, look));
  const shown = drawn.readings
    .filter((n) => textOf(n.field).trim() && (!many || n.field.endsWith('.leg') || n.field === active))
    .sort((a, b) => lengthOf(a) - lengthOf(b)); // equal ones stay in the run's order
  const levels = levelsOf(shown.map((n) => n.field));
  const pad = many ? 34 : 24 + 15 * Math.max(1, ...levels.map((l) => l + 1));
  const all = [...flat, ...(look === CORNER ? [] : surface), ...outlines.flat()];
  const tall = spanOf(all, 1) / Math.max(spanOf(all, 0), 1);
  const upright = tall > 0.25;
  const padX = upright ? pad : 28;
  const height = Math.round(Math.min(many ? 214 : 236, Math.max(118, (WIDTH - 2 * padX) * tall + 2 * pad)));
  const { px, k } = fit(all, WIDTH, height, padX, 1.2, pad);
  const pts = flat.map(px);
  const centre: Flat = [mean(pts, 0), mean(pts, 1)];
  const tube = Math.max(4, drawn.outside_diameter_mm * k);
  return (
    <svg class="sketch" viewBox={`0 0 ${WIDTH} ${height}`} role="img" aria-label={t.measure.sketchOf(name)}>
      {look !== CORNER && <path class="surface" d={path(surface.map(px))} />}
      {outlines.map((outline, i) => (
        <path key={i} class={drawn.things[i]!.field.endsWith('.keep_clear') ? 'thing soft' : 'thing'} d={`${path(hull(outline.map(px)))}Z`} />
      ))}
      <path class="tube-edge" d={path(pts)} stroke-width={tube + 2.4} />
      <path class={empty || !sketch ? 'tube guess' : 'tube'} d={path(pts)} stroke-width={tube} />
      {shown.map((note, i) => (
        <Dim
          key={note.field}
          from={px(flatten(note.start, look))}
          to={px(flatten(note.end, look))}
          text={textOf(note.field)}
          centre={centre}
          level={levels[i]!}
          on={note.field === active}
        />
      ))}
      {drawn.things.map((thing, i) => {
        if (!thing.name || many) return null;
        const box = outlines[i]!.map(px);
        const x = clamp(mean(box, 0), thing.name.length * 3.1 + 4, WIDTH - thing.name.length * 3.1 - 4);
        const y = Math.min(...box.map((p) => p[1]), ...near(pts, mean(box, 0))) - tube / 2 - 7;
        return (
          <text key={i} class="name" x={x} y={Math.max(12, y)}>
            {thing.name}
          </text>
        );
      })}
      <EndTag at={pts[0]!} letter="A" toward={pts[1] ?? pts[0]!} />
      <EndTag at={pts[pts.length - 1]!} letter="B" toward={pts[pts.length - 2] ?? pts[0]!} />
    </svg>
  );
}

const mean = (points: readonly Flat[], i: 0 | 1): number =>
  (Math.min(...points.map((p) => p[i])) + Math.max(...points.map((p) => p[i]))) / 2;
const spanOf = (points: readonly Flat[], i: 0 | 1): number =>
  Math.max(...points.map((p) => p[i])) - Math.min(...points.map((p) => p[i]));
export const clamp = (v: number, low: number, high: number): number => Math.max(low, Math.min(high, v));
const near = (points: readonly Flat[], x: number): number[] =>
  points.filter((p) => Math.abs(p[0] - x) < 24).map((p) => p[1]);

const lengthOf = ({ start, end }: SketchAnswer['readings'][number]): number => Math.hypot(...start.map((v, i) => v - end[i]!));

/** Readings of one leg lie over each other, the shorter nearer to it: no line of one runs through the text of another. */
function levelsOf(fields: readonly string[]): number[] {
  const count = new Map<string, number>();
  return fields.map((field) => {
    const leg = field.slice(0, field.indexOf(']') + 1);
    const level = count.get(leg) ?? 0;
    count.set(leg, level + 1);
    return level;
  });
}

export function EndTag({ at, letter, toward }: { at: Flat; letter: string; toward: Flat }) {
  const d = Math.hypot(at[0] - toward[0], at[1] - toward[1]) || 1;
  const x = at[0] + ((at[0] - toward[0]) / d) * 13;
  const y = at[1] + ((at[1] - toward[1]) / d) * 13;
  return (
    <g class="end-tag">
      <circle cx={x} cy={y} r="9" />
      <text x={x} y={y + 4.2}>
        {letter}
      </text>
    </g>
  );
}

interface DimProps {
  from: Flat;
  to: Flat;
  text: string;
  centre: Flat;
  level: number;
  on: boolean;
}

function Dim({ from, to, text, centre, level, on }: DimProps) {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const length = Math.hypot(dx, dy);
  if (length < 1) return null;
  let n: Flat = [-dy / length, dx / length];
  const middle: Flat = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2];
  const away = (middle[0] - centre[0]) * n[0] + (middle[1] - centre[1]) * n[1];
  if (away < -0.5 || (Math.abs(away) <= 0.5 && n[1] < 0)) n = [-n[0], -n[1]];
  const off = 15 + 16 * level;
  const a: Flat = [from[0] + n[0] * off, from[1] + n[1] * off];
  const b: Flat = [to[0] + n[0] * off, to[1] + n[1] * off];
  const m: Flat = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  const upright = Math.abs(dy) > Math.abs(dx);
  const wide = text.length * 7 + 8;
  const x = upright ? clamp(m[0] + n[0] * 4, wide / 2, WIDTH - wide / 2) : clamp(m[0], wide / 2, WIDTH - wide / 2);
  return (
    <g class={on ? 'dim on' : 'dim'}>
      <path d={path([from, a]) + path([to, b])} class="reach" />
      <path d={path([a, b])} />
      <circle cx={a[0]} cy={a[1]} r="2" />
      <circle cx={b[0]} cy={b[1]} r="2" />
      <rect x={x - wide / 2} y={m[1] - 8} width={wide} height="16" rx="3" />
      <text x={x} y={m[1] + 4.4}>
        {text}
      </text>
    </g>
  );
}
