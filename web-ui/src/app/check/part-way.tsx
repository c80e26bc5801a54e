/** Check, part way: what the bends made so far really are, new marks for the rest, and keeping them. */
import { useState } from 'preact/hooks';
import type { Made, PieceAtBench, Plan, PlannedPiece, RemarkAnswer, Trouble } from '../../engine/types';
import { numberOf } from '../../text/lengths';
import { t } from '../../text/words';
import { angleKept, isBentBy, keptBefore, recordOf, soFar, toldWith, type Kept } from '../bend/anew';
import { KeptFrom } from '../bend/anew-step';
import { useAnew } from '../bend/use-anew';
import { note, takeBack } from '../kept/act';
import { ask } from '../kept/ask';
import { copyAtHand, ofCopy } from '../kept/copies';
import { say, type KeptRun } from '../kept/state';
import type { SeenEntry } from '../kept/view';
import { forEngine } from '../kept/survey';
import { Keypad } from '../parts/keypad';
import { LengthField, Notice, Pick, TextField, TroubleNotice, wrongBeside, type Beside, type FieldKit } from '../parts/parts';
import { took } from '../parts/undo';
import { shortly } from '../parts/when';
import { isAngle } from './angle';
import { NewMarks } from './new-marks';

interface Props {
  run: KeptRun;
  plan: Plan;
  piece: PlannedPiece;
  words: PieceAtBench;
  number: number;
}

/** What holds now, and the way back to the marks before, as long as nothing is bent by them. */
function KeptNow({ kept, entries, marks }: { kept: Kept; entries: readonly SeenEntry[]; marks: string }) {
  const before = keptBefore(kept, entries, marks);
  const isBent = isBentBy(kept, entries, marks);
  const drop = (): void => {
    const bends = toldWith(kept, entries, marks);
    took(t.check.theseMarks(before !== null), takeBack(kept, bends.length ? { kind: 'made', bends } : undefined));
  };
  return (
    <Notice kind="info" title={t.check.newHold}>
      <KeptFrom kept={kept} />
      {kept.mine && isBent && <p>{t.check.bentByThem}</p>}
      {kept.mine && !isBent && (
        <button type="button" class="quiet-button" onClick={drop}>
          {before ? t.check.dropToBefore(before.by, shortly(Date.parse(before.at))) : t.check.dropMarks}
        </button>
      )}
    </Notice>
  );
}

function KeepMarks({ run, plan, piece, made, answer, again }: { run: KeptRun; plan: Plan; piece: number; made: Made; answer: RemarkAnswer; again: boolean }) {
  const [kept, setKept] = useState<RemarkAnswer | null>(null);
  const copy = copyAtHand(run);
  const keep = (): void => {
    note(run, made, { piece, copy, pins: { run: run.revision, tool: plan.bender?.name ?? '', marks: plan.digest } });
    setKept(answer);
    say(t.check.isKept);
  };
  if (kept === answer) return <Notice kind="good"><p>{t.check.marksKept}</p></Notice>;
  return (
    <>
      <Notice kind="caution"><p>{t.check.notYet(again)}</p></Notice>
      {copy && <p>{t.job.ofCopy(copy, run.times)}</p>}
      <button type="button" class="wide-button strong" onClick={keep}>
        {t.check.keepMarks}
      </button>
    </>
  );
}

export function PartWay({ run, plan, piece, words, number }: Props) {
  const entries = ofCopy(run.entries, copyAtHand(run));
  const anew = useAnew(run, plan, number);
  const planned = [...piece.bends].sort((a, b) => a.order - b.order).map((b) => b.number);
  const [chosen, setChosen] = useState(0);
  const { inOrder, least, most, made } = soFar(planned, entries, number, plan.digest, chosen);
  const bends = inOrder.map((n) => ({ ...piece.bends[n - 1]!, words: words.bends[n - 1]! }));
  const options = bends.slice(least - 1, most);
  const [angles, setAngles] = useState<Record<number, string>>({});
  const [inHand, setInHand] = useState('');
  const [typing, setTyping] = useState(false);
  const [answer, setAnswer] = useState<RemarkAnswer | null>(null);
  const [error, setError] = useState<Trouble | null>(null);
  const clear = (): void => {
    setAnswer(null);
    setError(null);
  };
  const keyIn = (text: string): void => {
    setInHand(text);
    clear();
    if (!text && inHand.length > 1) took(t.undo.reading(t.check.inHand, inHand), () => { setInHand(inHand); clear(); });
  };
  const bent = bends.slice(0, made);
  const empty = (b: (typeof bends)[number]): string => {
    const kept = angleKept(b.number, entries, number, plan.digest);
    return kept ? t.check.asKept(kept.deg, kept.isAnew) : t.check.asPlanned(b.words.leaves);
  };
  const bad = (n: number): boolean => !isAngle(angles[n]?.trim() || '0');
  const beside = (): Beside | null => (error?.field === 'stock' ? wrongBeside(error) : null);
  const kit: FieldKit = { unit: run.survey.units, active: typing ? 'stock' : '', beside, open: () => setTyping(true) };
  const send = async (): Promise<void> => {
    setTyping(false);
    const list = bent.map((b) => ({ number: b.number, ...(angles[b.number]?.trim() ? { angle_deg: numberOf(angles[b.number]!) ?? 0 } : {}) }));
    const reply = await ask('remark', { survey: forEngine(run.survey), made: list, record: recordOf(entries, number, plan.digest), piece: number, ...(inHand.trim() ? { stock: inHand } : {}) });
    setAnswer(reply.ok ? reply.answer : null);
    setError(reply.ok ? null : reply.error);
  };
  if (piece.bends.length < 2) return <Notice kind="info"><p>{t.check.oneBend}</p></Notice>;
  return (
    <section class="card">
      <h2>{t.check.partTitle}</h2>
      <p>{t.check.partWords}</p>
      <p class="quiet small">{t.check.anglesOnly}</p>
      {anew && <KeptNow kept={anew.kept} entries={entries} marks={plan.digest} />}
      <Pick label={t.check.madeSoFar} value={String(made)} options={options.map((b, i) => ({ value: String(least + i), label: t.check.madeOption(b.words, b.mark_tape) }))} onPick={(v) => { setChosen(Number(v)); clear(); }} />
      {bent.map((b) => (
        <TextField key={b.number} label={t.check.realAngle(b.words, b.mark_tape)} decimal value={angles[b.number] ?? ''} onText={(v) => { setAngles({ ...angles, [b.number]: v }); clear(); }} {...(bad(b.number) ? { wrong: t.check.degreesWrong } : { help: empty(b) })} />
      ))}
      <LengthField kit={kit} path="stock" label={t.check.inHand} help={t.check.inHandHelp} value={inHand} optional />
      <button type="button" class="wide-button strong" disabled={bent.some((b) => bad(b.number))} onClick={() => void send()}>
        {t.check.askMarks}
      </button>
      <div aria-live="polite">
        {error && error.field !== 'stock' && <TroubleNotice error={error} />}
        {answer && <NewMarks answer={answer} />}
        {answer?.keep && <KeepMarks run={run} plan={plan} piece={number} made={answer.keep} answer={answer} again={anew !== null} />}
      </div>
      {typing && (
        <Keypad
          path="stock"
          label={t.check.inHand}
          value={inHand}
          unit={run.survey.units}
          beside={beside()}
          onValue={keyIn}
          onNext={() => setTyping(false)}
          onClose={() => setTyping(false)}
        />
      )}
    </section>
  );
}
