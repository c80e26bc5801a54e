/** The plan of the run at hand, and what stands in its place while there is none. */
import { Sketch } from '../../draw/sketch';
import type { PlanAnswer } from '../../engine/types';
import { t } from '../../text/words';
import { getAt } from '../kept/paths';
import { currentRun, currentSketch, useApp, type KeptRun } from '../kept/state';
import { isLeg } from '../kept/survey';
import { TroubleNotice } from './parts';

export function usePlan(): { answer: PlanAnswer | null; stale: boolean } {
  const { planned } = useApp();
  if (planned.state === 'ok') return { answer: planned.answer, stale: false };
  if (planned.state === 'asking') return { answer: planned.before, stale: true };
  return { answer: null, stale: false };
}

/** What to show where there is no plan yet, and what to do about it. */
export function NoPlan() {
  const { planned, engine } = useApp();
  if (planned.state === 'refused') {
    return (
      <div class="pad-top">
        <TroubleNotice error={planned.error} />
        <a class="wide-button" href="#/measure">
          {t.see.toMeasure}
        </a>
      </div>
    );
  }
  const waiting = planned.state === 'asking';
  const run = currentRun();
  return (
    <>
      {run && (
        <div class="side-stage">
          <RunSketch run={run} active="" />
        </div>
      )}
      <section class="card">
        <h2>{waiting ? (engine.phase === 'ready' ? t.measure.planning : t.measure.engineComing) : t.see.gaps}</h2>
        <p>{waiting ? t.see.waitWords : t.see.gapsWords}</p>
        {!waiting && (
          <a class="wide-button strong" href="#/measure">
            {t.see.toMeasure}
          </a>
        )}
      </section>
    </>
  );
}

/** The run as entered so far; a plain line until the engine has drawn it. */
export function RunSketch({ run, active }: { run: KeptRun; active: string }) {
  const { survey } = run;
  const empty = survey.run.walk.every((part) => !isLeg(part) || !part.leg.trim());
  return <Sketch sketch={currentSketch()} name={survey.run.name} empty={empty} many={survey.run.walk.length > 1} active={active} textOf={(field) => getAt(survey, field)} />;
}
