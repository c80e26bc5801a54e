/** One tool of the shop: its figures as written down, what is on it, and what can be done with it. */
import { useEffect, useState } from 'preact/hooks';
import type { BenderAnswer } from '../../engine/types';
import type { Unit } from '../../text/lengths';
import { t } from '../../text/words';
import { putOn } from '../kept/act';
import { ask } from '../kept/ask';
import { forNew, pinOf, setForNew } from '../kept/shoe';
import { say, type KeptRun } from '../kept/state';
import { bringBack, removeTool, runsOn, type KeptTool, type ToolWas } from '../kept/tools';
import { getRec } from '../kept/kept';
import { planAgain } from '../link';
import { Icon } from '../parts/icons';
import { bringIntoView } from '../parts/keypad';
import { Segments } from '../parts/parts';
import { Tail } from '../parts/tail';
import { took } from '../parts/undo';
import { when } from '../parts/when';
import { Diagnosis } from './diagnosis';
import { draftOf, toolHash } from './profile';
import { TestBends } from './test-bends';
import { Meaning, ToolForm } from './tool-form';

interface Props {
  tool: KeptTool;
  open: boolean;
  /** The figure that a refusal hangs on, '' for none. */
  figure: string;
  run: KeptRun | undefined;
}

export function ToolCard({ tool, open, figure, run }: Props) {
  useEffect(() => {
    if (open) bringIntoView(document.getElementById(`tool-${tool.id}`));
  }, [open, tool.id]);
  const on = runsOn(tool.id);
  const unit = run?.survey.units ?? draftOf(tool.id, tool.name, tool.profile).unit;
  const begun = on.filter((one) => one.begun).length;
  return (
    <section id={`tool-${tool.id}`} class={open ? 'card tool on' : 'card tool'}>
      <h3>
        <a href={open ? toolHash('') : toolHash(tool.id)} aria-expanded={open} aria-label={t.tools.open(tool.called)}>
          {tool.called}
        </a>
      </h3>
      <Written was={tool} unit={unit} />
      <p class="quiet">
        {tool.revision ? [t.tools.revision(tool.revision), since(tool)].filter(Boolean).join(' ') : t.tools.here}
        . {on.length ? `${t.tools.on(on.length, begun)}.` : t.tools.onNone}
      </p>
      {tool.refusal && <p class="wrong">{t.share.refused(tool.refusal)}</p>}
      {open && <Opened tool={tool} figure={figure} run={run} unit={unit} />}
    </section>
  );
}

const since = ({ at, by }: ToolWas): string => t.tools.since(at && when(at), by);

/** What the engine makes of a tool's figures, once it has answered. */
function useMeaning(profile: ToolWas['profile'], unit: Unit): BenderAnswer | null {
  const [answer, setAnswer] = useState<BenderAnswer | null>(null);
  useEffect(() => {
    void ask('bender', { bender: profile, unit }).then((reply) => setAnswer(reply.ok ? reply.answer : null));
  }, [JSON.stringify(profile), unit]);
  return answer;
}

/** Every figure that somebody wrote down, in the engine's words. */
function Written({ was, unit }: { was: ToolWas; unit: Unit }) {
  return (
    <dl class="written" aria-label={t.tools.asWritten}>
      {useMeaning(was.profile, unit)?.written.map(({ label, text }) => (
        <div key={label}>
          <dt>{t.bend.sentence(label)}</dt>
          <dd>{text}</dd>
        </div>
      ))}
    </dl>
  );
}

function Opened({ tool, figure, run, unit }: { tool: KeptTool; figure: string; run: KeptRun | undefined; unit: Unit }) {
  const [doing, setDoing] = useState<'' | 'form' | 'bends' | 'remove'>(figure ? 'form' : '');
  useEffect(() => {
    if (figure) setDoing('form');
  }, [figure]);
  const own = forNew(tool.raceway) === tool.id;
  if (doing === 'form') return <ToolForm draft={draftOf(tool.id, tool.name, tool.profile, run?.survey.units)} figure={figure} run={run} onDone={(id) => { setDoing(''); location.hash = toolHash(id || tool.id); }} />;
  if (doing === 'bends') return <TestBends tool={tool} onDone={() => setDoing('')} />;
  return (
    <>
      <Figures tool={tool} unit={unit} />
      <Runs tool={tool} />
      <div class="two">
        <button type="button" class="wide-button" onClick={() => setDoing('form')}>
          {t.tools.change}
        </button>
        <button type="button" class="wide-button" onClick={() => setDoing('bends')}>
          {t.tools.calibrate}
        </button>
      </div>
      <Segments
        label={t.tools.newRuns(tool.raceway)}
        value={own ? 'own' : ''}
        options={[
          { value: 'own', label: tool.called },
          { value: '', label: t.tools.trade },
        ]}
        onPick={(value) => setForNew(tool.raceway, value ? tool.id : '')}
      />
      <Diagnosis tool={tool} />
      <History tool={tool} unit={unit} />
      {doing === 'remove' ? <Remove tool={tool} onDone={() => setDoing('')} /> : (
        <button type="button" class="quiet-button" onClick={() => setDoing('remove')}>
          <Icon name="bin" />
          {t.tools.remove}
        </button>
      )}
    </>
  );
}

/** What the engine makes of the figures. */
function Figures({ tool, unit }: { tool: KeptTool; unit: Unit }) {
  const answer = useMeaning(tool.profile, unit);
  return (
    answer && (
      <>
        <Meaning answer={answer} />
        <Tail answer={answer} />
      </>
    )
  );
}

/** The runs that are on it, and on which of its revisions. */
function Runs({ tool }: { tool: KeptTool }) {
  const on = runsOn(tool.id);
  if (!on.length) return null;
  const now = pinOf(getRec(tool.id)!);
  const behind = on.filter((one) => !one.begun && one.pin.revision !== now.revision).map((one) => one.run);
  return (
    <>
      <ul class="tool-runs">
        {on.map(({ run, pin, begun }) => (
          <li key={run.id}>{t.tools.onRevision(run.survey.run.name || t.job.noName, pin.revision, begun)}</li>
        ))}
      </ul>
      {behind.length > 0 && (
        <button
          type="button"
          class="wide-button"
          onClick={() => {
            putOn(behind, now);
            say(t.tools.moved(behind.length));
            planAgain();
          }}
        >
          {t.tools.move(behind.length)}
        </button>
      )}
    </>
  );
}

function History({ tool, unit }: { tool: KeptTool; unit: Unit }) {
  const { revisions } = tool;
  return (
    <details class="more">
      <summary>{t.tools.history(revisions.length)}</summary>
      <ol class="revisions">
        {revisions.map((was, i) => (
          <li key={was.revision}>
            <strong>{t.bend.sentence(t.tools.revision(was.revision))}</strong> {since(was)}
            <Written was={was} unit={unit} />
            {i > 0 && (
              <button
                type="button"
                class="quiet-button"
                onClick={() => {
                  bringBack(tool.id, was);
                  say(t.tools.isBack(tool.called, was.revision));
                  planAgain();
                }}
              >
                <Icon name="undo" />
                {t.tools.bringBack(was.revision)}
              </button>
            )}
          </li>
        ))}
      </ol>
    </details>
  );
}

function Remove({ tool, onDone }: { tool: KeptTool; onDone: () => void }) {
  const remove = (): void => {
    const own = forNew(tool.raceway) === tool.id;
    removeTool(tool.id);
    took(tool.called, () => {
      bringBack(tool.id, tool);
      if (own) setForNew(tool.raceway, tool.id);
    });
  };
  return (
    <>
      <p>{t.tools.removeWords(runsOn(tool.id).length)}</p>
      <div class="two">
        <button type="button" class="wide-button danger" onClick={remove}>
          {t.tools.reallyRemove}
        </button>
        <button type="button" class="wide-button" onClick={onDone}>
          {t.tools.keepIt}
        </button>
      </div>
    </>
  );
}
