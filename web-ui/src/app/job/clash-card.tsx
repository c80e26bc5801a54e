/** Two versions of one run, side by side where they differ, and the three ways on. */
import { t } from '../../text/words';
import { settle } from '../kept/share';
import type { Clash, KeptRun, Version } from '../kept/state';

/** Every field of a version by its path. */
function fields(value: unknown, path = ''): Map<string, string> {
  const out = new Map<string, string>();
  if (value === null || typeof value !== 'object') out.set(path, String(value));
  else for (const [key, inner] of Object.entries(value)) for (const [p, v] of fields(inner, path ? `${path} ${key}` : key)) out.set(p, v);
  return out;
}

function differences(a: Version, b: Version): { path: string; a: string; b: string }[] {
  const [one, two] = [a, b].map((v) => fields({ ...v.survey.run, tape: v.survey.units, status: t.status[v.status] }));
  const paths = [...new Set([...one!.keys(), ...two!.keys()])];
  return paths
    .map((path) => ({ path, a: one!.get(path) ?? t.share.nothing, b: two!.get(path) ?? t.share.nothing }))
    .filter((d) => d.a !== d.b);
}

const when = (saved: string): string => {
  const date = new Date(saved);
  return Number.isNaN(date.getTime()) ? saved : date.toLocaleString([], { dateStyle: 'short', timeStyle: 'short' });
};

/** 'walk 0 features 0 saddle centre' -> 'leg 1, saddle centre' */
const inWords = (path: string): string =>
  path.replace(/^walk (\d+)/, (_, n: string) => (Number(n) % 2 ? `turn ${(Number(n) + 1) / 2}` : `leg ${Number(n) / 2 + 1}`)).replace(/ features \d+/, ',').replace(/_/g, ' ');

export function ClashCard({ run, clash }: { run: KeptRun; clash: Clash }) {
  return (
    <section class="clash" aria-label={t.share.title}>
      <h2>{t.share.title}</h2>
      <p>{t.share.words}</p>
      <table class="plain">
        <caption class="unseen">{t.share.differs}</caption>
        <thead>
          <tr>
            <th scope="col">{t.share.differs}</th>
            <th scope="col">
              {t.share.newest}
              <small>{t.share.from(clash.newest.by, when(clash.newest.saved))}</small>
            </th>
            <th scope="col">
              {t.share.late}
              <small>{t.share.from(clash.late.by, when(clash.late.saved))}</small>
            </th>
          </tr>
        </thead>
        <tbody>
          {differences(clash.newest, clash.late).map((d) => (
            <tr key={d.path}>
              <th scope="row">{inWords(d.path)}</th>
              <td>{d.a}</td>
              <td>{d.b}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {(['newest', 'late', 'both'] as const).map((choice) => (
        <button key={choice} type="button" class="wide-button" onClick={() => void settle(run, clash, choice)}>
          {{ newest: t.share.keepNewest, late: t.share.keepLate, both: t.share.keepBoth }[choice]}
        </button>
      ))}
    </section>
  );
}
