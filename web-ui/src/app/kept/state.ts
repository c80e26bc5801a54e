/** The page's state in one place, and the hook that screens read it by. */
import { useEffect, useState } from 'preact/hooks';
import type { EngineState } from '../../engine/engine';
import type { Plan, PlanAnswer, SketchAnswer, Trouble } from '../../engine/types';
import { takeOverBefore, TAKEN } from './before';
import { staysHere, type Outcome } from './exchange';
import { allRecs, getRec, keeper, local, onKept, putLocal, readKept, recsOf } from './kept';
import { isRemoved, rests, runOfEntry, type Rec } from './record';
import { askToStay, lasting } from './store';
import { benchIn, inOrder, jobRows, noteOpen, ofPlan, runOf, type Bench, type JobRow, type KeptRun } from './view';

export type { KeptRun, Status } from './view';

export type Planned =
  | { state: 'gaps' }
  | { state: 'asking'; before: PlanAnswer | null }
  | { state: 'ok'; answer: PlanAnswer }
  | { state: 'refused'; error: Trouble };

export interface State {
  /** The runs of the job at hand. */
  runs: KeptRun[];
  current: string;
  jobs: JobRow[];
  job: string;
  /** Two versions of these wait for a choice, in whatever job. */
  clashes: Rec[];
  /** These the shop does not take, and says why. */
  refusals: Rec[];
  /** How many things written here are not in the shop yet. */
  waiting: number;
  /** A shop has been met by this device. */
  shopKnown: boolean;
  /** How the last talk with it ended; '': none yet. */
  shop: Outcome['state'] | '';
  shopWords: string;
  planned: Planned;
  /** The newest sketch, and the run that it is of. */
  sketch: { of: string; answer: SketchAnswer } | null;
  engine: EngineState;
  light: 'auto' | 'light' | 'dark';
  loaded: boolean;
  stays: boolean;
  lasting: boolean;
  said: string;
  device: string;
  person: string;
}

export const state: State = {
  runs: [],
  current: '',
  jobs: [],
  job: '',
  clashes: [],
  refusals: [],
  waiting: 0,
  shopKnown: false,
  shop: '',
  shopWords: '',
  planned: { state: 'gaps' },
  sketch: null,
  engine: { kind: 'browser', phase: 'starting', progress: 0, words: '', anew: false },
  light: 'auto',
  loaded: false,
  stays: false,
  lasting: true,
  said: '',
  device: '',
  person: '',
};

const listeners = new Set<() => void>();

export function change(part: Partial<State>): void {
  Object.assign(state, part);
  for (const listener of Array.from(listeners)) listener();
}

export function useApp(): State {
  const [, turn] = useState(0);
  useEffect(() => {
    const listener = () => turn((n) => n + 1);
    listeners.add(listener);
    return () => {
      listeners.delete(listener);
    };
  }, []);
  return state;
}

/** Say something to a screen reader, and in the line under the header. */
export function say(words: string): void {
  change({ said: words });
}

/** The sketch of the run at hand; null until the engine has drawn it. */
export const currentSketch = (): SketchAnswer | null => (state.sketch?.of === state.current ? state.sketch.answer : null);

let atHand: { runs: readonly KeptRun[]; current: string; plan: Plan | undefined; run: KeptRun | undefined } = { runs: [], current: '', plan: undefined, run: undefined };

/** The run at hand, as its plan reads it; looked for once, as long as there are the same runs. */
export function currentRun(): KeptRun | undefined {
  const { runs, current, planned } = state;
  const plan = (planned.state === 'ok' ? planned.answer : planned.state === 'asking' ? planned.before : null)?.plan;
  if (atHand.runs !== runs || atHand.current !== current || atHand.plan !== plan) {
    const run = runs.find((one) => one.id === current);
    atHand = { runs, current, plan, run: run && plan ? ofPlan(run, plan) : run };
  }
  return atHand.run;
}

/** The run at hand where it was removed: no other takes its place by itself. */
export function removedAtHand(): Rec | undefined {
  const rec = getRec(state.current);
  return rec?.kind === 'run' && rec.job === state.job && isRemoved(rec) ? rec : undefined;
}

let afterChange: () => void = () => undefined;
export const onRunChange = (work: () => void): void => {
  afterChange = work;
};

let afterWriting: () => void = () => undefined;
/** What to do when something was written that is not in the shop yet. */
export const onWriting = (work: () => void): void => {
  afterWriting = work;
};

const benchOf = (id: string): Bench => benchIn(local.get(`bench:${id}`));
export const viewOf = (rec: Rec): KeptRun => runOf(rec, recsOf(rec.id, 'entry'), benchOf(rec.id));
const isShown = (rec: Rec | undefined): rec is Rec => rec !== undefined && rec.kind === 'run' && rec.data !== null && rec.job === state.job;

/** All runs of the job at hand, in the order of the job. */
const allRuns = (): KeptRun[] => inOrder(recsOf(state.job, 'run').filter(isShown)).map(viewOf);

/** The list with these runs as they are now; the list itself where nothing of it changed. */
function patched(ids: ReadonlySet<string>): KeptRun[] {
  const shown = new Set(state.runs.map(({ id }) => id));
  if (ids.size > 40 || [...ids].some((id) => !shown.has(id) && isShown(getRec(id)))) return allRuns();
  if (!ids.size) return state.runs;
  const runs = state.runs.slice();
  for (const id of ids) {
    const rec = getRec(id);
    const at = runs.findIndex((run) => run.id === id);
    if (!isShown(rec)) runs.splice(at, at < 0 ? 0 : 1);
    else runs[at] = viewOf(rec);
  }
  return runs;
}

/** The engine says that readings of this run, as it is kept, are still to be taken: it is not planned. */
export function noteUnfinished(id: string, rec: Rec): void {
  noteOpen(rec.data!);
  refresh([id], []);
}

const open = new Set<string>();
const clashing = new Set<string>();
const refused = new Set<string>();

function count(ids: Iterable<string>): void {
  for (const id of ids) {
    const rec = getRec(id);
    if (rec?.open && !staysHere(rec, keeper.place()) && !rests(rec, getRec)) open.add(id);
    else open.delete(id);
    if (rec?.clash) clashing.add(id);
    else clashing.delete(id);
    if (rec?.refusal) refused.add(id);
    else refused.delete(id);
  }
}

const inMaking = (ids: ReadonlySet<string>): Rec[] => [...ids].flatMap((id) => getRec(id) ?? []).sort((a, b) => a.made - b.made);

function headsNow(): Rec[] {
  const heads: Rec[] = [];
  for (const rec of allRecs()) if (rec.kind === 'job') heads.push(rec);
  return heads;
}

/** Kinds of records that a run's plan rests on beside its survey. */
const REPLANS: readonly string[] = ['tool', 'job'];

/** Records or local values have changed: show them. */
function refresh(ids: readonly string[], names: readonly string[]): void {
  if (!state.loaded) return;
  const before = currentRun();
  const runs = new Set<string>();
  let heads = false;
  for (const id of ids) {
    const rec = getRec(id);
    if (!rec || rec.kind === 'run') runs.add(id);
    else if (rec.kind === 'entry') runs.add(runOfEntry(rec));
    heads ||= !rec || rec.kind === 'job';
  }
  for (const name of names) if (name.startsWith('bench:')) runs.add(name.slice(6));
  count([...ids, ...(names.includes('exchange') ? open : []), ...[...runs].flatMap((id) => recsOf(id, 'entry').map((entry) => entry.id))]); // whether they wait hangs on their run
  const part: Partial<State> = { waiting: open.size, clashes: inMaking(clashing), refusals: inMaking(refused), lasting };
  if (heads) part.jobs = jobRows(headsNow());
  if (names.length) Object.assign(part, { device: text('device'), person: text('person') });
  const jobs = part.jobs ?? state.jobs;
  const moved = !jobs.some((job) => job.id === state.job);
  if (moved) state.job = '';
  // an entry that was taken back is gone from its run, whichever that was
  part.runs = moved || ids.some((id) => !getRec(id)) ? allRuns() : patched(runs);
  change(part);
  if (open.size) afterWriting();
  if (!currentRun() && !removedAtHand()) Object.assign(state, { current: state.runs[0]?.id ?? '' });
  const now = currentRun();
  if (now?.survey !== before?.survey || now?.tool !== before?.tool || ids.some((id) => REPLANS.includes(getRec(id)?.kind ?? ''))) afterChange();
  if (now?.id !== before?.id) change({});
}

const text = (name: string): string => (local.get(name) as string | undefined) ?? '';

export function choose(id: string): void {
  change({ current: id });
  void putLocal('run', id);
  afterChange();
}

export function chooseJob(id: string): void {
  state.job = id;
  const runs = allRuns();
  change({ runs, current: runs[0]?.id ?? '' });
  void putLocal('job', id);
  void putLocal('run', state.current);
  afterChange();
}

/** Where no job is chosen and there is one only, that is it. */
export function takeOnlyJob(): void {
  if (!state.job && state.jobs.length === 1) chooseJob(state.jobs[0]!.id);
}

export function setLight(light: State['light']): void {
  change({ light });
  showLight();
  void putLocal('light', light);
}

function showLight(): void {
  const root = document.documentElement;
  if (state.light === 'auto') root.removeAttribute('data-light');
  else root.setAttribute('data-light', state.light);
}

export async function load(): Promise<void> {
  onKept(refresh);
  await readKept();
  if (lasting && !local.has(TAKEN)) {
    const any = await takeOverBefore().catch(() => true); // tried again at the next opening
    if (any) await readKept();
  }
  const jobs = jobRows(headsNow());
  state.job = jobs.some((job) => job.id === text('job')) ? text('job') : jobs.length === 1 ? jobs[0]!.id : '';
  count([...allRecs()].map((rec) => rec.id));
  const runs = allRuns();
  state.current = text('run');
  const current = runs.some((run) => run.id === state.current) || removedAtHand() ? state.current : (runs[0]?.id ?? '');
  const light = (text('light') || 'auto') as State['light'];
  change({ runs, current, jobs, light, waiting: open.size, clashes: inMaking(clashing), refusals: inMaking(refused), device: text('device'), person: text('person'), loaded: true, lasting });
  showLight();
  afterChange();
  void askToStay().then((stays) => change({ stays })); // a browser may ask the person, who answers when they like
}
