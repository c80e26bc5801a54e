/** Entries in the engine's words, asked for when they are shown. An entry never changes. */
import { useEffect, useState } from 'preact/hooks';
import { ask } from '../kept/ask';
import { jobData } from '../kept/job-file';
import { getRec } from '../kept/kept';
import { textIn, type Rec } from '../kept/record';
import type { SeenEntry } from '../kept/view';
import { piecesOf } from '../parts/facts';

export interface Said {
  words: string;
  made_with: string;
}

/** An entry's words hang on how many pieces its run has, too. */
const place = (id: string, run: string): string => `${id} ${piecesOf(run)}`;
const kept = new Map<string, Said>();
/** A question holds so much. */
const MOST_RUNS = 40;
const MOST_CHARS = 120_000;

export function useSaid(entries: readonly SeenEntry[]): (entry: SeenEntry) => Said | undefined {
  const [, turn] = useState(0);
  const lacking = entries.flatMap(({ entry }) => (entry.id && !kept.has(place(entry.id, entry.run)) ? (getRec(entry.id) ?? []) : []));
  const which = lacking.map((rec) => place(rec.id, textIn(rec.data, 'run'))).join(); // as the pieces of its run are known, anew
  useEffect(() => {
    let here = true;
    void askFor(lacking, () => {
      if (here) turn((n) => n + 1);
      return here;
    });
    return () => {
      here = false;
    };
  }, [which]);
  return ({ entry }) => kept.get(place(entry.id ?? '', entry.run));
}

async function askFor(recs: readonly Rec[], goOn: () => boolean): Promise<void> {
  for (const part of parts(recs)) {
    const runs = [...new Set(part.map((rec) => textIn(rec.data, 'run')))].flatMap((id) => getRec(id) ?? []);
    const of = new Map(part.map((rec) => [rec.id, textIn(rec.data, 'run')]));
    const pieces = Object.fromEntries(runs.map((run) => [run.id, piecesOf(run.id)]));
    const reply = await ask('job_said', { job: jobData(part[0]!.job, runs, part), pieces });
    if (reply.ok) for (const { entry, words, made_with } of reply.answer.said) kept.set(`${entry} ${pieces[of.get(entry) ?? ''] ?? 0}`, { words, made_with });
    if (!goOn() || !reply.ok) return;
  }
}

function* parts(recs: readonly Rec[]): Generator<Rec[]> {
  let part: Rec[] = [];
  let runs = new Set<string>();
  let size = 0;
  for (const rec of recs) {
    const run = textIn(rec.data, 'run');
    if (!getRec(run)?.data) continue;
    const weighs = JSON.stringify(rec.data).length + (runs.has(run) ? 0 : JSON.stringify(getRec(run)!.data).length);
    if (part.length && ((!runs.has(run) && runs.size >= MOST_RUNS) || size + weighs > MOST_CHARS)) {
      yield part;
      [part, runs, size] = [[], new Set(), 0];
    }
    part.push(rec);
    runs.add(run);
    size += weighs;
  }
  if (part.length) yield part;
}
