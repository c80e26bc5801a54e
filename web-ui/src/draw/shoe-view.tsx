/** The bender on the pipe for one step: the pipe as it is now, the shoe at its mark, and the pipe afterwards. */
import type { MarkedBend, Shoe, PlannedPiece } from '../engine/types';
import { frameAt, toward, type Station } from './chain';
import { pieceStations, rad } from './piece';
import { dot, sub } from './vector';
import { path, type Flat } from './view';

const WIDTH = 360;
const HEIGHT = 272;
/** The handle's length from the groove's centre, in radii: shortened to fit the picture. */
const HANDLE = 1.95;
/** The middle of the shoe, radians from the hook's tangent: the handle stands opposite. */
const MIDDLE = Math.PI / 4;

interface Local {
  /** station s of the piece in the plane of this bend: x along the pipe, y the way it bends */
  at: (s: number) => Flat;
  points: (from: number, to: number) => Flat[];
}

/** See the piece from the side of this bend, with station `fixed` at the origin. */
function seen(list: Station[], fixed: number, roll: number): Local {
  const f = frameAt(list, fixed);
  const side = toward(f, roll);
  const flat = (p: Station['frame']['origin']): Flat => {
    const d = sub(p, f.origin);
    return [dot(d, f.axis), dot(d, side)];
  };
  return {
    at: (s) => flat(frameAt(list, s).origin),
    points: (from, to) => [
      flat(frameAt(list, from).origin),
      ...list.filter((p) => p.s > from && p.s < to).map((p) => flat(p.frame.origin)),
      flat(frameAt(list, to).origin),
    ],
  };
}

/** `words`: the step, for who does not see it. A bend that no shoe makes is drawn without one. */
export function ShoeView({ piece, bend, bender, words }: { piece: PlannedPiece; bend: MarkedBend; bender: Shoe; words: string }) {
  const over = bend.stance === 'upside down';
  const left = bend.hook === 'A';
  const tangent = left ? bend.arc_start_mm : bend.arc_end_mm;
  const far = left ? bend.arc_end_mm : bend.arc_start_mm;
  const fixed = over ? tangent : far;
  const roll = rad(bend.roll_deg);
  const now = seen(pieceStations(piece, true, (b) => b.order < bend.order), fixed, roll);
  const then = seen(pieceStations(piece, true, (b) => b.order <= bend.order), fixed, roll);
  const r = piece.bend_radius_mm;
  const angle = rad(bend.angle_deg);
  const way = left ? 1 : -1;
  const k = WIDTH / ((over ? 6.6 : 5.3) * r);
  const tube = Math.max(9, piece.outside_diameter_mm * k);
  const flip = over ? 1 : -1;
  const middle = now.at(tangent)[0] + way * 0.45 * r;
  const base = over ? HEIGHT * 0.365 : HEIGHT * 0.8;
  const start: Flat = [now.at(tangent)[0], r];
  const end: Flat = over ? start : [now.at(far)[0], r];
  // upside down the handle stands upright under the shoe: the conduit slopes, the hook's side down
  const tilt = over ? -way * MIDDLE : 0;
  const pivot: Flat = [WIDTH / 2 + (start[0] - middle) * k, base + flip * r * k];
  const px = (p: Flat): Flat => {
    const [x, y] = [(p[0] - start[0]) * k, flip * (p[1] - r) * k];
    return [pivot[0] + x * Math.cos(tilt) - y * Math.sin(tilt), pivot[1] + x * Math.sin(tilt) + y * Math.cos(tilt)];
  };
  const shoe = { way, r, bender, bend, px, tube, position: way * (bend.mark_mm - tangent) };
  const marked = now.at(bend.mark_mm);
  const length = piece.cut_length_mm;
  const pipeNow = now.points(0, length).map(px);
  const pipeThen = then.points(0, length).map(px);
  const turned = over ? 0 : -way * angle;
  const label = px(marked);
  const ground = over ? pivot[1] + k * r * HANDLE + 4 : base + tube / 2 + 1;
  const out: Flat = over ? [Math.sin(tilt), -Math.cos(tilt)] : [0, 1];
  const beside = (off: number): Flat => [label[0] + out[0] * off, label[1] + out[1] * off];
  const edge = (s: 'A' | 'B'): Flat => clip(px(now.at(s === 'A' ? 0 : length)), s === 'A', px(now.at(tangent)), tilt);
  return (
    <svg class="shoe" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={words}>
      <defs>
        <clipPath id="stage">
          <rect x="0" y="0" width={WIDTH} height={HEIGHT} />
        </clipPath>
      </defs>
      <g clip-path="url(#stage)">
        <Ground at={ground} />
        <path class="tube-then-edge" d={path(pipeThen)} stroke-width={tube + 2.4} />
        <path class="tube-then" d={path(pipeThen)} stroke-width={tube - 0.6} />
        <path class="tube-edge" d={path(pipeNow)} stroke-width={tube + 2.4} />
        <path class="tube" d={path(pipeNow)} stroke-width={tube} />
        {bend.on_shoe && <Shoe {...shoe} centre={end} turn={turned} ghost />}
        {bend.on_shoe && <Shoe {...shoe} centre={start} turn={0} />}
        {bend.on_shoe && !over && <Swing centre={start} to={end} angle={angle} way={way} r={r} px={px} />}
        {over && <Push at={px(then.at(left ? length : 0))} from={px(now.at(left ? length : 0))} way={way} angle={angle} px={px} r={r} />}
        <g class="mark">
          <path d={path([beside(-tube / 2 - 3), beside(tube / 2 + 3)])} />
          <path class="lead" d={path([beside(tube / 2 + 3), beside(tube / 2 + 15)])} />
          <text x={beside(tube / 2 + (over ? 30 : 17))[0]} y={beside(tube / 2 + 17)[1] + (over ? 0 : 11)}>
            {bend.mark_tape}
          </text>
        </g>
        <EndTag end="A" at={edge('A')} />
        <EndTag end="B" at={edge('B')} />
      </g>
    </svg>
  );
}

function Ground({ at }: { at: number }) {
  return (
    <>
      <path class="ground" d={path([[0, at], [WIDTH, at]])} />
      {Array.from({ length: 25 }, (_, i) => (
        <path key={i} class="ground thin" d={path([[i * 15, at + 7], [i * 15 + 7, at]])} />
      ))}
    </>
  );
}

function EndTag({ end, at: [x, y] }: { end: 'A' | 'B'; at: Flat }) {
  return (
    <g class="end-tag">
      <circle cx={x} cy={y} r="11" />
      <text x={x} y={y + 4.6}>
        {end}
      </text>
    </g>
  );
}

/** Where an end's tag goes: at the end where it is in the picture, else where the pipe, through `on` at this slope, leaves
 *  the picture. */
function clip(p: Flat, isA: boolean, on: Flat, tilt: number): Flat {
  const inside = p[0] > 12 && p[0] < WIDTH - 12 && p[1] > 12 && p[1] < HEIGHT - 12;
  if (inside) return [p[0] + (isA ? -4 : 4), p[1]];
  const x = isA ? 16 : WIDTH - 16;
  const y = on[1] + (x - on[0]) * Math.tan(tilt);
  const least = Math.min(HEIGHT - 16, Math.max(16, y));
  return least === y ? [x, y] : [on[0] + (least - on[1]) / Math.tan(tilt), least];
}

interface ShoeProps {
  centre: Flat;
  turn: number;
  way: number;
  r: number;
  bender: Shoe;
  bend: MarkedBend;
  px: (p: Flat) => Flat;
  tube: number;
  /** where the shoe's mark is, from the hook's tangent and away from the hook */
  position: number;
  ghost?: boolean;
}

function Shoe({ centre, turn, way, r, bender, bend, px, tube, position, ghost = false }: ShoeProps) {
  /** a point of the shoe: `u` radians from the hook's tangent along the groove, at radius `q` */
  const on = (u: number, q: number): Flat => {
    const a = -Math.PI / 2 + way * u + turn;
    return [centre[0] + q * Math.cos(a), centre[1] + q * Math.sin(a)];
  };
  const sweep = 1.62;
  const notch: Flat[] = [on(bender.center_mm / r - 0.06, r * 0.97), on(bender.center_mm / r, r * 0.87), on(bender.center_mm / r + 0.06, r * 0.97)];
  const arc = (from: number, to: number): Flat[] => Array.from({ length: 17 }, (_, i) => on(from + ((to - from) * i) / 16, r * 0.97));
  const rim = [...arc(0, bender.center_mm / r - 0.06), ...notch, ...arc(bender.center_mm / r + 0.06, sweep)];
  const inner = Array.from({ length: 25 }, (_, i) => on(sweep - 0.14 - ((sweep - 0.3) * i) / 24, r * 0.74));
  const mid = MIDDLE;
  const tip = (back: number, q: number): Flat => {
    const a = -Math.PI / 2 + turn;
    const [c, s] = [Math.cos(a), Math.sin(a)];
    return [centre[0] + q * c + back * way * s, centre[1] + q * s - back * way * c];
  };
  const d = piece(tube, px);
  const reach = Math.min(bender.hook_reach_mm, r * 0.42);
  const hook = [tip(0, r * 0.8), tip(reach * 0.75, r * 0.86), tip(reach, r), tip(reach * 0.86, r + d * 0.95), tip(reach * 0.3, r + d * 0.95)];
  const depth = bend.reference === 'center' ? r * 0.7 : r * 0.86;
  const sign = position < 0 ? tip(-position, depth) : on(position / r, depth);
  const socket = on(mid, r * 0.72);
  const handle = on(mid + Math.PI, r * HANDLE);
  return (
    <g class={ghost ? 'tool ghost' : 'tool'}>
      <path class="handle" d={path([px(socket), px(handle)])} />
      <path class="web" d={path([px(on(0.18, r * 0.78)), px(on(mid, r * 0.3)), px(on(1.3, r * 0.78))])} />
      <path class="body" d={`${path([...rim, ...inner].map(px))}Z`} />
      <path class="hook" d={path(hook.map(px))} />
      {!ghost && bend.reference === 'center' && <path class="notch" d={`${path(notch.map(px))}Z`} />}
      {!ghost && <Sign at={px(sign)} kind={bend.reference} />}
    </g>
  );
}

const piece = (tube: number, px: (p: Flat) => Flat): number => {
  const [a, b] = [px([0, 0]), px([1, 0])];
  return tube / 2 / Math.hypot(b[0] - a[0], b[1] - a[1]);
};

/** The shoe's reference mark: an arrow, a star, or for the center a notch in the rim. */
export function Sign({ at, kind }: { at: Flat; kind: string }) {
  const [x, y] = at;
  const star = Array.from({ length: 10 }, (_, i): Flat => {
    const q = i % 2 ? 3 : 7.2;
    return [x + q * Math.sin((i * Math.PI) / 5), y - q * Math.cos((i * Math.PI) / 5)];
  });
  return (
    <g class="sign">
      <circle cx={x} cy={y} r="10" />
      {kind === 'star' && <path class="full" d={`${path(star)}Z`} />}
      {kind === 'arrow' && <path d={`M${x} ${y - 6}V${y + 5}M${x - 4} ${y + 1}L${x} ${y + 6}L${x + 4} ${y + 1}`} />}
      {kind === 'center' && <path d={`M${x - 8} ${y - 3}H${x - 3.6}L${x} ${y + 5}L${x + 3.6} ${y - 3}H${x + 8}`} />}
    </g>
  );
}

/** The handle's way, as an arrow. */
function Swing(props: { centre: Flat; to: Flat; angle: number; way: number; r: number; px: (p: Flat) => Flat }) {
  const { centre, to, angle, way, r, px } = props;
  const parts = Array.from({ length: 17 }, (_, i): Flat => {
    const u = i / 16;
    const a = Math.PI / 2 + way * MIDDLE - way * angle * u;
    const x = centre[0] + (to[0] - centre[0]) * u;
    return px([x + 1.72 * r * Math.cos(a), centre[1] + 1.72 * r * Math.sin(a)]);
  });
  return <Arrow line={parts} />;
}

/** Bender upside down: the free side is pushed down. */
function Push(props: { at: Flat; from: Flat; way: number; angle: number; r: number; px: (p: Flat) => Flat }) {
  const { way, angle, r, px } = props;
  const reach = 1.9 * r;
  const parts = Array.from({ length: 17 }, (_, i): Flat => {
    const a = (angle * i) / 16;
    return px([way * reach * Math.cos(a), reach * Math.sin(a)]);
  });
  return <Arrow line={parts} />;
}

function Arrow({ line }: { line: Flat[] }) {
  const [a, b] = [line[line.length - 3]!, line[line.length - 1]!];
  const d = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
  const [ux, uy] = [(b[0] - a[0]) / d, (b[1] - a[1]) / d];
  const tip: Flat[] = [
    [b[0] - ux * 9 - uy * 6, b[1] - uy * 9 + ux * 6],
    b,
    [b[0] - ux * 9 + uy * 6, b[1] - uy * 9 - ux * 6],
  ];
  return <path class="swing" d={path(line) + path(tip)} />;
}
