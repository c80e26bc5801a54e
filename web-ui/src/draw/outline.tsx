/** The piece as it likely is by what was measured, and as it will be once corrected; what differs is drawn larger. */
import type { Vec } from './vector';
import { t } from '../text/words';
import { bestLook, fit, flatten, path, type Flat } from './view';

const POINTS = 90;
/** So far apart, in px, are the two at their farthest, unless that would take more than `MOST_TIMES`. */
const APART = 16;
const MOST_TIMES = 20;

/** Points at equal steps along a line. */
function evenly(line: readonly Flat[]): Flat[] {
  const steps = line.map((p, i) => (i ? Math.hypot(p[0] - line[i - 1]![0], p[1] - line[i - 1]![1]) : 0));
  const at = steps.map(((sum) => (d: number) => (sum += d))(0));
  const whole = at[at.length - 1]!;
  return Array.from({ length: POINTS + 1 }, (_, k) => {
    const s = (whole * k) / POINTS;
    const i = Math.max(1, at.findIndex((d) => d >= s - 1e-9));
    const share = steps[i]! > 1e-9 ? (s - at[i - 1]!) / steps[i]! : 0;
    const [p, q] = [line[i - 1]!, line[i]!];
    return [p[0] + (q[0] - p[0]) * share, p[1] + (q[1] - p[1]) * share];
  });
}

export function Outline({ planned, now, corrected }: { planned: Vec[]; now: Vec[]; corrected: Vec[] }) {
  const before = now.length > 1 ? now : planned;
  if (before.length < 2 || corrected.length < 2) return null;
  const look = bestLook(planned);
  const [a, b] = [before, corrected].map((list) => evenly(list.map((p) => flatten(p, look)))) as [Flat[], Flat[]];
  const { k } = fit([...a, ...b], 360, 150, 24);
  const off = Math.max(...a.map((p, i) => Math.hypot(p[0] - b[i]![0], p[1] - b[i]![1])));
  const times = off * k > 0.05 ? Math.max(1, Math.min(MOST_TIMES, Math.round(APART / (off * k)))) : 1;
  const shown = a.map((p, i): Flat => [b[i]![0] + times * (p[0] - b[i]![0]), b[i]![1] + times * (p[1] - b[i]![1])]);
  const { px } = fit([...shown, ...b], 360, 150, 24);
  return (
    <figure>
      <svg class="outline" viewBox="0 0 360 150" role="img" aria-label={now.length ? t.check.outlineNow : t.check.outline}>
        <path class="planned" d={path(shown.map(px))} />
        <path class="corrected" d={path(b.map(px))} />
        {(['A', 'B'] as const).map((end) => {
          const [x, y] = px(end === 'A' ? b[0]! : b[POINTS]!);
          return (
            <g key={end} class="end-tag">
              <circle cx={x + (end === 'A' ? -10 : 10)} cy={y} r="10" />
              <text x={x + (end === 'A' ? -10 : 10)} y={y + 4.6}>
                {end}
              </text>
            </g>
          );
        })}
      </svg>
      <figcaption class="legend">
        <span class="key-planned">{now.length ? t.check.keyNow : t.check.keyPlanned}</span>
        <span class="key-corrected">{t.check.keyCorrected}</span>
        {times > 1 && <small>{t.check.larger(times)}</small>}
      </figcaption>
    </figure>
  );
}
