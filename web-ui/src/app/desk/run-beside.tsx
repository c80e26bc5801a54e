/** The run beside the list: what See shows of it, what can be done with it, and what was done on it. */
import { useState } from 'preact/hooks';
import type { JobRun } from '../../engine/types';
import { t } from '../../text/words';
import { RunDeeds } from '../job/run-deeds';
import type { Sheet } from '../job/print';
import { statusWords } from '../job/status-words';
import { getRec } from '../kept/kept';
import { useApp } from '../kept/state';
import type { KeptRun, SeenEntry } from '../kept/view';
import { Boundary } from '../parts/boundary';
import { Notice } from '../parts/parts';
import { shortly, when } from '../parts/when';
import { SeeScreen } from '../see/see-screen';
import { factsOf, useFacts } from '../parts/facts';
import { useSaid } from './said';

export function RunBeside({ run, onPrint }: { run: KeptRun; onPrint: (sheet: Sheet) => void }) {
  const { planned } = useApp();
  useFacts();
  const data = getRec(run.id)?.data as JobRun | null | undefined;
  const facts = factsOf(run);
  const name = run.survey.run.name || t.job.noName;
  return (
    <section class="beside" aria-label={t.desk.beside(data?.key ?? '')}>
      <header class="beside-head">
        <h2>
          {data?.key}: {name}
        </h2>
        <p class="run-facts">
          {data?.area && <span>{data.area}</span>}
          <span>{run.survey.run.raceway}</span>
          {run.times > 1 && <span class="status">{t.job.alike(run.times)}</span>}
          <span class={`status ${run.status}`}>{statusWords(run)}</span>
        </p>
        {run.refusal && <p class="wrong">{t.share.refused(run.refusal)}</p>}
      </header>
      {facts?.against.map(({ rule, words }) => (
        <div class="pad pad-top" key={words}>
          <Notice kind="caution" title={t.desk.against[rule].title}>
            <p>{words}</p>
          </Notice>
        </div>
      ))}
      <Boundary key={`see ${run.id}`}>
        <SeeScreen run={run} />
      </Boundary>
      <section class="card run-body">
        <Log key={`log ${run.id}`} run={run} />
        <RunDeeds key={`deeds ${run.id}`} run={run} ready={planned.state === 'ok'} onPrint={onPrint} />
      </section>
    </section>
  );
}

const MOST = 30;

function Log({ run }: { run: KeptRun }) {
  const [most, setMost] = useState(MOST);
  const newest = run.entries.slice().reverse();
  const shown = newest.slice(0, most);
  return (
    <>
      <h3>{t.desk.log}</h3>
      {shown.length ? <EntryLines entries={shown} who /> : <p class="quiet">{t.desk.logNone}</p>}
      {newest.length > most && (
        <button type="button" class="quiet-button" onClick={() => setMost(most + MOST)}>
          {t.desk.more(newest.length - most)}
        </button>
      )}
    </>
  );
}

/** A line each. `who`: by whom; `of`: on which run, where they are of several. */
export function EntryLines({ entries, who, of }: { entries: readonly SeenEntry[]; who?: boolean; of?: (entry: SeenEntry) => preact.ComponentChild }) {
  const said = useSaid(entries);
  return (
    <ul class="entry-lines">
      {entries.map((one) => {
        const told = said(one);
        return (
          <li key={one.entry.id}>
            <span class="quiet">{who ? [when(one.at), one.by].filter(Boolean).join(', ') : shortly(Date.parse(one.at))}</span>
            {of?.(one)}
            <span>{told?.words ?? t.desk.entry[one.entry.what.kind]}</span>
            {told?.made_with && (
              <small class="quiet">
                {t.desk.withMade} {told.made_with}
              </small>
            )}
          </li>
        );
      })}
    </ul>
  );
}
