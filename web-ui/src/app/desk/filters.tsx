/** What of the list is looked for. */
import { useEffect, useRef } from 'preact/hooks';
import { AGAINST_CARD, STATUSES } from '../../engine/types';
import { t } from '../../text/words';
import { Pick } from '../parts/parts';
import { ALL, NO_AREA, type Total, type Wanted } from './rows';

const any = { value: '', label: t.desk.any };
const asOptions = (names: readonly string[]) => [any, ...names.map((name) => ({ value: name, label: name === NO_AREA ? t.desk.noArea : name }))];
const named = (words: Readonly<Record<string, string>>, values: readonly string[] = Object.keys(words)) => [any, ...values.map((value) => ({ value, label: words[value]! }))];
/** What a run may be found by: the worst of it, what its record says against its card, a choice that waits. */
const FOUND = { ...t.desk.worst, ...Object.fromEntries(AGAINST_CARD.map((rule) => [rule, t.desk.against[rule].title])), clash: t.desk.clash.title };

const isField = (target: EventTarget | null): boolean => target instanceof Element && target.closest('input, select, textarea, dialog, [contenteditable]') !== null;

export function Filters(props: { wanted: Wanted; onWanted: (wanted: Wanted) => void; areas: readonly string[]; people: readonly string[] }) {
  const { wanted, onWanted } = props;
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => {
    const listener = (event: KeyboardEvent): void => {
      if (event.key !== '/' || event.ctrlKey || event.metaKey || event.altKey || isField(event.target)) return;
      event.preventDefault();
      field.current?.focus();
      field.current?.select();
    };
    window.addEventListener('keydown', listener);
    return () => window.removeEventListener('keydown', listener);
  }, []);
  const keys = (event: KeyboardEvent): void => {
    if (event.key === 'Escape' && wanted.words) onWanted({ ...wanted, words: '' });
    else if (event.key === 'ArrowDown' || event.key === 'Enter') document.getElementById('run-grid')?.focus();
    else return;
    event.preventDefault();
  };
  return (
    <search class="filters">
      <div class="field find">
        <label for="desk-search">{t.desk.search}</label>
        <input id="desk-search" ref={field} type="search" autocomplete="off" maxLength={120} value={wanted.words} title={t.desk.searchHelp} aria-keyshortcuts="/"
          onInput={(e) => onWanted({ ...wanted, words: e.currentTarget.value })} onKeyDown={keys} />
      </div>
      <Pick label={t.desk.status} value={wanted.status} options={named(t.status, STATUSES)} onPick={(status) => onWanted({ ...wanted, status })} />
      <Pick label={t.desk.area} value={wanted.area} options={asOptions(props.areas)} onPick={(area) => onWanted({ ...wanted, area })} />
      <Pick label={t.desk.person} value={wanted.person} options={asOptions(props.people)} onPick={(person) => onWanted({ ...wanted, person })} />
      <Pick label={t.desk.found} value={wanted.found} options={named(FOUND)} onPick={(found) => onWanted({ ...wanted, found })} />
      {Object.values(wanted).some(Boolean) && (
        <button type="button" class="quiet-button" onClick={() => onWanted(ALL)}>
          {t.desk.clear}
        </button>
      )}
    </search>
  );
}

/** How far the job is, by area. */
export function Totals({ totals, shown }: { totals: readonly Total[]; shown: string }) {
  const whole = totals.at(-1)!;
  const words = STATUSES.filter((step) => whole.status[step]).map((step) => `${whole.status[step]} ${t.status[step].toLowerCase()}`);
  return (
    <details class="totals">
      <summary>
        <b role="status">{shown}</b>. {t.desk.totals}: {words.join(', ')}
      </summary>
      <div class="table-scroll" tabIndex={0} role="region" aria-label={t.desk.totals}>
        <table class="plain">
          <thead>
            <tr>
              <th scope="col">{t.desk.area}</th>
              {STATUSES.map((step) => (
                <th key={step} scope="col">
                  {t.status[step]}
                </th>
              ))}
              <th scope="col">{t.desk.total}</th>
            </tr>
          </thead>
          <tbody>
            {totals.map((total) => (
              <tr key={total.area}>
                <th scope="row">{total === whole ? t.desk.whole : total.area === NO_AREA ? t.desk.noArea : total.area}</th>
                {STATUSES.map((step) => (
                  <td key={step}>{total.status[step] || ''}</td>
                ))}
                <td>{total.all}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <p class="quiet small">{t.desk.totalsHelp}</p>
    </details>
  );
}
