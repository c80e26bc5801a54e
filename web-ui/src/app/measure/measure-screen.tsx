/** Measure: the run entered as one walks it, the sketch above following every key. */
import { useEffect, useRef, useState } from 'preact/hooks';
import { t } from '../../text/words';
import { FigureLink } from '../figure/figure-link';
import { FeatureForm } from './feature-form';
import { Icon } from '../parts/icons';
import { bringIntoView, fieldOf, Keypad } from '../parts/keypad';
import { took } from '../parts/undo';
import { useCatalogue } from '../parts/catalogue';
import { shopTools } from '../kept/tools';
import { getAt, ownPath, setAt } from '../kept/paths';
import { Alike } from '../parts/alike';
import { LengthField, Pick, Segments, TextField, TextLines, TroubleNotice, wrongBeside, type Beside, type FieldKit } from '../parts/parts';
import { Tail } from '../parts/tail';
import { edit } from '../kept/act';
import { currentSketch, useApp, type KeptRun } from '../kept/state';
import { RunSketch } from '../parts/plan';
import { FEATURE_KINDS, changeUnits, isLeg, newFeature, type FeatureKind, type Leg, type MeasuredTo, type Part, type Survey, type Turn } from '../kept/survey';

const FITTINGS = ['set-screw', 'compression', 'set-screw coupling', 'compression coupling', 'threaded', 'hub', 'socket', 'none'];

export function MeasureScreen({ run }: { run: KeptRun }) {
  const app = useApp();
  const survey = run.survey;
  const [active, setActive] = useState<{ path: string; label: string }>({ path: '', label: '' });
  const [adding, setAdding] = useState(-1);
  const [added, setAdded] = useState(() => (isUntouched(survey) ? 'run.walk[0]' : ''));
  const begun = useRef('');
  const sketch = currentSketch();
  const missing = sketch?.open ?? [];
  const wrong = sketch?.wrong ?? [];
  const refused = app.planned.state === 'refused' ? app.planned.error : null;
  const beside = (path: string): Beside | null => {
    if (missing.includes(path)) return { kind: 'open', words: t.gaps.missing };
    const told = wrong.find((w) => w.field === path) ?? (refused && ownPath(refused.field) === path ? refused : null);
    return told && wrongBeside(told);
  };
  const open = (path: string, label: string): void => {
    begun.current = getAt(survey, path);
    setActive({ path, label });
  };
  const kit: FieldKit = { unit: survey.units, active: active.path, beside, open };
  const close = (): void => {
    const path = active.path;
    setActive({ path: '', label: '' });
    requestAnimationFrame(() => fieldOf(path)?.focus({ preventScroll: true }));
  };
  const openField = (field: HTMLElement | undefined): void => {
    if (field) open(field.dataset.length ?? '', field.dataset.label ?? '');
  };
  useEffect(() => {
    if (!added) return;
    setAdded('');
    openField(seenFields().find((el) => el.dataset.length?.startsWith(added) && !el.dataset.optional));
  }, [added]);
  useEffect(() => {
    if (adding >= 0) bringIntoView(document.querySelector('.kind-list'));
  }, [adding]);
  const following = (): HTMLElement | undefined => {
    const all = seenFields();
    return all[all.findIndex((el) => el.dataset.length === active.path) + 1];
  };
  const isLast = active.path !== '' && fieldOf(active.path) !== null && !following();
  const ready = app.planned.state === 'ok';
  const next = (): void => {
    if (!isLast) openField(following());
    else if (ready) location.hash = '#/see';
    else close();
  };
  const keyIn = (text: string): void => {
    const { path, label } = active;
    const before = getAt(survey, path);
    edit((s) => setAt(s, path, text));
    const lost = begun.current || (before.length > 1 ? before : '');
    if (!text && lost) took(t.undo.reading(label, lost), () => edit((s) => setAt(s, path, lost)));
  };
  const addTo = (leg: number): void => {
    setActive({ path: '', label: '' });
    setAdding(leg);
  };
  const addTurn = (): void => {
    edit((s) => {
      const last = s.run.walk[s.run.walk.length - 1];
      if (last && isLeg(last)) last.to = 'back';
      s.run.walk.push({ turn: 'away' }, { leg: '', from: 'back', to: 'face', features: [] });
    });
    setAdded(`run.walk[${survey.run.walk.length + 1}]`);
  };
  const legOf = Number(/^run\.walk\[(\d+)\]\.leg$/.exec(active.path)?.[1] ?? -1);
  const lone = refused && !document.querySelector(`[data-length="${CSS.escape(ownPath(refused.field))}"]`);
  return (
    <div class={active.path ? 'measure with-keypad' : 'measure'}>
      <div class="sketch-stage">
        <RunSketch run={run} active={active.path} />
      </div>
      <p class="state-line" role="status">
        {missing.length ? t.measure.stillOpen(missing.length) : wrong.length || app.planned.state === 'refused' ? t.measure.cannot : app.planned.state === 'ok' ? t.measure.planned : app.engine.phase === 'ready' ? t.measure.planning : t.measure.engineComing}
        {app.planned.state === 'ok' && <a href="#/see">{t.measure.toSee}</a>}
      </p>
      {lone && refused && <TroubleNotice error={refused} />}
      {sketch && <Tail answer={sketch} />}
      <RunForm run={run} kit={kit} />
      <EndForm survey={survey} which="start" kit={kit} />
      {survey.run.walk.map((part, i) =>
        isLeg(part) ? (
          <LegForm key={i} survey={survey} leg={part} index={i} kit={kit} adding={adding === i} onAdding={(on) => (on ? addTo(i) : setAdding(-1))} onAdded={setAdded} />
        ) : (
          <TurnForm key={i} turn={part as Turn} index={i} kit={kit} />
        ),
      )}
      <button type="button" class="wide-button" onClick={addTurn}>
        <Icon name="plus" />
        {t.measure.addTurn}
      </button>
      <EndForm survey={survey} which="end" kit={kit} />
      {active.path && (
        <Keypad
          path={active.path}
          label={active.label}
          value={getAt(survey, active.path)}
          unit={survey.units}
          beside={beside(active.path) ?? (refused && wrongBeside(refused))}
          onValue={keyIn}
          onNext={next}
          onClose={close}
          {...(isLast ? { nextWords: ready ? t.measure.seeMarks : t.measure.done } : {})}
        >
          {legOf >= 0 && (
            <>
              <button type="button" class="more-key" onClick={() => addTo(legOf)}>
                <Icon name="plus" />
                {t.measure.addThing}
              </button>
              {legOf === survey.run.walk.length - 1 && (
                <button type="button" class="more-key" onClick={addTurn}>
                  <Icon name="plus" />
                  {t.measure.addTurn}
                </button>
              )}
            </>
          )}
        </Keypad>
      )}
    </div>
  );
}

/** A run of which nothing is measured yet. */
const isUntouched = ({ run: { walk } }: Survey): boolean => walk.length === 1 && walk.every((part) => isLeg(part) && !part.leg.trim() && !part.features?.length);

/** The fields of lengths that can be seen, from the top: none that is folded away. */
const seenFields = (): HTMLElement[] =>
  [...document.querySelectorAll<HTMLElement>('.measure [data-length]')].filter((el) => el.offsetParent !== null && !el.closest('details:not([open])'));

function RunForm({ run: kept, kit }: { run: KeptRun; kit: FieldKit }) {
  const { survey } = kept;
  const raceways = useCatalogue()?.raceways;
  const own = shopTools().filter((tool) => !tool.gone).map((tool) => tool.raceway);
  const names = raceways?.filter((r) => r.bender !== '' || own.includes(r.name)).map((r) => r.name) ?? ['EMT 1/2', 'EMT 3/4', 'EMT 1'];
  if (!names.includes(survey.run.raceway)) names.push(survey.run.raceway);
  return (
    <section class="card">
      <h2>{t.measure.theRun}</h2>
      <TextField
        label={t.measure.runName}
        value={survey.run.name}
        onText={(v) => edit((s) => (s.run.name = v))}
        {...(kit.beside('run.name') ? { wrong: t.gaps.name } : {})}
      />
      <Pick label={t.measure.raceway} value={survey.run.raceway} options={names.map((n) => ({ value: n, label: n }))} onPick={(v) => edit((s) => (s.run.raceway = v))} />
      <Segments
        label={t.measure.units}
        value={survey.units}
        options={[
          { value: 'in', label: t.measure.inches },
          { value: 'mm', label: t.measure.millimetres },
        ]}
        onPick={(v) => edit((s) => changeUnits(s, v))}
      />
      <details class="more">
        <summary>{t.measure.more}</summary>
        <LengthField kit={kit} path="run.clearance" label={t.measure.clearance} value={survey.run.clearance ?? ''} optional />
        <LengthField kit={kit} path="run.stand_off" label={t.measure.standOff} value={survey.run.stand_off ?? ''} optional />
        <Segments
          label={t.measure.cut}
          value={survey.run.cut ?? 'before'}
          options={[
            { value: 'before', label: t.measure.cutBefore },
            { value: 'after', label: t.measure.cutAfter },
          ]}
          onPick={(v) => edit((s) => (s.run.cut = v))}
        />
        <Alike run={kept} />
        <Wires survey={survey} />
      </details>
    </section>
  );
}

/** What is to be pulled through it, a line for each; and where it is worked out. */
function Wires({ survey }: { survey: Survey }) {
  return (
    <>
      <TextLines label={t.measure.wires} help={t.measure.wiresHelp} lines={survey.run.wires ?? []} onLines={setWires} />
      <FigureLink />
    </>
  );
}

const setWires = (lines: string[]): void =>
  edit((s) => {
    if (lines.length) s.run.wires = lines;
    else delete s.run.wires;
  });

function EndForm({ survey, which, kit }: { survey: Survey; which: 'start' | 'end'; kit: FieldKit }) {
  const end = survey.run[which] ?? {};
  const fittings = useCatalogue()?.end_fittings ?? FITTINGS;
  const set = (name: 'name' | 'fitting', value: string): void =>
    edit((s) => {
      s.run[which] = { ...s.run[which], [name]: value };
    });
  return (
    <section class="card end-card">
      <h2>
        <span class="end-letter" aria-hidden="true">
          {which === 'start' ? 'A' : 'B'}
        </span>
        {which === 'start' ? t.measure.startsAt : t.measure.endsAt}
      </h2>
      <TextField label={t.measure.called} value={end.name ?? ''} onText={(v) => set('name', v)} />
      <Pick label={t.measure.fitting} value={end.fitting ?? 'set-screw'} options={[...new Set([...fittings, end.fitting ?? 'set-screw'])].map((f) => ({ value: f, label: t.fittings[f] ?? f }))} onPick={(v) => set('fitting', v)} />
      <details class="more">
        <summary>{t.measure.more}</summary>
        <LengthField kit={kit} path={`run.${which}.height`} label={t.measure.knockout} value={end.height ?? ''} optional />
        <LengthField kit={kit} path={`run.${which}.insertion`} label={t.measure.insertion} value={end.insertion ?? ''} optional />
      </details>
    </section>
  );
}

const ways = (atEnd: boolean): MeasuredTo[] => (atEnd ? ['face', 'stop'] : ['back', 'centre', 'inside', 'wall', 'edge']);

interface LegProps {
  survey: Survey;
  leg: Leg;
  index: number;
  kit: FieldKit;
  adding: boolean;
  onAdding: (on: boolean) => void;
  /** a thing stands on the leg from now on, its fields under this path */
  onAdded: (path: string) => void;
}

function LegForm({ survey, leg, index, kit, adding, onAdding, onAdded }: LegProps) {
  const base = `run.walk[${index}]`;
  const [first, last] = [index === 0, index === survey.run.walk.length - 1];
  const pick = (name: 'from' | 'to', value: string): void =>
    edit((s) => {
      (s.run.walk[index] as Leg)[name] = value as MeasuredTo;
    });
  const add = (kind: FeatureKind): void => {
    onAdding(false);
    edit((s) => {
      const part = s.run.walk[index] as Leg;
      part.features = [...(part.features ?? []), newFeature[kind]()];
    });
    onAdded(`${base}.features[${leg.features?.length ?? 0}]`);
  };
  return (
    <section class="card leg-card">
      <h2>{t.measure.leg(index / 2 + 1)}</h2>
      <LengthField kit={kit} path={`${base}.leg`} label={t.measure.legLength} value={leg.leg} />
      <div class="two">
        <Pick label={t.measure.from} value={leg.from ?? (first ? 'face' : 'back')} options={ways(first).map((w) => ({ value: w, label: t.measuredTo[w] }))} onPick={(v) => pick('from', v)} />
        <Pick label={t.measure.to} value={leg.to ?? (last ? 'face' : 'back')} options={ways(last).map((w) => ({ value: w, label: t.measuredTo[w] }))} onPick={(v) => pick('to', v)} />
      </div>
      {(leg.features ?? []).map((feature, j) => (
        <FeatureForm key={j} survey={survey} feature={feature} base={`${base}.features[${j}]`} leg={index} index={j} kit={kit} />
      ))}
      {adding ? (
        <div class="kind-list" role="group" aria-label={t.measure.whatMet}>
          {FEATURE_KINDS.map((kind) => (
            <button key={kind} type="button" class="kind-button" onClick={() => add(kind)}>
              <b>{t.kinds[kind]}</b>
              <span>{t.kindHelp[kind]}</span>
            </button>
          ))}
          <button type="button" class="quiet-button" onClick={() => onAdding(false)}>
            {t.measure.never}
          </button>
        </div>
      ) : (
        <button type="button" class="wide-button" onClick={() => onAdding(true)}>
          <Icon name="plus" />
          {t.measure.addThing}
        </button>
      )}
    </section>
  );
}

function TurnForm({ turn, index, kit }: { turn: Turn; index: number; kit: FieldKit }) {
  const base = `run.walk[${index}]`;
  const drop = (): void => {
    let gone: Part[] = [];
    let ended: Leg['to'];
    edit((s) => {
      gone = s.run.walk.splice(index, 2);
      const end = s.run.walk[s.run.walk.length - 1];
      if (!end || !isLeg(end)) return;
      ended = end.to;
      end.to = 'face';
    });
    took(t.undo.turn((index + 1) / 2), () =>
      edit((s) => {
        const end = s.run.walk[s.run.walk.length - 1];
        if (end && isLeg(end)) {
          if (ended === undefined) delete end.to;
          else end.to = ended;
        }
        s.run.walk.splice(index, 0, ...gone);
      }),
    );
  };
  return (
    <section class="card turn-card">
      <header class="feature-head">
        <h2>{t.measure.turn((index + 1) / 2)}</h2>
        <button type="button" class="plain-key" onClick={drop} aria-label={t.measure.removeTurn((index + 1) / 2)}>
          <Icon name="bin" />
        </button>
      </header>
      <Segments
        label={t.measure.turnWay}
        value={turn.turn}
        options={(['away', 'left', 'right', 'toward'] as const).map((v) => ({ value: v, label: t.turns[v] }))}
        onPick={(v) => edit((s) => ((s.run.walk[index] as Turn).turn = v))}
      />
      <LengthField kit={kit} path={`${base}.gap`} label={t.measure.gap} value={turn.gap ?? ''} optional />
      <TextField label={t.measure.turnAngle} decimal value={turn.angle ?? '90'} onText={(v) => edit((s) => ((s.run.walk[index] as Turn).angle = v))} />
    </section>
  );
}

