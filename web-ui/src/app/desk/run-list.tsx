/** The list of the job's runs as a grid: only the rows in view are drawn. Arrows go through it, enter opens. */
import { useEffect, useLayoutEffect, useMemo, useRef, useState } from 'preact/hooks';
import { t } from '../../text/words';
import { statusWords } from '../job/status-words';
import { useApp } from '../kept/state';
import type { KeptRun } from '../kept/view';
import { shortly } from '../parts/when';
import { factsOf, inView, useFacts } from '../parts/facts';
import { COLUMNS, type Column, type Row, type Sort } from './rows';

/** So many rows are drawn above and below those in view. */
const MORE = 6;
const POOL = 64;
/** As in desk.css. */
const ROW_REM = 2.3;
const idOf = (row: Row): string => `row-${row.run.id}`;

/** Which of so many rows are in view, with some above and below: from `first` until before `end`. */
function useSeen(rows: readonly Row[]) {
  const box = useRef<HTMLDivElement>(null);
  const [seen, setSeen] = useState({ top: 0, height: 600, row: 44 });
  const look = (): void => {
    if (!box.current) return;
    const { scrollTop: top, clientHeight: height } = box.current;
    const row = Math.round(ROW_REM * parseFloat(getComputedStyle(document.documentElement).fontSize));
    setSeen((was) => (was.top === top && was.height === height && was.row === row ? was : { top, height, row }));
  };
  useLayoutEffect(look, [rows]);
  useEffect(() => {
    const observer = new ResizeObserver(look);
    observer.observe(box.current!);
    return () => observer.disconnect();
  }, []);
  const first = Math.max(0, Math.min(Math.floor(seen.top / seen.row) - MORE, rows.length));
  const end = Math.min(rows.length, Math.ceil((seen.top + seen.height) / seen.row) + MORE);
  return { box, look, ...seen, first, end };
}

export function RunGrid(props: { rows: readonly Row[]; sort: Sort; onSort: (by: Column) => void; open: string; onOpen: (run: KeptRun) => void }) {
  const { rows, open } = props;
  const { phase } = useApp().engine;
  const turn = useFacts();
  const { box, look, top, height, row: tall, first, end } = useSeen(rows);
  const [cursor, setCursor] = useState(open);
  const shown = rows.slice(first, end);
  const pool = Math.max(POOL, shown.length); // rows that go out of view are those that come in
  useEffect(() => {
    const soon = setTimeout(() => inView(shown.map((row) => row.run)), 120); // not while it is scrolled past
    return () => clearTimeout(soon);
  }, [rows, first, end, turn, phase]);
  const at = rows.findIndex((row) => row.run.id === cursor);
  const go = (to: number): void => {
    const row = rows[Math.max(0, Math.min(to, rows.length - 1))];
    if (!row) return;
    setCursor(row.run.id);
    bring(box.current!, rows.indexOf(row), tall);
    look();
  };
  const keys = (event: KeyboardEvent): void => {
    if (event.target !== event.currentTarget || event.ctrlKey || event.metaKey || event.altKey) return;
    const page = Math.max(1, Math.floor(height / tall) - 2);
    const moves: Record<string, number> = { ArrowDown: at + 1, ArrowUp: at - 1, PageDown: at + page, PageUp: at - page, Home: 0, End: rows.length - 1 };
    const to = moves[event.key];
    if (to !== undefined) go(to);
    else if ((event.key === 'Enter' || event.key === ' ') && at >= 0) props.onOpen(rows[at]!.run);
    else return;
    event.preventDefault();
  };
  const active = shown.find((row) => row.run.id === cursor);
  return (
    <div class="run-grid" ref={box} onScroll={look}>
      <table
        role="grid" // oxlint-disable-line jsx-a11y/no-noninteractive-element-to-interactive-role -- its rows are gone through by keys
        id="run-grid"
        tabIndex={0}
        aria-label={t.desk.list}
        aria-rowcount={rows.length + 1}
        aria-activedescendant={active && idOf(active)}
        onKeyDown={keys}
        onFocus={(event) => event.target === event.currentTarget && at < 0 && go(Math.ceil(top / tall))}
      >
        <Head sort={props.sort} onSort={props.onSort} />
        <tbody>
          <Gap height={first * tall} />
          {shown.map((row, i) => (
            <GridRow key={(first + i) % pool} row={row} index={first + i + 2} at={row.run.id === cursor} open={row.run.id === open} turn={turn}
              onPick={() => { setCursor(row.run.id); props.onOpen(row.run); }} />
          ))}
          <Gap height={(rows.length - end) * tall} />
        </tbody>
      </table>
      {!rows.length && <p class="pad quiet">{t.desk.none}</p>}
    </div>
  );
}

/** What each column is; a tap sorts by it. */
function Head({ sort, onSort }: { sort: Sort; onSort: (by: Column) => void }) {
  return (
    <thead>
      <tr aria-rowindex={1}>
        {COLUMNS.map((column) => (
          <th key={column} scope="col" class={`col-${column}`} aria-sort={sort.by !== column ? 'none' : sort.down ? 'descending' : 'ascending'}>
            <button type="button" onClick={() => onSort(column)}>
              {t.desk.columns[column]}
              <span class="sort-way" aria-hidden="true">
                {sort.by !== column ? '' : sort.down ? '▼' : '▲'}
              </span>
            </button>
          </th>
        ))}
      </tr>
    </thead>
  );
}

/** Scroll so far that row `at` stands whole below the head. */
function bring(box: HTMLElement, at: number, row: number): void {
  const head = box.querySelector('thead')?.clientHeight ?? 0;
  const top = at * row;
  if (top < box.scrollTop) box.scrollTop = top;
  else if (top + row + head > box.scrollTop + box.clientHeight) box.scrollTop = top + row + head - box.clientHeight;
}

/** In place of the rows that are not drawn. */
function Gap({ height }: { height: number }) {
  return height > 0 ? (
    <tr aria-hidden="true" class="gap">
      <td colSpan={COLUMNS.length} style={{ height: `${height}px` }} />
    </tr>
  ) : null;
}

interface Shown {
  row: Row;
  index: number;
  at: boolean;
  open: boolean;
  /** Another one when more is known of runs. */
  turn: number;
  onPick: () => void;
}

/** Drawn anew only where something of it is another: the page says many things while one run is opened. */
function GridRow({ row, index, at, open, turn, onPick }: Shown) {
  const pick = useRef(onPick);
  pick.current = onPick;
  return useMemo(() => drawn(row, index, at, open, () => pick.current()), [row, index, at, open, turn]);
}

function drawn(row: Row, index: number, at: boolean, open: boolean, onPick: () => void) {
  const { run } = row;
  const facts = factsOf(run);
  const against = facts?.against ?? [];
  const watch = run.where === 'choose' ? t.desk.clash.short : against[0] && t.desk.against[against[0].rule].short;
  return (
    <tr id={idOf(row)} aria-rowindex={index} aria-selected={open} class={`${open ? 'on' : ''} ${at ? 'at' : ''}`} onClick={onPick}>
      <td class="col-key">{row.key}</td>
      <td class="col-name">
        <span class="two-lines">
          {row.name || t.job.noName}
          {run.times > 1 && <small> {t.job.alike(run.times)}</small>}
        </span>
      </td>
      <td><span class="two-lines">{row.area}</span></td>
      <td><span class="two-lines">{row.raceway}</span></td>
      <td><span class="two-lines">{statusWords(run)}</span></td>
      <td><span class="two-lines">{row.by}</span></td>
      <td><span class="two-lines">{row.at ? shortly(row.at) : run.where === 'here' ? t.desk.here : ''}</span></td>
      <td title={facts?.words || undefined}>
        {facts ? <span class={`worst ${facts.worst}`}>{t.desk.worst[facts.worst]}</span> : <span class="quiet" title={t.desk.notYetWords}>{t.desk.notYet}</span>}
      </td>
      <td class="col-open">{facts ? facts.open || '' : ''}</td>
      <td>
        {watch && <span class="worst caution" title={against.map(({ words }) => words).join(' ')}>{watch}</span>}
      </td>
    </tr>
  );
}
