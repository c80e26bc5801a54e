/** Practice: problems from a seed with worked answers, on the screen or as a sheet with its key. */
import { useEffect, useState } from 'preact/hooks';
import type { Lesson, PracticeSheet, Problem, Trouble, WrittenSurvey } from '../../engine/types';
import { t } from '../../text/words';
import { Icon } from '../parts/icons';
import { ask } from '../kept/ask';
import { once } from '../parts/once';
import { Pick, Segments, TextField, TroubleNotice } from '../parts/parts';
import { addRun } from '../kept/act';
import { useApp } from '../kept/state';
import { asKept } from '../kept/job-file';
import { Tail } from '../parts/tail';
import { SvgImage } from '../parts/svg-image';
import { ClassCard } from './class-card';
import { benchNow, keepBench, markBench, rulesNow } from './class-kept';
import { schemeOf, type Unit } from './class-list';
import { GradeCard, type Keyed } from './grade-card';
import { Lessons } from './lessons';
import { RulesCard } from './rules-card';

const MOST_SEED = 999_999;

export function PracticeScreen() {
  const app = useApp();
  const bench = benchNow();
  const [seed, setSeed] = useState(String(bench?.seed ?? 1 + (crypto.getRandomValues(new Uint16Array(1))[0]! % 9999)));
  const [count, setCount] = useState<'3' | '5' | '10'>(bench?.count ?? '3');
  const [kind, setKind] = useState(bench?.kind ?? 'all');
  const [units, setUnits] = useState<Unit>(bench?.units ?? 'in');
  const [lessons, setLessons] = useState<Lesson[]>([]);
  const [sheet, setSheet] = useState<(PracticeSheet & { units: Unit }) | null>(null);
  const [error, setError] = useState<Trouble | null>(null);
  const [waiting, setWaiting] = useState(false);
  useEffect(() => {
    void ask('catalogue', {}).then((reply) => reply.ok && setLessons(reply.answer.lessons));
    if (!bench) return;
    markBench(bench);
    void show();
  }, []);
  const number = Number(seed);
  const good = Number.isInteger(number) && number >= 0 && number <= MOST_SEED && seed.trim() !== '';
  /** The sheet that was asked for; its readings are kept until it is put away or another one is made. */
  const show = async (about = kind): Promise<void> => {
    setWaiting(true);
    const reply = await ask('practice', { seed: number, count: Number(count), units, ...(about === 'all' ? {} : { kinds: [about] }) });
    setWaiting(false);
    setSheet(reply.ok ? { ...reply.answer, units } : null);
    setError(reply.ok ? null : reply.error);
  };
  const make = (about = kind): void => {
    if (!good) return;
    const asked = { seed: number, count, kind: about, units };
    const now = benchNow();
    const same = now && now.seed === number && now.count === count && now.kind === about && now.units === units;
    if (!same) keepBench({ ...asked, reads: {}, before_leans: [] });
    void show(about);
  };
  const putAway = (): void => {
    keepBench(null);
    setSheet(null);
  };
  return (
    <div class="practice">
      <section class="card practice-form">
        <h2>{t.practice.title}</h2>
        <p>{t.practice.words}</p>
        <div class="two">
          <TextField label={t.practice.seed} decimal value={seed} onText={setSeed} {...(good ? { help: t.practice.seedHelp } : { wrong: t.practice.seedWrong(MOST_SEED) })} />
          <Pick label={t.practice.kind} value={kind} options={[{ value: 'all', label: t.practice.all }, ...lessons.map((lesson) => ({ value: lesson.kind, label: lesson.title }))]} onPick={setKind} />
        </div>
        <Segments label={t.practice.count} value={count} options={(['3', '5', '10'] as const).map((v) => ({ value: v, label: v }))} onPick={setCount} />
        <Segments label={t.measure.units} value={units} options={[{ value: 'in', label: t.measure.inches }, { value: 'mm', label: t.measure.millimetres }]} onPick={setUnits} />
        <button type="button" class="wide-button strong" disabled={!good || waiting} onClick={() => make()}>
          {waiting ? (app.engine.phase === 'ready' ? t.practice.making : t.measure.engineComing) : t.practice.make}
        </button>
        {error && <TroubleNotice error={error} />}
      </section>
      <Lessons lessons={lessons} onTake={(lesson) => (setKind(lesson), make(lesson))} />
      <RulesCard units={units} />
      <ClassCard units={sheet?.units ?? units} />
      {sheet && <Sheet sheet={sheet} units={sheet.units} onPutAway={putAway} />}
    </div>
  );
}

function Sheet({ sheet, units, onPutAway }: { sheet: PracticeSheet; units: Unit; onPutAway: () => void }) {
  const [field, onField] = useState('');
  return (
    <article class="problem-sheet">
      <header class="sheet-head">
        <h2>{t.practice.sheet(sheet.seed)}</h2>
        <p class="quiet">
          {sheet.raceway}. {sheet.note}
        </p>
        <PassRule survey={sheet.problems.find((p) => p.survey)?.survey ?? null} />
        <Tail answer={sheet} />
        <p class="print-only name-line">{t.practice.nameLine}</p>
        <button type="button" class="wide-button screen-only" onClick={() => window.print()}>
          <Icon name="print" />
          {t.practice.print}
        </button>
        <button type="button" class="quiet-button screen-only" onClick={onPutAway}>
          {t.practice.putAway}
        </button>
      </header>
      {sheet.problems.map((p) => (
        <ProblemCard key={`${sheet.seed}-${p.number}-${p.kind}-${units}`} problem={p} seed={sheet.seed} raceway={sheet.raceway} units={units} field={field} onField={onField} />
      ))}
      <section class="print-only key-page">
        <h2>{t.practice.key(sheet.seed)}</h2>
        {sheet.problems.map((p) => (
          <div key={p.number} class="key-item">
            <h3>
              {p.number}. {p.title}
            </h3>
            <Results problem={p} />
            <Worked problem={p} />
          </div>
        ))}
      </section>
    </article>
  );
}

/** From when on a piece of the sheet is passed, by the teacher's rules as they are now. */
function PassRule({ survey }: { survey: WrittenSurvey | null }) {
  useApp();
  const [words, setWords] = useState('');
  const rules = JSON.stringify(schemeOf(rulesNow()));
  useEffect(() => {
    let newest = true;
    if (survey) void ask('practice_grade', { survey, scheme: schemeOf(rulesNow()) }).then((reply) => newest && setWords(reply.ok ? reply.answer.pass_rule : ''));
    return () => {
      newest = false;
    };
  }, [survey, rules]);
  return words ? <p class="quiet">{words}</p> : null;
}

function ProblemCard({ problem, seed, raceway, units, field, onField }: Keyed & { problem: Problem; seed: number; raceway: string; units: Unit }) {
  const [shown, setShown] = useState(false);
  const [bent, setBent] = useState(false);
  const survey = problem.survey;
  const takeAsRun = (): void => {
    if (!survey) return;
    addRun(asKept({ survey }));
    location.hash = '#/see';
  };
  return (
    <section class="card problem">
      <h3>
        <span class="number">{problem.number}</span> {problem.title}
      </h3>
      {problem.picture && <SvgImage svg={problem.picture} label={t.practice.picture(problem.number)} kind="problem-picture" />}
      <ul class="given">
        {problem.given.map((g) => (
          <li key={g}>{g}</li>
        ))}
      </ul>
      <p class="asked">{t.practice.asked}</p>
      <ul class="given asked-list">
        {problem.asked.map((a) => (
          <li key={a}>{a}</li>
        ))}
      </ul>
      <p class="print-only answer-line">{t.practice.answerLine}</p>
      <div class="screen-only">
        <button type="button" class="wide-button" aria-expanded={shown} onClick={() => setShown(!shown)}>
          {shown ? t.practice.hide : t.practice.show}
        </button>
        {shown && (
          <>
            <Results problem={problem} />
            {problem.answer_picture && <SvgImage svg={problem.answer_picture} label={t.practice.answerPicture(problem.number)} kind="problem-picture" />}
            <Worked problem={problem} />
            {survey && (
              <button type="button" class="quiet-button" onClick={(e) => void once(e, takeAsRun)}>
                {t.practice.asRun}
              </button>
            )}
          </>
        )}
        {survey && (
          <button type="button" class="wide-button" aria-expanded={bent} onClick={() => setBent(!bent)}>
            {t.practice.isBent}
          </button>
        )}
        {survey && bent && <GradeCard problem={problem} survey={survey} seed={seed} raceway={raceway} units={units} field={field} onField={onField} />}
      </div>
    </section>
  );
}

function Results({ problem }: { problem: Problem }) {
  return (
    <dl class="results">
      {problem.results.map((r) => (
        <div key={r.name}>
          <dt>{r.name}</dt>
          <dd>{r.text}</dd>
        </div>
      ))}
    </dl>
  );
}

function Worked({ problem }: { problem: Problem }) {
  return (
    <ol class="worked">
      {problem.worked.map((line, i) => (
        <li key={i}>{line}</li>
      ))}
    </ol>
  );
}
