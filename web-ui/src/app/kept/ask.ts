/** The page's tie to the engine: one question, one answer, on the run's tool. */
import { startEngine, type EngineHandle, type Reply } from '../../engine/index';
import type { OperationName, Operations } from '../../engine/types';
import { benderOf } from './shoe';
import { change, currentRun, state } from './state';
import type { Survey } from './survey';
import { during, onWork } from './working';

let engine: EngineHandle | null = null;
let ready: () => void = () => undefined;

/** What to do each time that the engine has become ready. */
export const onReady = (work: () => void): void => {
  ready = work;
};

/** The engine, started when first wanted. */
export function engineHandle(): EngineHandle {
  engine ??= begin();
  return engine;
}

export function ask<O extends OperationName>(operation: O, request: Operations[O]['request'], signal?: AbortSignal): Promise<Reply<Operations[O]['answer']>> {
  return during('asking', engineHandle().ask(operation, withShoe(request), signal));
}

let halted = false;

/** End the question that takes so long: its reply says that it was stopped. */
export function stopAsking(): void {
  halted = true;
  engineHandle().halt();
}

/** The tool of the run at hand goes along with every question about it. */
function withShoe<R>(request: R): R {
  const { survey } = request as { survey?: { run?: { raceway?: string } } };
  const run = currentRun();
  return run?.tool && survey?.run?.raceway === run.survey.run.raceway ? { ...request, ...benderOf(run) } : request;
}

/** By survey: one that is changed is another one. */
const open = new WeakMap<Survey, readonly string[] | undefined>();

/** What is still to be measured of a survey, asked for once; undefined until the engine has said it. */
export function openOf(survey: Survey): readonly string[] | undefined {
  if (!open.has(survey)) {
    open.set(survey, undefined);
    void ask('sketch', { survey }).then((reply) => {
      open.set(survey, reply.ok ? reply.answer.open : []);
      change({});
    });
  }
  return open.get(survey);
}

function begin(): EngineHandle {
  onWork(() => change({}));
  const handle = startEngine();
  handle.watch((now) => {
    const becameReady = now.phase === 'ready' && state.engine.phase !== 'ready';
    change({ engine: now });
    if (!becameReady) return;
    if (!halted && !now.anew) ready(); // else what was stopped, or what the engine failed at, would begin again
    halted = false;
  });
  return handle;
}
