/** What was done on one day, by person: a line an entry, newest first. */
import { useMemo, useState } from 'preact/hooks';
import { t } from '../../text/words';
import type { KeptRun, SeenEntry } from '../kept/view';
import { EntryLines } from './run-beside';
import type { Row } from './rows';

/** The day here, as a date field writes it. */
const dayOf = (date: Date): string => `${date.getFullYear()}-${String(date.getMonth() + 1).padStart(2, '0')}-${String(date.getDate()).padStart(2, '0')}`;
const MOST = 60;

interface Done {
  by: string;
  entries: SeenEntry[];
}

const newest = (entries: readonly SeenEntry[]): number => Date.parse(entries[0]!.at);

function doneOn(day: string, rows: readonly Row[]): Done[] {
  const people = new Map<string, SeenEntry[]>();
  for (const { run } of rows)
    for (const one of run.entries) {
      const at = new Date(one.at);
      if (Number.isNaN(at.getTime()) || dayOf(at) !== day) continue;
      const theirs = people.get(one.by);
      if (theirs) theirs.push(one);
      else people.set(one.by, [one]);
    }
  return [...people]
    .map(([by, entries]) => ({ by, entries: entries.reverse().sort((a, b) => Date.parse(b.at) - Date.parse(a.at)) }))
    .sort((a, b) => newest(b.entries) - newest(a.entries));
}

export function DoneView({ rows, onOpen }: { rows: readonly Row[]; onOpen: (run: KeptRun) => void }) {
  const [day, setDay] = useState(() => dayOf(new Date()));
  const done = useMemo(() => doneOn(day, rows), [day, rows]);
  const byId = useMemo(() => new Map(rows.map((row) => [row.run.id, row])), [rows]);
  const link = (one: SeenEntry) => {
    const row = byId.get(one.entry.run);
    return (
      row && (
        <button type="button" class="run-link" onClick={() => onOpen(row.run)}>
          {row.key}: {row.name || t.job.noName}
        </button>
      )
    );
  };
  return (
    <div class="done">
      <div class="field day">
        <label for="desk-day">{t.desk.day}</label>
        <input id="desk-day" type="date" value={day} onInput={(e) => e.currentTarget.value && setDay(e.currentTarget.value)} />
        <p class="help">{t.desk.dayHelp}</p>
      </div>
      {!done.length && <p class="quiet">{t.desk.nothingDone}</p>}
      {done.map((one) => (
        <Person key={`${day} ${one.by}`} done={one} link={link} />
      ))}
    </div>
  );
}

function Person({ done: { by, entries }, link }: { done: Done; link: (one: SeenEntry) => preact.ComponentChild }) {
  const [most, setMost] = useState(MOST);
  return (
    <section class="card">
      <h2>{t.desk.doneBy(by || t.desk.nobody, entries.length)}</h2>
      <EntryLines entries={entries.slice(0, most)} of={link} />
      {entries.length > most && (
        <button type="button" class="quiet-button" onClick={() => setMost(most + MOST)}>
          {t.desk.more(entries.length - most)}
        </button>
      )}
    </section>
  );
}
