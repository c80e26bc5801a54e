/** The way to what is worked out without a run; its screen is fetched only when it is first opened. */
import type { FunctionComponent } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { t } from '../../text/words';

let screen: FunctionComponent | null = null;

export function FigureScreen() {
  const [, fetched] = useState(screen !== null);
  const [failed, setFailed] = useState(false);
  useEffect(() => {
    if (!screen)
      import('./figure-screen')
        .then((module) => {
          screen = module.Figures;
          fetched(true);
        })
        .catch(() => setFailed(true));
  }, []);
  const Shown = screen;
  return Shown ? <Shown /> : <p class="quiet pad">{failed ? t.engine.failed : t.loading}</p>;
}

/** Leads there. */
export function FigureLink() {
  return (
    <a class="kind-button figure-link" href="#/figure">
      <b>{t.figure.toIt}</b>
      <span>{t.figure.toItWords}</span>
    </a>
  );
}
