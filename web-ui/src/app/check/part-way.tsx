/** Check, part way: what the bends made so far really are, new marks for the rest, and keeping them. */
import { useState } from 'preact/hooks';
import type { Made, PieceAtBench, Plan, PlannedPiece, RemarkAnswer } from '../../engine/types';
import { t } from '../../text/words';
import { angleKept, firstOf, isBentBy, keptBefore, recordOf, soFar, toldWith, type Kept } from '../bend/anew';
import { KeptFrom } from '../bend/anew-step';
import { calledNow, useAnew } from '../bend/use-anew';
import { note, takeBack } from '../kept/act';
import { ask } from '../kept/ask';
import { copyAtHand, ofCopy } from '../kept/copies';
import { surveyed } from '../kept/job-file';
import { say, type KeptRun } from '../kept/state';
import type { SeenEntry } from '../kept/view';
import { Keypad } from '../parts/keypad';
import { useAsked } from '../parts/newest';
import { once } from '../parts/once';
import { LengthField, Notice, Pick, TroubleNotice, wrongBeside, type Beside, type FieldKit } from '../parts/parts';
import { took } from '../parts/undo';
import { shortly } from '../parts/when';
import { BendRead, isWrong, toReading, unread, type Read } from './bend-read';
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
  const [asked, setAsked] = useState(false);
  const open = firstOf(kept, entries, kept.entry.piece ?? 1, marks).flatMap(({ before: step, number, done }) => (step && !done ? t.check.beforeName[step.kind](number) : []));
  const drop = (): void => {
    if (open.length && !asked) return setAsked(true);
    const bends = toldWith(kept, entries, marks);
    took(t.check.theseMarks(before !== null), takeBack(kept, bends.length ? { kind: 'made', bends } : undefined));
  };
  return (
    <Notice kind="info" title={t.check.newHold}>
      <KeptFrom kept={kept} />
      {kept.mine && isBent && <p>{t.check.bentByThem}</p>}
      {asked && <p class="wrong">{t.check.isItDone(open)}</p>}
      {asked && <a class="wide-button" href="#/bend">{t.see.toBend}</a>}
      {kept.mine && !isBent && (
        <button type="button" class="quiet-button" onClick={drop}>
          {asked && `${t.check.notDone}: `}
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
      <button type="button" class="wide-button strong" onClick={(e) => void once(e, keep)}>
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
  const bends = inOrder.map((n) => ({ number: n, leaves: words.bends[n - 1]!.leaves, ...calledNow(anew, piece.bends[n - 1]!, words.bends[n - 1]!) }));
  const options = bends.slice(least - 1, most);
  const [reads, setReads] = useState<Record<number, Read>>({});
  const [inHand, setInHand] = useState('');
  const [typing, setTyping] = useState({ path: '', label: '' });
  const { answer, error, changed, asking } = useAsked<RemarkAnswer>();
  const readOf = (n: number): Read => reads[n] ?? unread;
  const read = (n: number, part: Partial<Read>): void => {
    setReads((now) => ({ ...now, [n]: { ...(now[n] ?? unread), ...part } }));
    changed();
  };
  /** What the keypad fills: the conduit in hand, or the place of a bend. */
  const typed = typing.path === 'stock' ? inHand : readOf(Number(typing.path)).place;
  const fill = (path: string, text: string): void => {
    if (path !== 'stock') return read(Number(path), { place: text });
    setInHand(text);
    changed();
  };
  const keyIn = (text: string): void => {
    const { path, label } = typing;
    const before = typed;
    fill(path, text);
    if (!text && before.length > 1) took(t.undo.reading(label, before), () => fill(path, before));
  };
  const close = (): void => setTyping({ path: '', label: '' });
  const bent = bends.slice(0, made);
  const empty = (b: (typeof bends)[number]): string => {
    const kept = angleKept(b.number, entries, number, plan.digest);
    return kept ? t.check.asKept(kept.deg, kept.isAnew) : t.check.asPlanned(b.leaves);
  };
  /** The field that is wrong, of those that the keypad fills: '' for none of them. */
  const place = /^made\[(\d+)\]\.(?:mark|start)$/.exec(error?.field ?? '');
  const wrongAt = error?.field === 'stock' ? 'stock' : String(place ? (bent[Number(place[1])]?.number ?? '') : '');
  const beside = (path: string): Beside | null => (error && path !== '' && path === wrongAt ? wrongBeside(error) : null);
  const kit: FieldKit = { unit: run.survey.units, active: typing.path, beside, open: (path, label) => setTyping({ path, label }) };
  const send = (): void => {
    close();
    const list = bent.map((b) => toReading(b.number, readOf(b.number)));
    void asking(ask('remark', { ...surveyed(run), made: list, record: recordOf(entries, number, plan.digest), piece: number, ...(inHand.trim() ? { stock: inHand } : {}) }));
  };
  if (piece.bends.length < 2) return <Notice kind="info"><p>{t.check.oneBend}</p></Notice>;
  return (
    <section class="card">
      <h2>{t.check.partTitle}</h2>
      <p>{t.check.partWords}</p>
      {anew?.kept && <KeptNow kept={anew.kept} entries={entries} marks={plan.digest} />}
      <Pick label={t.check.madeSoFar} value={String(made)} options={options.map((b, i) => ({ value: String(least + i), label: t.check.madeOption(b.name, b.tape) }))} onPick={(v) => { setChosen(Number(v)); changed(); }} />
      {bent.map((b) => (
        <BendRead key={b.number} name={b.name} tape={b.tape} path={String(b.number)} kit={kit} read={readOf(b.number)} empty={empty(b)} onChange={(part) => read(b.number, part)} />
      ))}
      <LengthField kit={kit} path="stock" label={t.check.inHand} help={t.check.inHandHelp} value={inHand} optional />
      <button type="button" class="wide-button strong" disabled={bent.some((b) => isWrong(readOf(b.number)))} onClick={send}>
        {t.check.askMarks}
      </button>
      <div aria-live="polite">
        {error && !wrongAt && <TroubleNotice error={error} />}
        {answer && <NewMarks answer={answer} />}
        {answer?.keep && <KeepMarks run={run} plan={plan} piece={number} made={answer.keep} answer={answer} again={!!anew?.kept} />}
      </div>
      {typing.path && <Keypad path={typing.path} label={typing.label} value={typed} unit={run.survey.units} beside={beside(typing.path)} onValue={keyIn} onNext={close} onClose={close} />}
    </section>
  );
}
