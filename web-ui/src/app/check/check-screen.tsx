/** Check: what was measured on the finished piece, and the least that puts it right; or new marks part way. */
import { useRef, useState } from 'preact/hooks';
import { Outline } from '../../draw/outline';
import type { BendAtBench, PieceAtBench, Plan, PlannedPiece, TweakAnswer } from '../../engine/types';
import { t } from '../../text/words';
import { numberOf } from '../../text/lengths';
import { Keypad } from '../parts/keypad';
import { useAsked } from '../parts/newest';
import { took } from '../parts/undo';
import { ask } from '../kept/ask';
import { KeepReadings } from './keep-readings';
import { PartWay } from './part-way';
import { isAngle } from './angle';
import { type Reading } from './to-record';
import { LengthField, Notice, Pick, Segments, TextField, TroubleNotice, wrongBeside, type Beside, type FieldKit } from '../parts/parts';
import { Problems, Tail } from '../parts/tail';
import { NoPlan, usePlan } from '../parts/plan';
import { lastMadeOn, madeBends } from '../bend/anew';
import { atBench } from '../bend/at-bench';
import { SaidBent } from '../bend/others';
import { calledNow, useAnew } from '../bend/use-anew';
import { copyAtHand, ofCopy } from '../kept/copies';
import { surveyed } from '../kept/job-file';
import { type KeptRun } from '../kept/state';
import { Icon } from '../parts/icons';

type Kind = 'rise' | 'off' | 'angle' | 'lean';
type Way = 'up' | 'down' | 'left' | 'right' | 'long' | 'short';
interface Entry {
  kind: Kind;
  length: string;
  degrees: string;
  way: Way;
  /** Its number; 0 where none was picked. */
  bend: number;
}
const fresh: Entry = { kind: 'rise', length: '', degrees: '', way: 'up', bend: 0 };

const degreesRight = (e: Entry): boolean => e.degrees.trim() !== '' && isAngle(e.degrees, e.kind === 'lean' ? -180 : 0);

function toReading(e: Entry): Reading | null {
  const deg = numberOf(e.degrees) ?? 0;
  if (e.kind === 'rise' || e.kind === 'off') {
    if (!e.length.trim()) return null;
    return e.kind === 'rise' ? { what: 'rise', rise: e.length, ...(e.bend ? { number: e.bend } : {}) } : { what: 'off', way: e.way, off: e.length };
  }
  if (!degreesRight(e)) return null;
  if (e.kind === 'angle') return e.bend ? { what: 'angle', number: e.bend, angle_deg: deg } : null;
  return { what: 'lean', way: e.way === 'long' || e.way === 'short' ? 'up' : e.way, lean_deg: deg };
}

export function CheckScreen({ run }: { run: KeptRun }) {
  const { answer, stale } = usePlan();
  const [picked, setMode] = useState<'finished' | 'partway' | null>(null);
  const [chosen, setChosen] = useState(0);
  const opened = useRef(0); // a bend that comes on record meanwhile does not change it
  if (!answer || stale) return <NoPlan />;
  const { pieces, digest } = answer.plan;
  const entries = ofCopy(run.entries, copyAtHand(run));
  opened.current ||= lastMadeOn(entries, digest) || 1 + Math.max(0, pieces.findIndex((p) => p.bends.length > 0));
  const number = Math.min(chosen || opened.current, pieces.length);
  const [piece, words] = [pieces[number - 1], answer.bench[number - 1]];
  if (!piece || !words) return <NoPlan />;
  const made = madeBends(entries, number, digest).size;
  const mode = picked ?? (made > 0 && made < piece.bends.length ? 'partway' : 'finished');
  return (
    <div class="check">
      <div class="pad">
        {pieces.length > 1 && (
          <Pick label={t.check.whichPiece} value={String(number)} options={pieces.map((p, i) => ({ value: String(i + 1), label: p.label }))} onPick={(v) => setChosen(Number(v))} />
        )}
        <Segments
          label={t.check.when}
          value={mode}
          options={[
            { value: 'finished', label: t.check.finished },
            { value: 'partway', label: t.check.partway },
          ]}
          onPick={setMode}
        />
      </div>
      <SaidBent here={atBench(run, answer)} piece={number} />
      {!piece.bends.length && (
        <Notice kind="info">
          <p>{t.check.noBends}</p>
        </Notice>
      )}
      {piece.bends.length > 0 && mode === 'finished' && <Finished key={number} run={run} plan={answer.plan} piece={piece} words={words} number={number} />}
      {piece.bends.length > 0 && mode === 'partway' && <PartWay key={number} run={run} plan={answer.plan} piece={piece} words={words} number={number} />}
    </div>
  );
}

interface PieceProps {
  run: KeptRun;
  piece: PlannedPiece;
  words: PieceAtBench;
  number: number;
}

/** What is measured, as it is being written; `onChange`: what was said is of other readings. */
function useEntries(onChange: () => void) {
  const [entries, setEntries] = useState<Entry[]>([fresh]);
  const change = (to: (list: Entry[]) => Entry[]): void => {
    onChange();
    setEntries(to);
  };
  const update = (i: number, part: Partial<Entry>): void => change((list) => list.map((e, j) => (j === i ? { ...e, ...part } : e)));
  const drop = (i: number): void => {
    const gone = entries[i]!;
    change((list) => list.filter((_, j) => j !== i));
    took(t.check.measured(i + 1), () => change((list) => [...list.slice(0, i), gone, ...list.slice(i)]));
  };
  const keyIn = (i: number, label: string, length: string): void => {
    const before = entries[i]!.length;
    update(i, { length });
    if (!length && before.length > 1) took(t.undo.reading(label, before), () => update(i, { length: before }));
  };
  const add = (): void => change((list) => [...list, { ...fresh, kind: 'off' }]);
  return { entries, update, drop, keyIn, add };
}

const NO_FIELD = { path: '', label: '' };

function Finished({ run, plan, piece, words, number }: PieceProps & { plan: Plan }) {
  const unit = run.survey.units;
  const anew = useAnew(run, plan, number);
  const called = words.bends.map((one, i) => ({ ...one, ...calledNow(anew, piece.bends[i]!, one) }));
  const [active, setActive] = useState(NO_FIELD);
  const [asked, setAsked] = useState(false);
  const [endRight, setEndRight] = useState(false);
  const { answer, error, changed, asking } = useAsked<TweakAnswer>();
  const { entries, update, drop, keyIn, add } = useEntries(changed);
  const more = (): void => {
    setAsked(false);
    add();
  };
  const beside = (path: string): Beside | null => {
    const e = entries[Number(path)];
    if (!e || !asked) return null;
    if (e.length.trim()) return error?.field?.startsWith(`measured[${path}].`) ? wrongBeside(error) : null;
    return { kind: 'wrong', words: t.check.enterFirst, works: t.gaps.example[unit] };
  };
  const kit: FieldKit = { unit, active: active.path, beside, open: (path, label) => setActive({ path, label }) };
  const readings = entries.map(toReading);
  /** A rise tells nothing of the far end: whoever measured it alone says whether that is right. */
  const risesAlone = entries.every((e) => e.kind === 'rise');
  const send = (): void => {
    setAsked(true);
    if (readings.some((r) => r === null) || (risesAlone && !endRight)) return;
    setActive(NO_FIELD);
    void asking(ask('tweak', { ...surveyed(run), measured: readings as Reading[], piece: number }));
  };
  const index = active.path === '' ? -1 : Number(active.path);
  return (
    <>
      {anew && (
        <Notice kind="caution">
          <p>{t.check.heldToPlan}</p>
        </Notice>
      )}
      {entries.map((e, i) => (
        <EntryCard key={i} entry={e} index={i} called={called} kit={kit} wrong={asked && !readings[i]} onChange={(p) => update(i, p)} {...(entries.length > 1 ? { onDrop: () => (setActive(NO_FIELD), drop(i)) } : {})} />
      ))}
      {risesAlone && <EndRight right={endRight} wrong={asked && !endRight} onRight={() => setEndRight(true)} onMeasure={more} />}
      <button type="button" class="quiet-button" onClick={more}>
        <Icon name="plus" />
        {t.check.more}
      </button>
      <button type="button" class="wide-button strong" onClick={send}>
        {t.check.ask}
      </button>
      <div aria-live="polite">
        {error && !/^measured\[\d+\]\.(off|rise)$/.test(error.field ?? '') && <TroubleNotice error={error} />}
        {answer && <Correction answer={answer} />}
        {(answer || error?.kind === 'limit') && <KeepReadings key={JSON.stringify(readings)} run={run} plan={plan} piece={number} readings={readings as Reading[]} correction={answer?.moves ?? []} />}
      </div>
      {index >= 0 && entries[index] && (
        <Keypad
          path={active.path}
          label={active.label}
          value={entries[index].length}
          unit={unit}
          beside={beside(active.path)}
          onValue={(v) => keyIn(index, active.label, v)}
          onNext={() => setActive(NO_FIELD)}
          onClose={() => setActive(NO_FIELD)}
        />
      )}
    </>
  );
}

/** Whether end B is where it should be; where it is not it is measured too. */
function EndRight({ right, wrong, onRight, onMeasure }: { right: boolean; wrong: boolean; onRight: () => void; onMeasure: () => void }) {
  return (
    <section class="card">
      <Segments label={t.check.endRight} value={right ? 'yes' : ''} options={(['yes', 'no'] as const).map((v) => ({ value: v, label: t.check.endWays[v] }))} onPick={(v) => (v === 'no' ? onMeasure() : onRight())} />
      {wrong && <p class="wrong">{t.check.enterFirst}</p>}
    </section>
  );
}

interface EntryProps {
  entry: Entry;
  index: number;
  called: readonly (BendAtBench & { tape: string })[];
  kit: FieldKit;
  wrong: boolean;
  onChange: (part: Partial<Entry>) => void;
  onDrop?: () => void;
}

function EntryCard({ entry, index, called, kit, wrong, onChange, onDrop }: EntryProps) {
  const numbered = called.map((b, i) => ({ value: String(i + 1), label: t.check.bendOption(b, b.tape) }));
  const bends = [{ value: '0', label: entry.kind === 'rise' ? t.check.middleBend : t.check.pickBend }, ...numbered];
  const byBend = entry.kind === 'rise' || entry.kind === 'angle';
  const byLength = entry.kind === 'rise' || entry.kind === 'off';
  const ways: Way[] = entry.kind === 'lean' ? ['up', 'down', 'left', 'right'] : ['up', 'down', 'left', 'right', 'long', 'short'];
  return (
    <section class="card">
      <header class="feature-head">
        <h2>{t.check.measured(index + 1)}</h2>
        {onDrop && (
          <button type="button" class="plain-key" onClick={onDrop} aria-label={t.check.drop(index + 1)}>
            <Icon name="bin" />
          </button>
        )}
      </header>
      <Segments label={t.check.what} value={entry.kind} options={(['rise', 'off', 'angle', 'lean'] as const).map((k) => ({ value: k, label: t.check.kinds[k] }))} onPick={(kind) => onChange({ kind })} />
      <p class="quiet">{t.check.how[entry.kind]}</p>
      {byBend && <Pick label={t.check.whichBend} value={String(entry.bend)} options={bends} onPick={(v) => onChange({ bend: Number(v) })} {...(wrong && entry.kind === 'angle' && !entry.bend ? { wrong: t.check.enterFirst } : {})} />}
      {!byBend && <Segments label={t.check.whichWay} value={entry.way} options={ways.map((w) => ({ value: w, label: t.check.ways[w] }))} onPick={(way) => onChange({ way })} />}
      {byLength ? (
        <LengthField kit={kit} path={String(index)} label={t.check.lengths[entry.kind as 'rise' | 'off']} value={entry.length} />
      ) : (
        <TextField label={t.check.degrees} decimal value={entry.degrees} onText={(degrees) => onChange({ degrees })} {...(wrong && !degreesRight(entry) ? { wrong: t.check.degreesWrong } : {})} />
      )}
    </section>
  );
}

function Correction({ answer }: { answer: TweakAnswer }) {
  return (
    <section class="card answer">
      <Problems answer={answer} />
      {answer.first && (
        <Notice kind="caution">
          <p>{answer.first}</p>
        </Notice>
      )}
      <h2>{answer.moves.length ? t.check.correction : t.check.good}</h2>
      <ol class="moves">
        {answer.moves.map((m) => (
          <li key={m.words}>
            <span>{m.words}</span>
          </li>
        ))}
      </ol>
      {answer.words.map((w) => (
        <p key={w}>{w}</p>
      ))}
      <Outline planned={answer.planned} now={answer.now} corrected={answer.corrected} />
      <Tail answer={answer} problemsAbove />
    </section>
  );
}
