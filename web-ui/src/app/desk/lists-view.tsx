/** Buy, cut, hand out: one list of the whole job at a time, what it leaves out above it. */
import { useEffect, useRef, useState } from 'preact/hooks';
import { engineTrouble } from '../../engine/engine';
import { MOST_OWN_RUNS, type PlainTable, type Trouble } from '../../engine/types';
import { t } from '../../text/words';
import { basisOf, sameBasis } from '../kept/job-file';
import { useApp } from '../kept/state';
import { Pick, TroubleNotice } from '../parts/parts';
import { LeftOut, Tail } from '../parts/tail';
import { settingsHash, type Part } from '../settings/paths';
import { areasOf, begin, BY_AREA, jobNow, LISTS, runsIn, type ListAnswer, type ListName, type Work } from './lists';

interface Made {
  area: string;
  answer: ListAnswer;
  /** What it was made of, to see that this has changed. */
  of: readonly unknown[];
}

/** The one that was looked at last. */
let lastList: ListName = 'job_bill';

/** One list being made at a time, and what was made last. */
function useMaking(list: ListName, part: string) {
  const app = useApp();
  const [made, setMade] = useState<Made | null>(null);
  const [wrong, setWrong] = useState<Trouble | null>(null);
  const [work, setWork] = useState<Work | null>(null);
  const last = useRef<Work | null>(null);
  useEffect(() => () => last.current?.stop(), []);
  const make = async (): Promise<void> => {
    const of = basisOf(app.job, runsIn(app.job, part));
    const now = begin(list, jobNow(app.job, part), part);
    last.current = now;
    setWork(now);
    setWrong(null);
    const reply = await now.reply.catch((fault: unknown) => ({ ok: false as const, error: engineTrouble(String(fault)) }));
    if (last.current !== now) return;
    setWork(null);
    setMade(reply.ok ? { area: part, answer: reply.answer, of } : null);
    setWrong(reply.ok ? null : reply.error);
  };
  const stop = (): void => {
    last.current?.stop();
    last.current = null;
    setWork(null);
  };
  const clear = (): void => {
    stop();
    setWrong(null);
    setMade(null);
  };
  return { made, wrong, work, make, stop, clear };
}

export function ListsView({ onSheets }: { onSheets: (pages: readonly string[]) => void }) {
  const app = useApp();
  const areas = areasOf(app.job);
  const [list, setList] = useState<ListName>(lastList);
  useEffect(() => void (lastList = list), [list]);
  const [area, setArea] = useState('');
  const part = BY_AREA.includes(list) && areas.includes(area) ? area : '';
  const { made, wrong, work, make, stop, clear } = useMaking(list, part);
  const count = part ? runsIn(app.job, part).length : app.runs.length;
  const pick = (one: ListName): void => {
    if (one === list) return;
    clear();
    setList(one);
  };
  return (
    <div class="lists">
      <div class="tabs" role="group" aria-label={t.desk.listsLabel}>
        {LISTS.map((one) => (
          <button key={one} type="button" class={one === list ? 'chip on' : 'chip'} aria-pressed={one === list} onClick={() => pick(one)}>
            {t.desk.lists[one]}
          </button>
        ))}
      </div>
      <section class="card">
        <p>{t.desk.listWords[list]}</p>
        {BY_AREA.includes(list) && areas.length > 0 && (
          <Pick label={t.desk.area} value={part} options={[{ value: '', label: t.desk.any }, ...areas.map((value) => ({ value, label: value }))]} onPick={setArea} />
        )}
        {count > MOST_OWN_RUNS ? (
          <p class="wrong">{t.desk.tooLong(count, MOST_OWN_RUNS, list.replace('_', ' '), BY_AREA.includes(list))}</p>
        ) : (
          <button type="button" class="wide-button" disabled={work !== null || !count} onClick={() => void make()}>
            {t.desk.make(count)}
          </button>
        )}
        {work && <Working work={work} runs={count} onStop={stop} />}
        {wrong && <TroubleNotice error={wrong} />}
      </section>
      {made && (
        <section class="card" aria-live="polite">
          {!sameBasis(made.of, basisOf(app.job, runsIn(app.job, made.area))) && <p class="wrong">{t.desk.old}</p>}
          <LeftOut answer={made.answer} />
          <ToSettings list={list} answer={made.answer} />
          {'svg' in made.answer && made.answer.svg.length > 0 && <Sheets pages={made.answer.svg} onSheets={onSheets} />}
          <Tables tables={made.answer.tables ?? []} />
          <Tail answer={made.answer} leftOutAbove />
        </section>
      )}
    </div>
  );
}

/** What each list goes by, where that is set. */
const GOES_BY: Partial<Record<ListName, readonly Exclude<Part, 'people' | 'changes'>[]>> = { job_bill: ['prices', 'stock', 'wire', 'items'], job_cut: ['stock'], job_kits: ['items'] };

/** The way to what this list goes by; first to what it has no price of. */
function ToSettings({ list, answer }: { list: ListName; answer: ListAnswer }) {
  const unpriced = 'bill' in answer ? answer.bill.job.unpriced : [];
  return (
    <nav class="to-settings" aria-label={t.settings.partsLabel}>
      {unpriced.length > 0 && (
        <details class="more">
          <summary>{t.settings.noPrice(unpriced.length)}</summary>
          {unpriced.map((item) => (
            <a key={item} class="quiet-button" href={settingsHash('prices', item)}>
              {t.settings.setPrice(item)}
            </a>
          ))}
        </details>
      )}
      {GOES_BY[list]?.map((part) => (
        <a key={part} class="quiet-button" href={settingsHash(part)}>
          {t.settings.ways[part]}
        </a>
      ))}
    </nav>
  );
}

/** That it is being worked out, since how long, and the way to end it. */
function Working({ work, runs, onStop }: { work: Work; runs: number; onStop: () => void }) {
  const [seconds, setSeconds] = useState(0);
  useEffect(() => {
    setSeconds(0);
    const clock = setInterval(() => setSeconds((n) => n + 1), 1000);
    return () => clearInterval(clock);
  }, [work]);
  return (
    <div class="not-looked">
      {work.own && <p>{t.desk.long(runs)}</p>}
      <progress aria-label={t.desk.working} />
      <span>{t.desk.making(seconds)}</span>
      {work.own && (
        <button type="button" class="quiet-button" onClick={onStop}>
          {t.desk.stop}
        </button>
      )}
    </div>
  );
}

function Sheets({ pages, onSheets }: { pages: readonly string[]; onSheets: (pages: readonly string[]) => void }) {
  return (
    <button type="button" class="wide-button" onClick={() => onSheets(pages)}>
      {t.desk.printSheets(pages.length)}
    </button>
  );
}

/** The first is open, the others behind their names; those without rows are left away. */
function Tables({ tables }: { tables: readonly PlainTable[] }) {
  const told = tables.filter((table) => table.rows.length > 0);
  if (!told.length) return <p>{t.desk.nothing}</p>;
  return (
    <>
      {told.map((table, i) => (
        <details key={table.name} class="list-table" open={i === 0}>
          <summary>{table.name}</summary>
          <Rows table={table} />
        </details>
      ))}
    </>
  );
}

const MOST = 150;

/** Columns that say nothing in any row are left away; a word, as a key with its hyphens, is not broken. */
function Rows({ table: { name, header, rows } }: { table: PlainTable }) {
  const [most, setMost] = useState(MOST);
  const columns = header.map((_, i) => i).filter((i) => rows.some((row) => row[i] !== ''));
  return (
    <>
      <div class="table-scroll" tabIndex={0} role="region" aria-label={name}>
        <table>
          <thead>
            <tr>
              {columns.map((i) => (
                <th key={i} scope="col">
                  {header[i]}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {rows.slice(0, most).map((row, k) => (
              <tr key={k}>
                {columns.map((i) => (
                  <td key={i} class={/\s/.test(row[i] ?? '') ? undefined : 'whole'}>
                    {row[i]}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {rows.length > most && (
        <button type="button" class="quiet-button" onClick={() => setMost(most + MOST)}>
          {t.desk.more(rows.length - most)}
        </button>
      )}
    </>
  );
}
