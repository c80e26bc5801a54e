/** The page's tie to the engine: asks for a plan whenever the survey has no gaps, the last survey wins. */
import { startEngine, type EngineHandle, type Reply } from '../engine/index';
import type { OperationName, Operations, PlanAnswer } from '../engine/types';
import { startSharing } from './kept/share';
import { shoeFor } from './kept/shoe';
import { change, currentRun, onRunChange, state } from './kept/state';
import { forEngine, gapsOf } from './kept/survey';

let engine: EngineHandle | null = null;

export function ask<O extends OperationName>(
  operation: O,
  request: Operations[O]['request'],
): Promise<Reply<Operations[O]['answer']>> {
  engine ??= begin();
  return engine.ask(operation, withShoe(request));
}

/** The person's own shoe goes along with every question about a run on its raceway. */
function withShoe<R>(request: R): R {
  const asked = request as { survey?: { run?: { raceway?: string } }; raceway?: string };
  const raceway = asked.survey?.run?.raceway ?? asked.raceway;
  const bender = raceway ? shoeFor(raceway) : null;
  return bender ? { ...request, bender } : request;
}

function begin(): EngineHandle {
  const handle = startEngine();
  handle.watch((now) => {
    const becameReady = now.phase === 'ready' && state.engine.phase !== 'ready';
    change({ engine: now });
    if (becameReady) planAgain();
  });
  return handle;
}

let wait: ReturnType<typeof setTimeout> | undefined;
let turn = 0;
let asked = '';

let plannedRun = '';

/** A plan never stands under another run's name, not even while the new one is worked out. */
function planSoon(): void {
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
  if (!run || gapsOf(run.survey).length) {
    asked = '';
    change({ planned: { state: 'gaps' } });
    return;
  }
  const survey = forEngine(run.survey);
  const text = run.id + JSON.stringify(survey);
  if (text === asked && state.planned.state === 'ok') return;
  asked = text;
  const now = state.planned;
  const before: PlanAnswer | null = now.state === 'ok' ? now.answer : now.state === 'asking' ? now.before : null;
  change({ planned: { state: 'asking', before } });
  const reply = await ask('plan', { survey, pictures: [] });
  if (mine !== turn) return;
  change({ planned: reply.ok ? { state: 'ok', answer: reply.answer } : { state: 'refused', error: reply.error } });
}

export function startLink(): void {
  onRunChange(planSoon);
  engine ??= begin();
  void startSharing(engine);
}

export const planAgain = (): void => {
  asked = '';
  planSoon();
};
export const engineHandle = (): EngineHandle | null => engine;
