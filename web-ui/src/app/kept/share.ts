/** Runs shared through the server: every save names the revision it began from; a clash keeps both versions. */
import { sharedRuns, type EngineHandle, type SavedRun, type SharedRuns } from '../../engine/index';
import { t } from '../../text/words';
import { readRun } from './job-file';
import { keep, kept } from './keep';
import { addRun, freshId, noteShared, onSave, saveNow, say, state, takeShared, type Clash, type KeptRun, type Version } from './state';

const EVERY_MS = 15_000;
let server: SharedRuns | null = null;
let device = '';
let busy = false;
let again = false;
let soon: ReturnType<typeof setTimeout> | undefined;

const printOf = (version: { survey: unknown; status: string }): string => JSON.stringify([version.survey, version.status]);
const dataOf = (version: { survey: unknown; status: string }): Record<string, unknown> => ({
  format: 'racewright run 1',
  name: (version.survey as { run: { name: string } }).run.name,
  survey: version.survey,
  status: version.status,
});

export async function startSharing(engine: EngineHandle): Promise<void> {
  server = await sharedRuns(engine);
  if (!server) return;
  device = (await kept<string>('device')) ?? t.share.device(freshId().slice(0, 4));
  void keep('device', device);
  onSave(() => {
    clearTimeout(soon);
    soon = setTimeout(() => void shareNow(), 900);
  });
  setInterval(() => {
    if (document.visibilityState === 'visible') void shareNow();
  }, EVERY_MS);
  void shareNow();
}

/** Bring this phone and the server together, one run after the other. */
export async function shareNow(): Promise<void> {
  if (!server || !state.loaded) return void (soon = setTimeout(() => void shareNow(), 500));
  if (busy) return void (again = true);
  busy = true;
  try {
    const listed = await server.list();
    if (!listed.ok) return;
    for (const row of listed.answer.runs) {
      if (state.dropped.includes(row.id)) continue;
      const mine = state.runs.find((r) => r.id === row.id);
      if (mine?.shared?.clash) continue;
      const behind = !mine || row.revision > (mine.shared?.revision ?? 0);
      const clean = mine && mine.shared?.print === printOf(mine);
      if ((behind && (!mine || clean)) || (row.rivals > 0 && clean)) await fetchOne(row.id);
      else if (behind && mine?.shared?.sent) await lookForSent(mine, mine.shared.sent);
    }
    for (const run of state.runs.slice()) {
      if (run.shared?.clash || run.shared?.print === printOf(run)) continue;
      await sendOne(run);
    }
  } finally {
    busy = false;
    if (again) {
      again = false;
      void shareNow();
    }
  }
}

async function versionOf({ data, by, saved }: Pick<SavedRun, 'data' | 'by' | 'saved'>): Promise<Version | null> {
  const run = await readRun(data['survey'], data['status']);
  return run && { ...run, by, saved };
}

async function clashOf(saved: SavedRun, rival = saved.rivals[0]): Promise<Clash | undefined> {
  const newest = await versionOf(saved);
  const late = rival && (await versionOf(rival));
  return newest && rival && late ? { revision: saved.revision, newest, rival: rival.rival, late } : undefined;
}

async function fetchOne(id: string): Promise<void> {
  const got = await server!.get(id);
  if (!got.ok) return;
  const newest = await versionOf(got.answer);
  if (!newest) return;
  const clash = await clashOf(got.answer);
  const shared = { revision: got.answer.revision, print: printOf(newest), ...(clash ? { clash } : {}) };
  const part = { survey: newest.survey, status: newest.status, shared };
  if (state.runs.some((r) => r.id === id)) noteShared(id, part);
  else takeShared({ id, done: { of: '', steps: [], at: 0 }, changed: got.answer.saved, ...part });
}

/** The answer to a save was lost (the page was closed, the signal went): where the server has it, it is agreed. */
async function lookForSent(run: KeptRun, sent: string): Promise<void> {
  const got = await server!.get(run.id);
  if (!got.ok) return;
  const { data, revision } = got.answer; // as it was sent: compared before it is read
  if (printOf(data as { survey: unknown; status: string }) === sent) noteShared(run.id, { shared: { revision, print: sent } });
}

async function sendOne(run: KeptRun): Promise<void> {
  const print = printOf(run);
  const base = run.shared?.revision ?? 0;
  noteShared(run.id, { shared: { revision: base, print: run.shared?.print ?? '', sent: print } });
  await saveNow();
  const reply = await server!.save(run.id, { base, by: device, data: dataOf(run) });
  if (reply.ok) {
    noteShared(run.id, { shared: { revision: reply.answer.revision, print } });
  } else if (reply.conflict) {
    const clash = await clashOf(reply.conflict.newest, reply.conflict.yours);
    if (clash) noteShared(run.id, { shared: { revision: base, print: '', clash } });
  }
}

/** Decide a clash: one version goes on under this run; with 'both' the other becomes a run of its own. */
export async function settle(run: KeptRun, clash: Clash, choice: 'newest' | 'late' | 'both'): Promise<void> {
  if (!server) return;
  const going = choice === 'late' ? clash.late : clash.newest;
  const reply = await server.save(run.id, { base: clash.revision, by: device, data: dataOf(going), settles: [clash.rival] });
  if (!reply.ok) {
    if (reply.conflict) {
      const next = await clashOf(reply.conflict.newest, reply.conflict.yours);
      if (next) noteShared(run.id, { shared: { revision: clash.revision, print: '', clash: next } });
    } else say(reply.error.message);
    return;
  }
  noteShared(run.id, { survey: going.survey, status: going.status, shared: { revision: reply.answer.revision, print: printOf(going) } });
  if (choice === 'both') {
    const survey = structuredClone(clash.late.survey);
    survey.run.name = t.share.copyOf(survey.run.name);
    addRun(survey, { status: clash.late.status });
  }
  say(t.share.settled);
}
