/** The planned run as it will hang, with what it must clear, its bends numbered as they lie from end A. */
import type { PlanAnswer, Plan } from '../engine/types';
import type { Unit } from '../text/lengths';
import { withUnit } from '../text/lengths';
import { t } from '../text/words';
import { frameAt } from './chain';
import { pieceStations, solidPoints } from './piece';
import { clamp, EndTag } from './sketch';
import type { Vec } from './vector';
import { bestLook, CORNER, fit, flatten, hull, path, type Flat } from './view';

const WIDTH = 360;

interface SideProps {
  answer: PlanAnswer;
  /** The feet of its ends and turns on the surfaces behind it. */
  surface: readonly Vec[];
  unit: Unit;
  /** -1: the whole run; else the number of an obstacle to look at closely. */
  close: number;
}

export function SideView({ answer, surface: feet, unit, close }: SideProps) {
  const { plan } = answer;
  const lists = plan.pieces.map((piece) => pieceStations(piece));
  const points = lists.flat().map((s) => s.frame.origin);
  const look = bestLook(points);
  const surface = feet.map((p) => flatten(p, look));
  const outlines = plan.obstacles.map((o) => solidPoints(o).map((p) => flatten(p, look)));
  const flat = points.map((p) => flatten(p, look));
  const od = plan.pieces[0]?.outside_diameter_mm ?? 18;
  const at = plan.obstacles[close];
  let frame: Flat[] = [...flat, ...outlines.flat()];
  if (at) {
    const middle = flatten(at.nearest, look);
    const r = Math.max(170, od * 5);
    frame = [...outlines[close]!, ...[-r, r].map((d): Flat => [middle[0] + d, middle[1]]), middle];
  }
  const [pad, head] = [28, at ? 60 : 34];
  const span = (i: 0 | 1) => Math.max(...frame.map((p) => p[i])) - Math.min(...frame.map((p) => p[i]));
  const height = Math.round(clamp(((WIDTH - 2 * pad) * span(1)) / Math.max(span(0), 1) + 2 * head, 130, 330));
  const { px, k } = fit(frame, WIDTH, height, pad);
  const tube = Math.max(5, od * k);
  return (
    <svg class="side" viewBox={`0 0 ${WIDTH} ${height}`} role="img" aria-label={t.see.sideOf(plan.name, bendCount(plan))}>
      {look !== CORNER && <path class="surface" d={path(surface.map(px))} />}
      {outlines.map((outline, i) =>
        outline.length ? <path key={i} class="thing" d={`${path(hull(outline.map(px)))}Z`} /> : null,
      )}
      {lists.map((list, i) => {
        const d = path(list.map((s) => px(flatten(s.frame.origin, look))));
        return (
          <g key={i}>
            <path class="tube-edge" d={d} stroke-width={tube + 2.6} />
            <path class="tube" d={d} stroke-width={tube} />
          </g>
        );
      })}
      {plan.obstacles.map((_, i) => (
        <Clear key={i} answer={answer} index={i} place={(p) => px(flatten(p, look))} unit={unit} words={close === i} />
      ))}
      <Badges plan={plan} place={(p) => px(flatten(p, look))} tube={tube} height={height} />
      {!at && lists[0] && (
        <>
          <EndTag at={px(flat[0]!)} toward={px(flat[1]!)} letter="A" />
          <EndTag at={px(flat[flat.length - 1]!)} toward={px(flat[flat.length - 2]!)} letter="B" />
        </>
      )}
    </svg>
  );
}

const bendCount = (plan: Plan): number => plan.pieces.reduce((n, p) => n + p.bends.length, 0);

function Clear(props: { answer: PlanAnswer; index: number; place: (p: Vec) => Flat; unit: Unit; words: boolean }) {
  const { answer, index, place, unit, words } = props;
  const { plan } = answer;
  const o = plan.obstacles[index]!;
  const od = plan.pieces[0]?.outside_diameter_mm ?? 18;
  const near: Vec = o.nearest;
  const foot = footOn(o.solid, near, o.at);
  const d = Math.hypot(near[0] - foot[0], near[1] - foot[1], near[2] - foot[2]) || 1;
  const skin: Vec = [0, 1, 2].map((i) => near[i]! + ((foot[i]! - near[i]!) * od) / 2 / d) as unknown as Vec;
  const [a, b] = [place(skin), place(foot)];
  const { low, left } = answer.clearances[index]!;
  const into = left.tape.startsWith('-');
  const text = withUnit(left.tape.replace('-', ''), unit);
  return (
    <g class={low ? 'clear low' : 'clear'}>
      <path d={path([a, b])} />
      {words && (
        <>
          <path class="lead" d={path([[a[0], (a[1] + b[1]) / 2], [a[0] + 34, (a[1] + b[1]) / 2 + 38]])} />
          <text x={a[0] + 36} y={(a[1] + b[1]) / 2 + 46}>
            {into ? t.see.intoIs(text) : t.see.clearIs(text)}
          </text>
        </>
      )}
    </g>
  );
}

type Solid = Plan['obstacles'][number]['solid'];

function footOn(solid: Solid, p: Vec, at: Vec): Vec {
  if (solid.solid === 'cylinder') {
    const axis: Vec = [0, 1, 2].map((i) => solid.end[i]! - solid.start[i]!) as unknown as Vec;
    const len2 = axis[0] ** 2 + axis[1] ** 2 + axis[2] ** 2 || 1;
    const k = [0, 1, 2].reduce((s, i) => s + (p[i]! - solid.start[i]!) * axis[i]!, 0) / len2;
    const on: Vec = [0, 1, 2].map((i) => solid.start[i]! + axis[i]! * k) as unknown as Vec;
    const d = Math.hypot(p[0] - on[0], p[1] - on[1], p[2] - on[2]) || 1;
    return [0, 1, 2].map((i) => on[i]! + ((p[i]! - on[i]!) / d) * solid.radius_mm) as unknown as Vec;
  }
  if (solid.solid === 'box') {
    let out: Vec = solid.corner;
    for (const edge of [solid.edge_x, solid.edge_y, solid.edge_z]) {
      const len2 = edge[0] ** 2 + edge[1] ** 2 + edge[2] ** 2 || 1;
      const k = clamp([0, 1, 2].reduce((s, i) => s + (p[i]! - solid.corner[i]!) * edge[i]!, 0) / len2, 0, 1);
      out = [out[0] + edge[0] * k, out[1] + edge[1] * k, out[2] + edge[2] * k];
    }
    return out;
  }
  return at;
}

/** Bend numbers beside the conduit, kept apart from each other. */
function Badges(props: { plan: Plan; place: (p: Vec) => Flat; tube: number; height: number }) {
  const taken: Flat[] = [];
  return (
    <g class="badges">
      {props.plan.pieces.flatMap((piece, p) => {
        const list = pieceStations(piece);
        return piece.bends.map((bend) => {
          const at = props.place(frameAt(list, (bend.arc_start_mm + bend.arc_end_mm) / 2).origin);
          let spot: Flat = [at[0], at[1] - props.tube / 2 - 13];
          for (const d of [[0, -1], [0, 1], [1, -1], [-1, -1], [1, 1], [-1, 1], [1.8, 0], [-1.8, 0]] as Flat[]) {
            spot = [at[0] + d[0] * 18, at[1] + d[1] * (props.tube / 2 + 13)];
            const free = taken.every((q) => Math.hypot(q[0] - spot[0], q[1] - spot[1]) > 20);
            if (free && spot[0] > 10 && spot[0] < WIDTH - 10 && spot[1] > 10 && spot[1] < props.height - 10) break;
          }
          taken.push(spot);
          return (
            <g key={`${p}-${bend.number}`} class="badge">
              <circle cx={spot[0]} cy={spot[1]} r="9.5" />
              <text x={spot[0]} y={spot[1] + 4.4}>
                {bend.number}
              </text>
            </g>
          );
        });
      })}
    </g>
  );
}
