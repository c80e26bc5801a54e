/** Measure: the run entered as one walks it, the sketch above following every key. */
import { t } from '../../text/words';
import { FigureLink } from '../figure/figure-link';
import { useEntering, type Entering } from './entering';
import { FeatureForm } from './feature-form';
import { Icon } from '../parts/icons';
import { Keypad } from '../parts/keypad';
import { took } from '../parts/undo';
import { useCatalogue } from '../parts/catalogue';
import { getAt, ownPath } from '../kept/paths';
import { Alike } from '../parts/alike';
import { LengthField, Pick, Segments, TextField, TextLines, TroubleNotice, wrongBeside, type Beside, type FieldKit } from '../parts/parts';
import { Tail } from '../parts/tail';
import { edit } from '../kept/act';
import { currentSketch, useApp, type KeptRun } from '../kept/state';
import { RunSketch } from '../parts/plan';
import { FEATURE_KINDS, changeUnits, isLeg, newFeature, type FeatureKind, type Leg, type MeasuredTo, type Part, type Survey, type Turn } from '../kept/survey';

const FITTINGS = ['set-screw', 'compression', 'set-screw coupling', 'compression coupling', 'threaded', 'hub', 'socket', 'none'];

export function MeasureScreen({ run }: { run: KeptRun }) {
  const { planned } = useApp();
  const survey = run.survey;
  const entering = useEntering(survey);
  const { active, adding } = entering;
  const sketch = currentSketch();
  const refused = planned.state === 'refused' ? planned.error : null;
  const beside = (path: string): Beside | null => {
    if (sketch?.open.includes(path)) return { kind: 'open', words: t.gaps.missing };
    const told = sketch?.wrong.find((w) => w.field === path) ?? (refused && ownPath(refused.field) === path ? refused : null);
    return told && wrongBeside(told);
  };
  const kit: FieldKit = { unit: survey.units, active: active.path, beside, open: entering.open };
  const lone = refused && !document.querySelector(`[data-length="${CSS.escape(ownPath(refused.field))}"]`);
  return (
    <div class={active.path ? 'measure with-keypad' : 'measure'}>
      <div class="sketch-stage">
        <RunSketch run={run} active={active.path} />
      </div>
      <StateLine />
      {lone && refused && <TroubleNotice error={refused} />}
      {sketch && <Tail answer={sketch} />}
      <RunForm run={run} kit={kit} />
      <EndForm survey={survey} which="start" kit={kit} />
      {survey.run.walk.map((part, i) =>
        isLeg(part) ? (
          <LegForm key={i} survey={survey} leg={part} index={i} kit={kit} adding={adding === i} onAdding={(on) => (on ? entering.addTo(i) : entering.setAdding(-1))} onAdded={entering.setAdded} />
        ) : (
          <TurnForm key={i} turn={part as Turn} index={i} kit={kit} />
        ),
      )}
      <button type="button" class="wide-button" onClick={entering.addTurn}>
        <Icon name="plus" />
        {t.measure.addTurn}
      </button>
      <EndForm survey={survey} which="end" kit={kit} />
      {active.path && <Keys survey={survey} entering={entering} beside={beside(active.path) ?? (refused && wrongBeside(refused))} />}
    </div>
  );
}

/** How far the readings are from a plan. */
function StateLine() {
  const { planned, engine } = useApp();
  const { open = [], wrong = [] } = currentSketch() ?? {};
  const words = (): string => {
    if (open.length) return t.measure.stillOpen(open.length);
    if (wrong.length || planned.state === 'refused') return t.measure.cannot;
    if (planned.state === 'ok') return t.measure.planned;
    return engine.phase === 'ready' ? t.measure.planning : t.measure.engineComing;
  };
  return (
    <p class="state-line" role="status">
      {words()}
      {planned.state === 'ok' && <a href="#/see">{t.measure.toSee}</a>}
    </p>
  );
}

/** The keypad on the field that is open, with what can follow the reading of a leg. */
function Keys({ survey, entering, beside }: { survey: Survey; entering: Entering; beside: Beside | null }) {
  const { active, isLast } = entering;
  const ready = useApp().planned.state === 'ok';
  const next = (): void => {
    if (!isLast) entering.next();
    else if (ready) location.hash = '#/see';
    else entering.close();
  };
  const leg = Number(/^run\.walk\[(\d+)\]\.leg$/.exec(active.path)?.[1] ?? -1);
  return (
    <Keypad
      path={active.path}
      label={active.label}
      value={getAt(survey, active.path)}
      unit={survey.units}
      beside={beside}
      onValue={entering.keyIn}
      onNext={next}
      onClose={entering.close}
      {...(isLast ? { nextWords: ready ? t.measure.seeMarks : t.measure.done } : {})}
    >
      {leg >= 0 && (
        <>
          <button type="button" class="more-key" onClick={() => entering.addTo(leg)}>
            <Icon name="plus" />
            {t.measure.addThing}
          </button>
          {leg === survey.run.walk.length - 1 && (
            <button type="button" class="more-key" onClick={entering.addTurn}>
              <Icon name="plus" />
              {t.measure.addTurn}
            </button>
          )}
        </>
      )}
    </Keypad>
  );
}

function RunForm({ run: kept, kit }: { run: KeptRun; kit: FieldKit }) {
  const { survey } = kept;
  const raceways = useCatalogue()?.raceways;
  const names = raceways?.map((r) => r.name) ?? ['EMT 1/2', 'EMT 3/4', 'EMT 1'];
  if (!names.includes(survey.run.raceway)) names.push(survey.run.raceway);
  const { bend_radius: radius = '' } = survey.run;
  const noShoe = raceways?.find((r) => r.name === survey.run.raceway)?.bender === '';
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
      {(noShoe || radius) && <LengthField kit={kit} path="run.bend_radius" label={t.measure.bendRadius} help={t.measure.bendRadiusHelp} value={radius} optional />}
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

