/** What a person does to runs and jobs, each written down at once. */
import { MOST_COPIES, type Entry, type JobRun, type Made, type StepMade, type ToolPin } from '../../engine/types';
import { t } from '../../text/words';
import { allRecs, getRec, local, nextMade, put, putLocal, putOne } from './kept';
import { calledAnew, entryOf, freshId, keyOf, type Said } from './make';
import { fresh, settled, written, type Data, type Rec } from './record';
import { pinFor, runsOnWritten } from './shoe';
import { choose, currentRun, state, type KeptRun, type Status } from './state';
import type { Survey } from './survey';
import { begunAgain, goneCopies, newCopies, ofCopy } from './copies';
import { copyOf, entryIn, isBegun, isBent, isFurther, setBackOf, setByAll, benchIn, type Bench, type Deed, type SeenEntry } from './view';

const said = (more: Partial<Said> = {}): Said => ({ by: state.person || state.device, at: new Date().toISOString(), ...more });

/** The job at hand; one of this device's own where there is none. */
function jobAtHand(changes: Map<string, Rec | null>): string {
  if (state.job && getRec(state.job)) return state.job;
  const id = freshId();
  changes.set(id, fresh('job', id, id, { name: t.share.ownJob(state.device || t.share.aDevice) }, nextMade()));
  state.job = id;
  return id;
}

function newEntry(changes: Map<string, Rec | null>, run: string, job: string, what: Entry['what'], more?: Partial<Said>, id = freshId()): void {
  changes.set(id, fresh('entry', id, job, entryOf(id, run, what, said(more)), nextMade()));
}

/** A run as it goes into the job at hand; `more` is what a job file says of it beside its survey. */
export function addRun(survey: Survey, { status = 'measured', ...more }: { status?: Status } & Partial<JobRun> = {}): void {
  const changes = new Map<string, Rec | null>();
  const job = jobAtHand(changes);
  const id = freshId();
  const tool = status === 'measured' ? pinFor(survey.run.raceway) : undefined;
  const data: Data = { key: keyOf(id), ...(tool ? { tool } : {}), ...more, id, survey };
  changes.set(id, fresh('run', id, job, data, nextMade()));
  if (status !== 'measured') newEntry(changes, id, job, { kind: 'status', status });
  void put(changes, { job });
  choose(id);
}

/** Change the current survey in a copy. */
export function edit(work: (survey: Survey) => void): void {
  const run = currentRun();
  const rec = run && getRec(run.id);
  if (!run || !rec) return;
  const survey = structuredClone(run.survey);
  work(survey);
  const { raceway } = survey.run;
  void putOne(rec.id, written(rec, { ...(raceway === run.survey.run.raceway ? rec.data : onTool(rec.data, pinFor(raceway))), survey }));
}

/** What is said of a run, on this tool; without one, on what its survey says. */
function onTool(data: Data | null, tool: ToolPin | undefined): Data {
  const { tool: _, ...others } = data ?? {};
  return tool ? { ...others, tool } : others;
}

/** The survey without the tool that it names. */
export function onTradeShoe(survey: Survey): Survey {
  const { bender: _, ...run } = survey.run;
  return { ...survey, run };
}

/** Runs go on a tool, or (without one) on the trade's shoe; what was planned is to be planned anew. */
export function putOn(runs: readonly KeptRun[], tool: ToolPin | undefined): void {
  const changes = new Map<string, Rec | null>();
  for (const run of runs) {
    const rec = getRec(run.id);
    if (!rec?.data || isBegun(run)) continue;
    changes.set(rec.id, written(rec, tool ? onTool(rec.data, tool) : { ...onTool(rec.data, undefined), survey: onTradeShoe(run.survey) }));
    if (run.status === 'planned') newEntry(changes, run.id, run.job, { kind: 'status', status: 'measured' }, { pins: { run: run.revision } });
  }
  void put(changes);
}

/** Taken out: of this device where it never left it, else of the job, for everybody. */
export function removeRun(id: string): void {
  const rec = getRec(id);
  if (rec) void putOne(id, written(rec, null));
}

/** A run that was removed, here or elsewhere, is in the job again as it was: by a new revision, where the shop had it. */
export function bringBack(id: string): void {
  const rec = getRec(id);
  if (!rec?.was || rec.data) return;
  void putOne(id, written(rec, rec.was));
  if (rec.job === state.job) choose(id);
}

/** Something seen or done on a run: an entry of its own. */
export function note(run: KeptRun, what: Entry['what'], more?: Partial<Said>): void {
  const changes = new Map<string, Rec | null>();
  newEntry(changes, run.id, run.job, what, more);
  void put(changes);
}

/** What was written on this device is not so any more; by what is given back it is again, in its old place. `stays`: what of it
 * is so all the same. */
export function takeBack({ entry, mine, by, at }: SeenEntry, stays?: Entry['what']): () => void {
  const rec = mine ? getRec(entry.id!) : undefined;
  if (!rec) return () => undefined;
  const changes = new Map<string, Rec | null>();
  if (stays) newEntry(changes, entry.run, rec.job, stays, { by, at, piece: entry.piece ?? undefined, copy: entry.copy ?? undefined, pins: entry.pins });
  const news = [...changes.keys()];
  void put(changes.set(rec.id, written(rec, null)), changedHere(entry.run));
  return () => {
    const now = getRec(rec.id);
    const back = new Map<string, Rec | null>([[rec.id, now ? written(now, rec.data) : rec]]);
    for (const id of news) {
      const one = getRec(id);
      if (one) back.set(id, written(one, null));
    }
    void put(back);
  };
}

/** A bend was not made, or (with a `kind`) a step before the bends not done, as these ticks say, by whomever: they are taken back, and a note says why. What gives it back again does so
 * with entries of their own where the shop has heard that they are gone. */
export function takeTicksBack(run: KeptRun, { number, kind }: { number: number; kind?: StepMade['kind'] }, ticks: readonly SeenEntry[], { note: words, ...of }: { note: string } & Pick<Partial<Said>, 'piece' | 'copy'>): () => void {
  const changes = new Map<string, Rec | null>();
  const recs = ticks.flatMap(({ entry }) => getRec(entry.id!) ?? []);
  for (const rec of recs) {
    const what = entryIn(rec).what as Made;
    const bends = what.bends.filter((bend) => !!kind || bend.number !== number);
    const steps = (what.steps ?? []).filter((step) => step.kind !== kind || (step.number ?? 0) !== number);
    const work = bends.length || steps.length ? { ...what, bends, ...(what.steps ? { steps } : {}) } : null;
    const left: Entry['what'] | null = work ?? (what.note ? { kind: 'note', note: what.note } : null);
    changes.set(rec.id, written(rec, left && { ...rec.data, what: left }));
  }
  const noted = freshId();
  newEntry(changes, run.id, run.job, { kind: 'note', note: words }, { ...of, pins: { run: run.revision } }, noted);
  void put(changes, changedHere(run.id));
  return () => {
    const back = new Map<string, Rec | null>();
    for (const rec of recs) {
      const [now, { what, ...more }] = [getRec(rec.id), entryIn(rec)];
      if (now) back.set(rec.id, written(now, rec.data));
      else newEntry(back, run.id, run.job, what, { by: more.by, at: more.at, piece: more.piece ?? undefined, copy: more.copy ?? undefined, pins: more.pins });
    }
    const one = getRec(noted);
    if (one) back.set(noted, written(one, null));
    void put(back);
  };
}

/** Set by hand: of these copies, or of all that there are. One more entry for each that was not so already. */
export function setStatus(run: KeptRun, status: Status, copies?: readonly number[]): void {
  const changes = new Map<string, Rec | null>();
  const pins = { run: run.revision };
  const all = !copies || copies.length === run.times;
  if (all && run.statuses.some((one) => one !== status)) newEntry(changes, run.id, run.job, { kind: 'status', status }, { pins });
  for (const copy of all ? [] : copies) if (run.statuses[copy - 1] !== status) newEntry(changes, run.id, run.job, { kind: 'status', status }, { copy, pins });
  void put(changes);
}

/** So many are made alike. Copies that are taken away keep what was said of them, and are as they were left where they count
 * again; `back`: the tap that took them away is taken back. */
export function setTimes(run: KeptRun, to: number, back = false): void {
  const rec = getRec(run.id);
  if (!rec?.data || !Number.isInteger(to) || to < 1 || to > MOST_COPIES || to === run.times) return;
  const { times: _, ...others } = rec.data;
  const changes = new Map([[rec.id, written(rec, to === 1 ? others : { ...others, times: to })]]);
  // it counts, also where it is less than was `stood`
  const own = (copy: number, { entry, by, at }: SeenEntry, stood: Status): void => {
    const isLess = entry.what.kind === 'status' && !isFurther(entry.what.status, stood);
    newEntry(changes, run.id, run.job, entry.what, { by, at, copy, pins: isLess ? { ...entry.pins, marks: '' } : entry.pins });
  };
  for (const { copy, from, stood } of goneCopies(run, to)) own(copy, from, stood);
  for (const { copy, status, from, stood } of back ? [] : newCopies(run, to)) {
    if (from) own(copy, from, stood);
    else {
      newEntry(changes, run.id, run.job, { kind: 'status', status }, { copy, pins: { run: run.revision } });
      if (isBent(stood)) saidAnew(changes, run, begunAgain(run.entries, copy), copy);
    }
  }
  void put(changes);
}

/** Steps ticked at the bench, in one writing: where the person is, what is made and taken back (`back`: the ticks of a bend;
 * `taken`: these), how far it has come by what is on record of the piece then. */
export interface Ticked {
  bench: Bench;
  status: (now: readonly SeenEntry[]) => Status;
  made: Deed[];
  back: { piece: number; number: number }[];
  taken?: readonly SeenEntry[];
  marks: string;
  tool: string;
}

export function tick(run: KeptRun, { bench, status, made, back, taken = [], marks, tool }: Ticked): void {
  const changes = new Map<string, Rec | null>();
  const pins = { run: run.revision, tool, marks };
  const { copy } = bench;
  const goBack = (id: string): void => {
    const rec = getRec(id);
    if (rec) changes.set(id, written(rec, null));
  };
  const standing = ofCopy(run.entries, copy);
  const isHere = ({ entry, mine }: SeenEntry): boolean => mine && (!copy || copyOf(entry) === copy) && entry.pins?.marks === marks;
  for (const { entry } of standing.filter(isHere)) {
    if (entry.what.kind !== 'made' || entry.what.anew) continue;
    const { bends } = entry.what;
    if (back.some((one) => one.piece === entry.piece && bends.length === 1 && bends[0]!.number === one.number)) goBack(entry.id!);
  }
  for (const one of taken) if (one.mine) goBack(one.entry.id!);
  const stays = standing.filter(({ entry }) => !changes.has(entry.id!));
  for (const { piece, number, bend, step, by } of made) {
    const what: Entry['what'] = step ? { kind: 'made', bends: [], steps: [step] } : { kind: 'made', bends: [{ ...(bend ?? { number }), by_marks: by }] };
    newEntry(changes, run.id, run.job, what, { piece, copy, pins });
    stays.push({ entry: { run: run.id, piece, what, pins }, mine: true, open: true, by: '', at: '' });
  }
  const so = status(stays);
  // what is further already stays so; a status that the ticks of this plan set here is taken back with them
  let left = standing;
  let now = setByAll(left);
  while (now.from && isFurther(now.status, so) && isHere(now.from)) {
    goBack(now.from.entry.id!);
    left = left.filter((one) => one !== now.from);
    now = setByAll(left);
  }
  // of the first, also where one is wanted: more may be by the time that the shop hears of it
  if (isFurther(so, now.status)) newEntry(changes, run.id, run.job, { kind: 'status', status: so }, { copy: copy ?? 1, pins });
  void put(changes, { [`bench:${run.id}`]: { ...bench, since: setBackOf(run.entries, copy) } satisfies Bench });
}

/** The next of those that are alike goes on the bench. */
export function beginCopy(run: KeptRun, copy: number): void {
  void putLocal(`bench:${run.id}`, { of: run.done.of, begun: false, at: 0, copy });
}

/** These say once more what they say, of this copy: what they say of each other with it. */
function saidAnew(changes: Map<string, Rec | null>, run: KeptRun, seen: readonly SeenEntry[], copy: number): void {
  const ids = new Map(seen.map(({ entry }) => [entry.id, freshId()]));
  for (const { entry, by, at } of seen) newEntry(changes, run.id, run.job, calledAnew(entry.what, ids), { by, at, piece: entry.piece ?? undefined, copy, pins: entry.pins }, ids.get(entry.id));
}

/** The piece in hand is another copy: what was ticked off and measured of it on this device is of that one. */
export function countAs(run: KeptRun, from: number, to: number): void {
  const changes = new Map<string, Rec | null>();
  const moved = run.entries.filter(({ entry, mine }) => mine && copyOf(entry) === from && entry.pins?.marks && getRec(entry.id!));
  for (const { entry } of moved) {
    const rec = getRec(entry.id!)!;
    changes.set(rec.id, written(rec, null));
  }
  saidAnew(changes, run, moved, to);
  void put(changes, { [`bench:${run.id}`]: { ...run.done, copy: to, since: setBackOf(run.entries, to), knew: [], ticks: [], bent: undefined } satisfies Bench });
}

/** The person has seen what other devices did of the piece in hand (`knew`), and goes on with it; or looks at what stands there. */
export const goOnWith = (run: KeptRun, bench: Partial<Bench>): void =>
  void putLocal(`bench:${run.id}`, { ...run.done, since: setBackOf(run.entries, run.done.copy), ...bench } satisfies Bench);

/** What stood on Bend is changed by this device: nobody has to be told. */
export function changedHere(run: string): Record<string, Bench> {
  const name = `bench:${run}`;
  const { stood, ...bench } = benchIn(local.get(name));
  return stood ? { [name]: bench } : {};
}

export function newJob(name: string): void {
  const id = freshId();
  void putOne(id, fresh('job', id, id, { name }, nextMade()));
}

/** A job that was on this device only goes into the shop as one of its own. */
export function sendJob(id: string): void {
  const rec = getRec(id);
  if (rec) void putOne(id, { ...rec, go: true, stamp: Math.random() });
}

/** The runs of a job that was on this device only go into one of the shop's. */
export function moveRuns(from: string, to: string): void {
  const changes = new Map<string, Rec | null>([[from, null]]);
  for (const rec of allRecs()) if (rec.job === from && rec.kind !== 'job') changes.set(rec.id, { ...rec, job: to, stamp: Math.random() });
  state.job = to;
  void put(changes, { job: to });
}

/** Two versions: the one that stands in the shop, the one of this device, or both, the second as a run of its own. */
export function settle(rec: Rec, choice: 'theirs' | 'mine' | 'both'): void {
  const changes = new Map<string, Rec | null>([[rec.id, settled(rec, choice === 'mine' ? 'mine' : 'theirs')]]);
  if (choice === 'both' && rec.data) {
    const id = freshId();
    const survey = structuredClone(rec.data['survey']) as Survey;
    survey.run.name = t.share.copyOf(survey.run.name);
    changes.set(id, fresh('run', id, rec.job, { ...rec.data, id, key: keyOf(id), survey }, nextMade()));
  }
  if (rec.kind === 'tool' && choice === 'theirs' && rec.data) {
    const on = runsOnWritten(rec.id); // marked for what was written here: on a tool by itself
    const id = freshId();
    if (on.length) changes.set(id, fresh('tool', id, '', { ...rec.data, id }, nextMade()));
    for (const run of on) changes.set(run.id, written(run, { ...run.data, tool: { id, revision: 0 } satisfies ToolPin }));
  }
  void put(changes);
}

export const setLocal = (name: 'device' | 'person', words: string): void => void putLocal(name, words);
