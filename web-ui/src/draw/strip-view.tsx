/** The straight conduit with its marks, as it lies on the bench with the tape hooked on end A. */
import type { PlannedPiece } from '../engine/types';
import { t } from '../text/words';
import { path, type Flat } from './view';

const WIDTH = 360;

export function StripView({ piece, current }: { piece: PlannedPiece; current: number }) {
  const [x0, x1, y, half] = [22, WIDTH - 22, 56, 8];
  const x = (mm: number): number => x0 + ((x1 - x0) * mm) / piece.cut_length_mm;
  const bends = [...piece.bends].sort((a, b) => a.mark_mm - b.mark_mm);
  let before = -99;
  let row = 0;
  const spots = bends.map((bend) => {
    const at = x(bend.mark_mm);
    row = at - before < 24 ? (row + 1) % 2 : 0;
    before = at;
    return { bend, at, row };
  });
  return (
    <svg class="strip" viewBox={`0 0 ${WIDTH} 88`} role="img" aria-label={t.bend.stripOf(piece)}>
      <rect class="strip-pipe" x={x0} y={y - half} width={x1 - x0} height={half * 2} rx="2" />
      {spots.map(({ bend, at, row: r }) => {
        const on = bend.number === current;
        const dir = bend.hook === 'A' ? -1 : 1;
        const hook: Flat[] = [[at, y + half + 7], [at + dir * 11, y + half + 7]];
        return (
          <g key={bend.number} class={on ? 'strip-mark on' : 'strip-mark'}>
            <path d={path([[at, y - half - 6 - r * 16], [at, y + half + 7]])} />
            <path d={path(hook) + path([[at + dir * 7, y + half + 3.5], [at + dir * 11, y + half + 7], [at + dir * 7, y + half + 10.5]])} />
            <circle cx={at} cy={y - half - 15 - r * 17} r="9.5" />
            <text x={at} y={y - half - 10.7 - r * 17}>
              {bend.number}
            </text>
          </g>
        );
      })}
      <text class="strip-end" x={x0 - 12} y={y + 4.6}>
        A
      </text>
      <text class="strip-end" x={x1 + 12} y={y + 4.6}>
        B
      </text>
    </svg>
  );
}
