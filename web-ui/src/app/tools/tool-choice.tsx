/** The tool of the run at hand, and another one for it, with what that changes said before it is taken. */
import { useEffect, useState } from 'preact/hooks';
import type { PlanAnswer, ToolPin, Trouble } from '../../engine/types';
import { t } from '../../text/words';
import { onTradeShoe, putOn } from '../kept/act';
import { engineHandle } from '../kept/ask';
import { getRec } from '../kept/kept';
import { pinOf, toolAt } from '../kept/shoe';
import { say, useApp, type KeptRun } from '../kept/state';
import { surveyed } from '../kept/job-file';
import { shopTools } from '../kept/tools';
import { isBegun } from '../kept/view';
import { planAgain } from '../link';
import { useCatalogue } from '../parts/catalogue';
import { Pick, TroubleNotice } from '../parts/parts';
import { usePlan } from '../parts/plan';
import { changesOf, type Change } from './profile';

/** The trade's shoe, among the ids of tools. */
const TRADE = 'trade';

export function ToolChoice({ run }: { run: KeptRun }) {
  useApp();
  const catalogue = useCatalogue();
  const { raceway, bend_radius } = run.survey.run;
  const tools = shopTools().filter((tool) => !tool.gone && tool.raceway === raceway);
  const trade = catalogue?.benders.some((shoe) => !shoe.own && shoe.raceway === raceway) || !run.tool;
  const now = run.tool ? run.tool.id : TRADE;
  const [chosen, setChosen] = useState(now);
  useEffect(() => setChosen(now), [now]);
  const options = [
    ...(run.tool && !tools.some((tool) => tool.id === now) ? [{ value: now, label: toolAt(run.tool)?.name ?? t.tools.notHere }] : []),
    ...tools.map((tool) => ({ value: tool.id, label: tool.called })),
    ...(trade ? [{ value: TRADE, label: t.tools.trade }] : []),
  ];
  return (
    <section class="card">
      <h2>{t.tools.forRun(run.survey.run.name || t.job.noName)}</h2>
      <p>{run.tool ? t.tools.runOn(toolAt(run.tool)?.name ?? t.tools.notHere) : t.tools.runOnTrade}</p>
      {bend_radius ? (
        <p>{t.tools.radius}</p>
      ) : isBegun(run) ? (
        <p class="quiet">{t.tools.begun}</p>
      ) : options.length < 2 ? (
        <p class="quiet">{t.tools.onlyOne(raceway)}</p>
      ) : (
        <>
          <Pick label={t.tools.choose(raceway)} value={chosen} options={options} onPick={setChosen} />
          {chosen !== now && <Changes key={chosen} run={run} tool={chosen} />}
        </>
      )}
      <Others run={run} />
    </section>
  );
}

/** What the plan becomes on it, and the tap that takes it. */
function Changes({ run, tool }: { run: KeptRun; tool: string }) {
  const { answer: before, stale } = usePlan();
  const [after, setAfter] = useState<PlanAnswer | null>(null);
  const [error, setError] = useState<Trouble | null>(null);
  const rec = tool === TRADE ? undefined : getRec(tool);
  const pin = rec && pinOf(rec);
  const at = pin && toolAt(pin);
  useEffect(() => {
    let gone = false;
    const asked = surveyed(run, at ? run.survey : onTradeShoe(run.survey));
    // not the run's own tool, as `ask` would have it
    void engineHandle()
      .ask('plan', { ...asked, pictures: [], ...(at ? { bender: at.profile, bender_name: at.name } : {}) })
      .then((reply) => {
        if (gone) return;
        setAfter(reply.ok ? reply.answer : null);
        setError(reply.ok ? null : reply.error);
      });
    return () => {
      gone = true;
    };
  }, [run.survey, tool]);
  const name = at?.name ?? t.tools.trade;
  const put = (): void => {
    putOn([run], pin);
    say(t.tools.putDone(name));
    planAgain();
  };
  if (stale || (!after && !error)) // held against a plan that comes after it, the table would move the button from under a thumb
    return (
      <div aria-live="polite">
        <p class="quiet">{t.tools.looking}</p>
      </div>
    );
  return (
    <div aria-live="polite">
      {error && <TroubleNotice error={error} />}
      {after && <ChangeTable list={changesOf(before, after)} />}
      {after?.findings.filter((f) => f.severity === 'problem').map((f, i) => <p key={i} class="wrong">{f.message}</p>)}
      <button type="button" class="wide-button strong" onClick={put}>
        {t.tools.put(name)}
      </button>
    </div>
  );
}

function ChangeTable({ list }: { list: readonly Change[] }) {
  if (!list.length) return <p>{t.tools.noChanges}</p>;
  return (
    <table class="plain">
      <caption>{t.tools.changes}</caption>
      <thead>
        <tr>
          <th scope="col">{t.tools.what}</th>
          <th scope="col">{t.tools.was}</th>
          <th scope="col">{t.tools.becomes}</th>
        </tr>
      </thead>
      <tbody>
        {list.map((one) => (
          <tr key={one.what}>
            <th scope="row">{t.bend.sentence(one.what)}</th>
            <td>{one.was}</td>
            <td>{one.becomes}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** The same tool for the other runs of this raceway that nothing is marked or bent of. */
function Others({ run }: { run: KeptRun }) {
  const { runs } = useApp();
  const { raceway } = run.survey.run;
  const { tool } = run;
  if (!tool) return null;
  const on = (pin: ToolPin | null): boolean => pin?.id === tool.id && pin.revision === tool.revision;
  const others = runs.filter((one) => one.survey.run.raceway === raceway && !on(one.tool) && (!one.tool || one.tool.id === tool.id) && !isBegun(one));
  if (!others.length) return null;
  return (
    <button
      type="button"
      class="wide-button"
      onClick={() => {
        putOn(others, tool);
        say(t.tools.alsoDone(others.length));
      }}
    >
      {t.tools.also(others.length, raceway)}
    </button>
  );
}
