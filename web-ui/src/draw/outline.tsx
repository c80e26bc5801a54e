/** The piece as planned, and as it will be once corrected. */
import { t } from '../text/words';
import { bestLook, fit, flatten, path } from './view';

export function Outline({ planned, corrected }: { planned: [number, number, number][]; corrected: [number, number, number][] }) {
  if (planned.length < 2 || corrected.length < 2) return null;
  const look = bestLook(planned);
  const [a, b] = [planned, corrected].map((list) => list.map((p) => flatten(p, look)));
  const { px } = fit([...a!, ...b!], 360, 130, 16);
  return (
    <figure>
      <svg class="outline" viewBox="0 0 360 130" role="img" aria-label={t.check.outline}>
        <path class="planned" d={path(a!.map(px))} />
        <path class="corrected" d={path(b!.map(px))} />
      </svg>
      <figcaption class="legend">
        <span class="key-planned">{t.check.keyPlanned}</span>
        <span class="key-corrected">{t.check.keyCorrected}</span>
      </figcaption>
    </figure>
  );
}
