/** Job at a desk: the list of runs with the run beside it, what was done on a day, and what to buy, cut and hand out. */
import { useEffect, useMemo, useState } from 'preact/hooks';
import { t } from '../../text/words';
import { FilesCard, Notices } from '../files/files-card';
import { FigureLink } from '../figure/figure-link';
import { JobCard } from '../job/job-card';
import { ReadySheets, type Sheet } from '../job/print';
import { RemovedRuns } from '../job/removed-runs';
import { startRun, Welcome } from '../job/welcome';
import { getRec } from '../kept/kept';
import { choose, useApp, type State } from '../kept/state';
import type { KeptRun } from '../kept/view';
import { Icon } from '../parts/icons';
import { TroubleNotice } from '../parts/parts';
import { DoneView } from './done-view';
import { Filters, Totals } from './filters';
import { factsOf, silentOf, stopWork, useFacts, workDone, workOut } from '../parts/facts';
import { JobChoice } from './job-choice';
import { areasOf } from './lists';
import { ListsView } from './lists-view';
import { RunBeside } from './run-beside';
import { RunGrid } from './run-list';
import { ALL, asksPlans, found, NO_AREA, rowOf, sorted, totals, type Column, type Row, type Sort, type Wanted } from './rows';

const TABS = ['runs', 'done', 'lists'] as const;
type Tab = (typeof TABS)[number];
/** Who comes back from where a list's prices or sticks are set is where they were. */
let lastTab: Tab = 'runs';

const rowsKept = new WeakMap<KeptRun, { here: string; row: Row }>();
function rowsOf({ runs, person, device }: State): Row[] {
  const here = person || device;
  return runs.flatMap((run) => {
    const was = rowsKept.get(run);
    if (was?.here === here) return was.row;
    const rec = getRec(run.id);
    if (!rec?.data) return [];
    const row = rowOf(run, rec, here);
    rowsKept.set(run, { here, row });
    return row;
  });
}

const open = (run: KeptRun): void => choose(run.id);

export function DeskScreen({ onPrint, onPack }: { onPrint: (sheet: Sheet) => void; onPack: (pages: readonly string[]) => void }) {
  const app = useApp();
  const [tab, setTab] = useState<Tab>(lastTab);
  useEffect(() => void (lastTab = tab), [tab]);
  const [sheets, setSheets] = useState<readonly string[] | null>(null);
  const rows = useMemo(() => rowsOf(app), [app.runs, app.person, app.device]);
  const current = app.runs.find((run) => run.id === app.current);
  if (sheets) return <ReadySheets pages={sheets} label={t.desk.lists.job_labels} onClose={() => setSheets(null)} />;
  return (
    <div class="desk job">
      {!app.job && app.jobs.length > 1 && <JobChoice />}
      <JobCard />
      {!rows.length && <Welcome />}
      {rows.length > 0 && (
        <>
          <div class="desk-bar">
            <div class="tabs" role="group" aria-label={t.desk.tabsLabel}>
              {TABS.map((one) => (
                <button key={one} type="button" class={one === tab ? 'chip on' : 'chip'} aria-pressed={one === tab} onClick={() => setTab(one)}>
                  {t.desk.tabs[one]}
                </button>
              ))}
            </div>
            <button type="button" class="wide-button strong" onClick={startRun}>
              <Icon name="plus" />
              {t.job.add}
            </button>
          </div>
          <div class="desk-halves">
            <div class="desk-main">
              {tab === 'runs' && <Runs key={app.job} app={app} rows={rows} onOpen={open} />}
              {tab === 'lists' && <ListsView key={app.job} onSheets={setSheets} />}
              {tab === 'done' && <DoneView rows={rows} onOpen={open} />}
            </div>
            {tab !== 'lists' && (current ? <RunBeside run={current} onPrint={onPrint} /> : <p class="beside quiet pad">{t.desk.pick}</p>)}
          </div>
        </>
      )}
      <RemovedRuns />
      <FigureLink />
      <FilesCard onPages={onPack} />
      <Notices />
    </div>
  );
}

function Runs({ app, rows, onOpen }: { app: State; rows: readonly Row[]; onOpen: (run: KeptRun) => void }) {
  const [wanted, setWanted] = useState<Wanted>(ALL);
  const [sort, setSort] = useState<Sort>({ by: 'key', down: false });
  const [turn, setTurn] = useState(0);
  const listed = useMemo(() => sorted(found(rows, wanted, factsOf), sort, factsOf), [rows, wanted, sort, turn]);
  const head = getRec(app.job)?.data;
  const areas = useMemo(() => areasOf(app.job), [rows, head]);
  const sums = useMemo(() => totals(rows, areas), [rows, areas]);
  const people = useMemo(() => [...new Set(rows.flatMap((row) => row.people))].sort(), [rows]);
  const byColumn = (by: Column): void => setSort({ by, down: sort.by === by && !sort.down });
  return (
    <>
      <Filters wanted={wanted} onWanted={setWanted} areas={areas.length && rows.some((row) => !row.area) ? [...areas, NO_AREA] : areas} people={people} />
      {asksPlans(wanted, sort) && <NotLooked rows={rows} onDone={() => setTurn((n) => n + 1)} />}
      <Silence rows={rows} />
      <RunGrid rows={listed} sort={sort} onSort={byColumn} open={app.current} onOpen={onOpen} />
      <Totals totals={sums} shown={t.desk.shown(listed.length, rows.length)} />
    </>
  );
}

/** Where the engine has no answer of runs: why, and the way to ask again. */
function Silence({ rows }: { rows: readonly Row[] }) {
  useFacts();
  const silent = silentOf(rows.map((row) => row.run));
  const [first] = silent;
  return first ? (
    <div role="status">
      <TroubleNotice error={first.trouble} />
      <button type="button" class="quiet-button" onClick={() => workOut(silent.map(({ run }) => run))}>
        {t.desk.again}
      </button>
    </div>
  ) : null;
}

/** Of runs that nobody has looked at yet nothing is known: how many those are, and all of them worked out if wanted. */
function NotLooked({ rows, onDone }: { rows: readonly Row[]; onDone: () => void }) {
  const turn = useFacts();
  const dark = useMemo(() => rows.filter((row) => !factsOf(row.run)).map((row) => row.run), [rows, turn]);
  const done = workDone();
  useEffect(() => {
    if (done === null) onDone();
  }, [done === null, dark.length === 0]);
  if (!dark.length) return null;
  return (
    <div class="not-looked">
      <p>{t.desk.notLooked(dark.length)}</p>
      {done === null ? (
        <button type="button" class="quiet-button" onClick={() => workOut(dark)}>
          {t.desk.lookAll(dark.length)}
        </button>
      ) : (
        <>
          <progress value={done} aria-label={t.desk.looking(Math.floor(done * 100))} />
          <span role="status">{t.desk.looking(Math.floor(done * 100))}</span>
          <button type="button" class="quiet-button" onClick={stopWork}>
            {t.desk.stop}
          </button>
        </>
      )}
    </div>
  );
}
