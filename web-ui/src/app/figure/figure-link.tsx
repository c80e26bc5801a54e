/** Leads to what is worked out without a run. */
import { t } from '../../text/words';

export function FigureLink() {
  return (
    <a class="kind-button figure-link" href="#/figure">
      <b>{t.figure.toIt}</b>
      <span>{t.figure.toItWords}</span>
    </a>
  );
}
