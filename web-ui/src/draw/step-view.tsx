/** The picture of a step without a bend: the stick to cut, the bent piece with its straps or cut lines, an end as it is worked. */
import type { PieceAtBench, Plan, PlannedPiece, Step } from '../engine/types';
import { frameAt, type Station } from './chain';
import { EndView, type EndWork } from './end-view';
import { pieceStations } from './piece';
import { along } from './vector';
import { bestLook, fit, flatten, path, type Flat } from './view';

const WIDTH = 360;
const HEIGHT = 150;
/** How much of what is cut off is shown at an end (mm). */
const OFFCUT_SHOWN_MM = 90;

interface Props {
  plan: Plan;
  step: Pick<Step, 'kind' | 'title' | 'detail' | 'move'>;
  piece: PlannedPiece | null;
  words: PieceAtBench | null;
}

export function StepView({ plan, step, piece, words }: Props) {
  const label = `${step.title}. ${step.detail}`;
  const move = step.move ? plan.assembly?.moves[step.move - 1] : undefined;
  const moved = piece ?? (move ? plan.pieces[move.piece - 1] : undefined);
  if (!moved) return null;
  if ((step.kind === 'cut' || step.kind === 'stock') && words) return <Stick piece={moved} words={words} cut={step.kind === 'cut'} label={label} />;
  if (step.kind === 'check' || step.kind === 'trim' || step.kind === 'strap') return <Bent piece={moved} words={words} kind={step.kind} label={label} />;
  if (step.kind === 'ream') return <EndView label={label} ends={[{ letter: 'A', work: 'ream' }, { letter: 'B', work: 'ream' }]} metal={!plan.raceway.startsWith('PVC')} />;
  if (step.kind === 'thread') {
    const ends = ([['A', moved.end_a], ['B', moved.end_b]] as const).filter(([, end]) => end.thread === 'cut');
    return <EndView label={label} ends={ends.map(([letter]) => ({ letter, work: 'thread' as const }))} metal />;
  }
  if (!move) return null;
  const ends = move.joints.flatMap((number) => {
    const joint = plan.joints[number - 1];
    if (!joint || move.act === 'place') return [];
    const letter: 'A' | 'B' = joint.before === move.piece ? 'B' : 'A';
    const work: EndWork = move.act;
    return [{ letter, work, other: joint.before !== null && joint.after !== null }];
  });
  return ends.length ? <EndView label={label} ends={ends} metal /> : <Bent piece={moved} words={words} kind="place" label={label} />;
}

/** The stick as it lies on the bench, with the length to take of it. */
function Stick({ piece, words, cut, label }: { piece: PlannedPiece; words: PieceAtBench; cut: boolean; label: string }) {
  const [x0, x1, y, half] = [26, WIDTH - 26, 58, 9];
  const taken = words.length.mm;
  const end = x0 + ((x1 - x0) * taken) / Math.max(piece.stock_mm, taken);
  return (
    <svg class="stick" viewBox={`0 0 ${WIDTH} 104`} role="img" aria-label={label}>
      {end < x1 - 1 && <rect class="strip-pipe off" x={end} y={y - half} width={x1 - end} height={half * 2} />}
      <rect class="strip-pipe" x={x0} y={y - half} width={end - x0} height={half * 2} rx="2" />
      {cut && (
        <g class="saw">
          <path d={path([[end, y - half - 6], [end, y + half + 5]])} />
          <path class="full" d={`M${end - 8} ${y - half - 20}H${end + 8}L${end} ${y - half - 6}Z`} />
        </g>
      )}
      <g class="dim">
        <path d={path([[x0, y + half + 6], [x0, y + half + 20]]) + path([[end, y + half + 6], [end, y + half + 20]]) + path([[x0, y + half + 14], [end, y + half + 14]])} />
        <rect x={(x0 + end) / 2 - 34} y={y + half + 5} width="68" height="18" />
        <text x={(x0 + end) / 2} y={y + half + 19}>
          {words.length.tape}
        </text>
      </g>
      <Tag at={[x0 - 13, y]} letter="A" />
      <Tag at={[Math.min(end + 13, WIDTH - 12), y]} letter="B" />
    </svg>
  );
}

function Bent({ piece, words, kind, label }: { piece: PlannedPiece; words: PieceAtBench | null; kind: 'check' | 'trim' | 'strap' | 'place'; label: string }) {
  const list = pieceStations(piece);
  const points = list.map((s) => s.frame.origin);
  const look = bestLook(points);
  const far = (letter: 'A' | 'B'): Flat => {
    const { frame } = letter === 'A' ? list[0]! : list[list.length - 1]!;
    const extra = Math.min(letter === 'A' ? piece.extra_a_mm : piece.extra_b_mm, OFFCUT_SHOWN_MM);
    return flatten(along(frame.origin, frame.axis, letter === 'A' ? -extra : extra), look);
  };
  const flat = points.map((p) => flatten(p, look));
  const { k, px } = fit([...flat, far('A'), far('B')], WIDTH, HEIGHT, 30, Infinity, 44);
  const tube = Math.max(8, piece.outside_diameter_mm * k);
  const line = flat.map(px);
  const cut = kind === 'trim' ? (words?.lines ?? []).filter((one) => one.is_cut).map((one) => one.name) : [];
  const ends = { A: line[0]!, B: line[line.length - 1]! };
  const straps = kind === 'strap' ? (words?.straps ?? []) : [];
  return (
    <svg class="bent" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={label}>
      {kind === 'check' && <path class="sight" d={path([ends.A, ends.B])} />}
      {cut.map((letter) => (
        <path key={letter} class="tube-then" stroke-width={tube - 2} d={path([px(far(letter as 'A' | 'B')), ends[letter as 'A' | 'B']])} />
      ))}
      <path class="tube-edge" d={path(line)} stroke-width={tube + 2.4} />
      <path class="tube" d={path(line)} stroke-width={tube} />
      {straps.map((strap, i) => (
        <Strap key={i} at={px(flatten(frameAt(list, strap.mm).origin, look))} tape={strap.tape} along={slope(list, strap.mm, look)} tube={tube} above={i % 2 === 0} />
      ))}
      {(['A', 'B'] as const).map((letter) => {
        const [x, y] = ends[letter];
        if (cut.includes(letter))
          return (
            <g key={letter} class="saw">
              <path d={path([[x, y - tube / 2 - 8], [x, y + tube / 2 + 8]])} />
              <Tag at={[x, y - tube / 2 - 20]} letter={letter} />
            </g>
          );
        return <Tag key={letter} at={[x + (letter === 'A' ? -13 : 13), y]} letter={letter} />;
      })}
    </svg>
  );
}

/** Which way the conduit runs there in the picture, radians. */
function slope(list: readonly Station[], at: number, look: Parameters<typeof flatten>[1]): number {
  const [x, y] = flatten(frameAt(list, at).axis, look);
  return Math.atan2(y, x);
}

function Strap({ at: [x, y], tape, along: angle, tube, above }: { at: Flat; tape: string; along: number; tube: number; above: boolean }) {
  const [ux, uy] = [-Math.sin(angle), Math.cos(angle)];
  const reach = tube / 2 + 7;
  const side = (above ? -1 : 1) * (uy < 0 ? -1 : 1) * (tube / 2 + 16 + 22 * Math.abs(ux));
  return (
    <g class="strap">
      <path d={path([[x - ux * reach, y - uy * reach], [x + ux * reach, y + uy * reach]])} />
      <text x={x + ux * side} y={y + uy * side + 5}>
        {tape}
      </text>
    </g>
  );
}

function Tag({ at: [x, y], letter }: { at: Flat; letter: string }) {
  return (
    <g class="end-tag">
      <circle cx={x} cy={y} r="11" />
      <text x={x} y={y + 4.6}>
        {letter}
      </text>
    </g>
  );
}
