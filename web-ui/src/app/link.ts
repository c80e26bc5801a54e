/** What is asked as the survey changes: a sketch at every key, and a plan once no reading is open. The newest survey wins. */
import { engineTrouble } from '../engine/engine';
import type { PlanAnswer } from '../engine/types';
import { t } from '../text/words';
import { ask, engineHandle, onReady } from './kept/ask';
import { startSharing } from './kept/share';
import { surveyed } from './kept/job-file';
import { benderOf, lacksTool } from './kept/shoe';
import { change, currentRun, currentSketch, load, onRunChange, state } from './kept/state';
import { fetchScreens } from './later';

onReady(planAgain);

let wait: ReturnType<typeof setTimeout> | undefined;
let turn = 0;
let asked = '';

let sketching: Promise<void> | null = null;
let sketchAgain = false;

/** One sketch at a time, and after it the newest: it follows every key. */
function sketchNow(): void {
  sketchAgain = true;
  sketching ??= sketchNewest().finally(() => {
    sketching = null;
  });
}

async function sketchNewest(): Promise<void> {
  while (sketchAgain) {
    sketchAgain = false;
    const run = currentRun();
    if (!run) return;
    const reply = await ask('sketch', { survey: run.survey });
    change({ sketch: reply.ok ? { of: run.id, answer: reply.answer } : null });
  }
}

let plannedRun = '';
/** What ends the plan that is being worked out, once a newer one takes its place: it is told, and stopped, no longer. */
let planning = new AbortController();

/** A plan never stands under another run's name, not even while the new one is worked out. */
function planSoon(): void {
  sketchNow();
  clearTimeout(wait);
  if (plannedRun !== state.current) {
    plannedRun = state.current;
    turn += 1;
    asked = '';
    change({ planned: { state: 'asking', before: null } });
  }
  wait = setTimeout(() => void planNow(), 90);
}

async function planNow(): Promise<void> {
  const run = currentRun();
  turn += 1;
  const mine = turn;
  planning.abort();
  planning = new AbortController();
  const { signal } = planning;
  if (!run) return gaps();
  if (lacksTool(run)) return change({ planned: { state: 'refused', error: engineTrouble(t.shoe.notHere, t.shoe.notHereHint) } });
  const from = surveyed(run);
  const text = run.id + JSON.stringify([from.survey, from.head?.stock, from.head?.units, benderOf(run)]);
  if (text === asked && state.planned.state === 'ok') return;
  asked = text;
  const now = state.planned;
  const before: PlanAnswer | null = now.state === 'ok' ? now.answer : now.state === 'asking' ? now.before : null;
  if (now.state !== 'gaps') change({ planned: { state: 'asking', before } });
  await sketching;
  if (mine !== turn || currentRun()?.survey !== run.survey) return; // the sketch is of a newer one, which is planned next
  if (currentSketch()?.open.length) return gaps();
  if (now.state === 'gaps') change({ planned: { state: 'asking', before } });
  const wrong = currentSketch()?.wrong[0]; // it would be refused for that
  const reply = wrong ? { ok: false as const, error: wrong } : await ask('plan', { ...from, pictures: [] }, signal);
  if (mine !== turn) return;
  change({ planned: reply.ok ? { state: 'ok', answer: reply.answer } : { state: 'refused', error: reply.error } });
}

function gaps(): void {
  asked = '';
  change({ planned: { state: 'gaps' } });
}

export function startLink(): void {
  onRunChange(planSoon);
  void load().then(() => {
    const engine = engineHandle();
    void startSharing(engine);
    void fetchScreens().catch(() => undefined); // fetched when one is opened
  });
}

export function planAgain(): void {
  asked = '';
  planSoon();
}
