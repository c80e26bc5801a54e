/** The straight conduit with its lines, as it lies on the bench with the tape hooked on end A. */
import type { PieceAtBench, PlannedPiece } from '../engine/types';
import { t } from '../text/words';
import { path, type Flat } from './view';

const WIDTH = 360;

export function StripView({ piece, words, current }: { piece: PlannedPiece; words: PieceAtBench; current: number }) {
  const [x0, x1, y, half] = [22, WIDTH - 22, 56, 8];
  const x = (mm: number): number => x0 + ((x1 - x0) * (words.zero_mm + mm)) / words.length.mm;
  const cutLater = words.lines.filter((line) => line.is_cut).map((line) => line.name);
  const bend = piece.bends.find((b) => b.number === current);
  let before = -99;
  let row = 0;
  const spots = words.lines.map((line) => {
    const at = x(line.at.mm);
    row = at - before < 24 ? (row + 1) % 2 : 0;
    before = at;
    return { line, at, row, hook: piece.bends.find((b) => b.on_shoe && String(b.number) === line.name)?.hook };
  });
  return (
    <svg class="strip" viewBox={`0 0 ${WIDTH} 88`} role="img" aria-label={t.bend.stripOf(piece.label, words)}>
      <rect class="strip-pipe" x={x0} y={y - half} width={x1 - x0} height={half * 2} rx="2" />
      {bend && !bend.on_shoe && (
        <rect class="strip-taken" x={x(bend.arc_start_mm)} y={y - half} width={x(bend.arc_end_mm) - x(bend.arc_start_mm)} height={half * 2} />
      )}
      {spots.map(({ line, at, row: r, hook }) => {
        const on = line.name === String(current);
        const dir = hook === 'A' ? -1 : 1;
        const tip: Flat[] = [[at, y + half + 7], [at + dir * 11, y + half + 7]];
        return (
          <g key={line.name} class={on ? 'strip-mark on' : 'strip-mark'}>
            <path class={line.is_cut ? 'strip-cut' : ''} d={path([[at, y - half - 6 - r * 16], [at, y + half + 7]])} />
            {hook && <path d={path(tip) + path([[at + dir * 7, y + half + 3.5], [at + dir * 11, y + half + 7], [at + dir * 7, y + half + 10.5]])} />}
            {line.is_cut ? (
              <rect x={at - 9.5} y={y - half - 24.5 - r * 17} width="19" height="19" />
            ) : (
              <circle cx={at} cy={y - half - 15 - r * 17} r="9.5" />
            )}
            <text x={at} y={y - half - 10.7 - r * 17}>
              {line.name}
            </text>
          </g>
        );
      })}
      {(['A', 'B'] as const).map(
        (end) =>
          !cutLater.includes(end) && (
            <text key={end} class="strip-end" x={end === 'A' ? x0 - 12 : x1 + 12} y={y + 4.6}>
              {end}
            </text>
          ),
      )}
    </svg>
  );
}
