/** What the engine says of runs that a list shows: asked a few at a time, of those in view first, and kept while neither run
 * nor entries change. */
import { useEffect, useState } from 'preact/hooks';
import { AGAINST_CARD, type AgainstCard, type JobPlanAnswer, type RunRow, type Trouble } from '../../engine/types';
import { ask } from '../kept/ask';
import { basisOf, entriesOf, jobData, sameBasis } from '../kept/job-file';
import { getRec } from '../kept/kept';
import { noteUnfinished, state } from '../kept/state';
import type { KeptRun } from '../kept/view';

export type Worst = 'problem' | 'caution' | 'open' | 'none';
export interface Facts {
  worst: Worst;
  /** So many readings are still to be taken. */
  open: number;
  /** Of so many pieces; 0: it has no plan. */
  pieces: number;
  /** Why there is no plan, or its first problem; ''. */
  words: string;
  /** What its record says against its card, by the rule that tells it, in words. */
  against: readonly { rule: AgainstCard; words: string }[];
}

/** Runs of one question: few, so that a run that is opened meanwhile does not wait long. */
const AT_ONCE = 4;

const kept = new Map<string, { of: readonly unknown[]; facts: Facts }>();
/** Of these the engine had no answer, and why; `there`: it was not for want of an engine. */
const silent = new Map<string, { of: readonly unknown[]; there: boolean; trouble: Trouble }>();
let wanted: readonly KeptRun[] = [];
let atHand: KeptRun | null = null;
let all: KeptRun[] = [];
let count = 0;
let working = false;

const listeners = new Set<() => void>();
const tell = (): void => listeners.forEach((listener) => listener());

/** All that the facts of a run rest on. */
function basis({ id, job }: KeptRun): readonly unknown[] {
  const rec = getRec(id);
  return basisOf(job, rec ? [rec] : []);
}

export function factsOf(run: KeptRun): Facts | undefined {
  const found = kept.get(run.id);
  return found && sameBasis(found.of, basis(run)) ? found.facts : undefined;
}

/** Why the engine has no answer of this run: it is not asked again by itself, unless there was none and there is one now. */
function silenceOf(run: KeptRun): Trouble | undefined {
  const found = silent.get(run.id);
  return found && (found.there || state.engine.phase === 'failed') && sameBasis(found.of, basis(run)) ? found.trouble : undefined;
}

/** Those of these runs that the engine has no answer of, and why. */
export const silentOf = (runs: readonly KeptRun[]): { run: KeptRun; trouble: Trouble }[] =>
  (silent.size ? runs : []).flatMap((run) => {
    const trouble = silenceOf(run);
    return trouble ? { run, trouble } : [];
  });

/** Those that were worked out last, though more may have changed since. */
export const lastFactsOf = (run: string): Facts | undefined => kept.get(run)?.facts;

/** Of how many pieces a run is, as it was planned last here; 0: not known. */
export const piecesOf = (run: string): number => lastFactsOf(run)?.pieces ?? 0;

/** These are in view: asked next, and no others that were wanted before. */
export function inView(runs: readonly KeptRun[]): void {
  wanted = runs;
  if (!working) void work();
}

/** The run at hand: before all others. */
export function lookAt(run: KeptRun): void {
  atHand = run;
  silent.delete(run.id);
  if (!working) void work();
}

/** Work out all of these, after those in view; what the engine had no answer of is asked again. */
export function workOut(runs: readonly KeptRun[]): void {
  all = runs.filter((run) => !factsOf(run));
  count = all.length;
  silent.clear();
  tell();
  if (!working) void work();
}

export function stopWork(): void {
  all = [];
  tell();
}

/** How far `workOut` has come, 0 to 1; null where nothing is being worked out. */
export const workDone = (): number | null => (all.length ? 1 - all.length / count : null);

/** Draws anew when facts come. */
export function useFacts(): number {
  const [turn, setTurn] = useState(0);
  useEffect(() => {
    const listener = (): void => setTurn((n) => n + 1);
    listeners.add(listener);
    return () => {
      listeners.delete(listener);
    };
  }, []);
  return turn;
}

const lacks = (run: KeptRun): boolean => !factsOf(run) && !silenceOf(run) && !!getRec(run.id)?.data;

function nextRuns(): KeptRun[] {
  const here = atHand ? [atHand, ...wanted.filter((run) => run.id !== atHand?.id)] : wanted;
  const seen = here.filter(lacks).slice(0, AT_ONCE);
  if (seen.length) return seen;
  all = all.filter(lacks);
  return all.slice(0, AT_ONCE);
}

async function work(): Promise<void> {
  working = true;
  for (let runs = nextRuns(); runs.length; runs = nextRuns()) {
    if (!(await askFor(runs))) break;
    if (atHand && factsOf(atHand)) atHand = null; // else something of it has changed meanwhile
    tell();
  }
  all = [];
  working = false;
  tell();
}

/** False where the engine has no answer at all. Runs that it refuses together are asked one by one. */
async function askFor(runs: readonly KeptRun[]): Promise<boolean> {
  const recs = runs.flatMap((run) => getRec(run.id) ?? []);
  const of = runs.map(basis);
  const reply = await ask('job_plan', { job: jobData(runs[0]!.job, recs, entriesOf(recs)) });
  if (reply.ok) {
    runs.forEach((run, i) => {
      const row = reply.answer.runs.find((one) => one.id === run.id);
      kept.set(run.id, { of: of[i]!, facts: factsIn(reply.answer, row) });
      if (row && run.statuses.includes('planned') && !row.statuses.includes('planned')) noteUnfinished(run.id, recs[i]!);
    });
    return true;
  }
  if (runs.length > 1) {
    for (const run of runs) if (!(await askFor([run]))) return false;
    return true;
  }
  if (reply.error.kind === 'engine') {
    silent.set(runs[0]!.id, { of: of[0]!, there: state.engine.phase !== 'failed', trouble: reply.error });
    return false;
  }
  kept.set(runs[0]!.id, { of: of[0]!, facts: refused(reply.error) });
  return true;
}

const refused = ({ message, hint }: Trouble): Facts => ({ worst: 'problem', open: 0, pieces: 0, words: [message, hint].filter(Boolean).join(' '), against: [] });

function factsIn(answer: JobPlanAnswer, row: RunRow | undefined): Facts {
  const plan = row?.plan;
  if (!row || !plan) return { worst: 'none', open: 0, pieces: 0, words: '', against: [] };
  const told = answer.findings.filter((finding) => finding.where === row.run);
  const against = AGAINST_CARD.flatMap((rule) => told.filter((finding) => finding.rule === rule).map(({ message }) => ({ rule, words: message })));
  const open = plan.open?.length ?? 0;
  const loud = against.length > 0 || (plan.cautions ?? 0) > 0;
  const worst = plan.outcome === 'to measure' ? 'open' : plan.outcome !== 'planned' ? 'problem' : loud ? 'caution' : 'none';
  return { worst, open, pieces: plan.pieces?.length ?? 0, words: [plan.message, plan.hint].filter(Boolean).join(' '), against };
}
