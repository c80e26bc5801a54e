/** A finished piece of a problem: what tape and level say, and the marks that it gets by the teacher's rules. */
import { useEffect, useState } from 'preact/hooks';
import type { CheckGraded, GradeAnswer, Problem, Scheme, Trouble, WrittenSurvey } from '../../engine/types';
import { t } from '../../text/words';
import { ask } from '../kept/ask';
import { say, useApp } from '../kept/state';
import { Keypad } from '../parts/keypad';
import { useNewest } from '../parts/newest';
import { once } from '../parts/once';
import { LengthField, Notice, Pick, Segments, TextField, TroubleNotice, type Beside } from '../parts/parts';
import { Tail } from '../parts/tail';
import { benchNow, classNow, keepBench, keepClass, rulesNow } from './class-kept';
import { numberIn, problemName, schemeOf, withResult, type Unit } from './class-list';

/** The field of the sheet that is keyed into, '' for none: one keypad for all its problems. */
export interface Keyed {
  field: string;
  onField: (field: string) => void;
}

interface Props extends Keyed {
  problem: Problem;
  survey: WrittenSurvey;
  seed: number;
  raceway: string;
  units: Unit;
}

/** The piece graded by the rules that hold, and its form; what was graded is none any more once something of it is changed. */
function useGrade(problem: Problem, survey: WrittenSurvey, rules: Scheme) {
  /** What is measured on the piece, by the engine's last answer. */
  const [form, setForm] = useState<GradeAnswer | null>(null);
  /** The piece graded, as it was read last, and by which rules; null: something of it was changed since. */
  const [graded, setGraded] = useState<{ answer: GradeAnswer; by: Scheme } | null>(null);
  const answer = graded && JSON.stringify(graded.by) === JSON.stringify(rules) ? graded.answer : null;
  const turn = useNewest();
  const [error, setError] = useState<Trouble | null>(null);
  const changed = (): void => {
    turn();
    setGraded(null);
    setError(null);
  };
  const grade = async (now: Readonly<Record<string, string>>, took: string): Promise<GradeAnswer | null> => {
    const isNewest = turn();
    const readings = Object.entries(now).filter(([, text]) => text.trim()).map(([key, text]) => ({ key, reads: text }));
    const time = took.trim() && !Number.isNaN(numberIn(took)) ? { minutes: numberIn(took) } : {};
    const reply = await ask('practice_grade', { survey, readings, scheme: rules, before_leans: benchNow()?.before_leans?.includes(String(problem.number)) ?? false, ...time });
    if (reply.ok) setForm(reply.answer);
    if (!isNewest()) return null;
    setError(reply.ok ? null : reply.error);
    setGraded(reply.ok ? { answer: reply.answer, by: rules } : null);
    return reply.ok ? reply.answer : null;
  };
  useEffect(() => {
    void grade({}, '');
  }, []);
  return { form, answer, error, changed, grade };
}

export function GradeCard({ problem, survey, seed, raceway, units, field, onField }: Props) {
  useApp();
  const rules = schemeOf(rulesNow());
  const { form, answer, error, changed, grade } = useGrade(problem, survey, rules);
  const [reads, setReads] = useState<Readonly<Record<string, string>>>(benchNow()?.reads[problem.number] ?? {});
  const [begun, setBegun] = useState(0);
  const [minutes, setMinutes] = useState('');
  const [asked, setAsked] = useState(false);
  const { people } = classNow();
  const [picked, setPerson] = useState('');
  const person = people.includes(picked) ? picked : (people[0] ?? ''); // the card may be older than the first name
  const read = (key: string, text: string): void => {
    const now = { ...reads, [key]: text };
    setReads(now);
    changed();
    const bench = benchNow();
    if (bench) keepBench({ ...bench, reads: { ...bench.reads, [problem.number]: now } });
  };
  const stop = (): string => {
    if (!begun) return minutes;
    const took = ((Date.now() - begun) / 60_000).toFixed(1);
    setBegun(0);
    setMinutes(took);
    return took;
  };
  const finish = async (): Promise<void> => {
    onField('');
    setAsked(true);
    const given = await grade(reads, stop());
    if (given?.graded) say(given.words);
  };
  const keep = (): void => {
    if (!answer) return;
    const at = new Date().toISOString().slice(0, 16).replace('T', ' ');
    keepClass(withResult(classNow(), { person, problem: problemName(seed, problem, raceway, units), points: answer.points, full: answer.full, passed: answer.passed, whole: answer.whole, without_leans: answer.without_leans, scheme: rules, at }));
    say(t.practice.kept(person));
  };
  const wrongAt = error ? Object.entries(reads).filter(([, text]) => text.trim())[placeOf(error.field)]?.[0] : undefined;
  return (
    <div class="grade">
      <h4>{t.practice.gradeTitle}</h4>
      <p class="quiet small">{t.practice.gradeWords}</p>
      {form?.how && <p class="quiet small">{form.how}</p>}
      <Checks checks={form?.checks ?? []} of={problem.number} reads={reads} onRead={read} wrongAt={wrongAt} error={error} field={field} onField={onField} />
      <TextField label={t.practice.minutes} decimal value={minutes} onText={(text) => { setMinutes(text); changed(); }} help={begun ? t.practice.running : ''} />
      {!begun && (
        <button type="button" class="quiet-button" onClick={() => setBegun(Date.now())}>
          {t.practice.start}
        </button>
      )}
      <button type="button" class="wide-button strong" onClick={() => void finish()}>
        {t.practice.grade}
      </button>
      {error && !wrongAt && <TroubleNotice error={error} />}
      {asked && answer && !answer.graded && !error && (
        <Notice kind="caution">
          <p role="status">{t.practice.nothingRead(answer.checks.map(({ words }) => words))}</p>
        </Notice>
      )}
      {answer?.graded && !error && (
        <>
          <Graded answer={answer} />
          {people.length > 0 && (
            <>
              <Pick label={t.practice.whose} value={person} options={people.map((one) => ({ value: one, label: one }))} onPick={setPerson} />
              <button type="button" class="wide-button" onClick={(e) => void once(e, keep)}>
                {answer.whole ? t.practice.keepResult : t.practice.keepPart}
              </button>
            </>
          )}
        </>
      )}
    </div>
  );
}

interface ChecksProps extends Keyed {
  checks: readonly CheckGraded[];
  /** the problem's number */
  of: number;
  reads: Readonly<Record<string, string>>;
  onRead: (key: string, text: string) => void;
  wrongAt: string | undefined;
  error: Trouble | null;
}

/** What is measured on the piece: lengths by the keypad. */
function Checks({ checks, of, reads, onRead, wrongAt, error, field, onField }: ChecksProps) {
  const pathOf = (check: CheckGraded): string => `${of} ${check.key}`;
  const lengths = checks.filter(isLength);
  const keyed = lengths.find((check) => pathOf(check) === field);
  const wrong = (check: CheckGraded): string => (wrongAt === check.key && error ? error.message.replace(error.field, label(check)) : '');
  const beside = (path: string): Beside | null => {
    const words = lengths.filter((check) => pathOf(check) === path).map(wrong).join('');
    return words ? { kind: 'wrong', words } : null;
  };
  const onNext = (): void => {
    const following = keyed && lengths[lengths.indexOf(keyed) + 1];
    onField(following ? pathOf(following) : '');
  };
  return (
    <>
      {checks.map((check) => {
        const { key } = check;
        const value = reads[key] ?? '';
        if (check.kind === 'side') return <Segments key={key} label={label(check)} value={value} options={[{ value: 'yes', label: t.practice.yes }, { value: 'no', label: t.practice.no }]} onPick={(side) => onRead(key, side)} />;
        if (isLength(check)) return <LengthField key={key} kit={{ unit: check.unit, active: field, beside, open: onField }} path={pathOf(check)} label={label(check)} value={value} />;
        return <TextField key={key} label={label(check)} decimal value={value} onText={(text) => onRead(key, text)} {...(wrong(check) ? { wrong: wrong(check) } : {})} />;
      })}
      {keyed && (
        <Keypad path={field} label={label(keyed)} value={reads[keyed.key] ?? ''} unit={keyed.unit} beside={beside(field)} onValue={(text) => onRead(keyed.key, text)} onNext={onNext} onClose={() => onField('')} />
      )}
    </>
  );
}

const isLength = (check: CheckGraded): check is CheckGraded & { unit: Unit } => check.unit === 'in' || check.unit === 'mm';

/** Which reading an error is about; -1: none. */
const placeOf = (field: string): number => Number(/readings\[(\d+)\]/.exec(field)?.[1] ?? -1);

const label = (check: CheckGraded): string => t.bend.sentence(check.words) + { deg: ', °', yes: '' , in: ', in', mm: ', mm' }[check.unit];

function Graded({ answer }: { answer: GradeAnswer }) {
  return (
    <div class="answer">
      <Notice kind={answer.passed ? 'good' : 'caution'} title={answer.words}>
        {answer.time_words && (
          <p>
            {answer.time_words} {answer.time_deduction > 0 && t.practice.less(answer.time_deduction)}
          </p>
        )}
      </Notice>
      <ul class="limits">
        {answer.checks.map((check) => (
          <li key={check.key} class={check.off ? 'near' : ''}>
            <span>{t.bend.sentence(check.words)}</span>
            <span>
              {check.measured ? t.practice.readFor(check.measured, check.wanted) : t.practice.notMeasured}
              {check.off && (
                <b class="near-words">
                  {check.off}: {t.practice.less(check.deduction)}
                </b>
              )}
              {check.counted_at && <small>{t.practice.countedAt(check.counted_at)}</small>}
              {check.cause && <small>{t.practice.likely(check.cause)}</small>}
            </span>
          </li>
        ))}
      </ul>
      {answer.causes.length > 0 && (
        <>
          <h4>{t.practice.causes}</h4>
          <ul>
            {answer.causes.map((cause) => (
              <li key={cause}>{t.bend.sentence(cause)}.</li>
            ))}
          </ul>
        </>
      )}
      <Tail answer={answer} />
    </div>
  );
}
