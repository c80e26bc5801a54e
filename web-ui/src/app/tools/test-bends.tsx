/** A tool calibrated from test bends: readings by keypad, what they give and how sure that is, kept by one tap more. */
import { useEffect, useState } from 'preact/hooks';
import type { BenderAnswer, TestBendReadings, Trouble } from '../../engine/types';
import type { Unit } from '../../text/lengths';
import { t } from '../../text/words';
import { ask } from '../kept/ask';
import { currentRun, say } from '../kept/state';
import { keepTool, type KeptTool } from '../kept/tools';
import { planAgain } from '../link';
import { Icon } from '../parts/icons';
import { Keypad } from '../parts/keypad';
import { useNewest } from '../parts/newest';
import { once } from '../parts/once';
import { LengthField, Segments, TextField, TroubleNotice, wrongBeside, type Beside, type FieldKit } from '../parts/parts';
import { Problems, Tail } from '../parts/tail';
import { took } from '../parts/undo';
import { draftOf } from './profile';
import { keepReadings, readingsOf } from './readings';

type Bend = Required<TestBendReadings>;
const FRESH: Bend = { angle: '90', stub: '', leg: '', cut: '', mark: '', at: 'arrow', pointer: '' };
const LENGTHS = ['cut', 'mark', 'stub', 'leg'] as const;
const FITS = { none: [], center: ['center'], star: ['star'], both: ['center', 'star'] } as const;

/** 'bend 2 stub': which bend, from 0, and which of its readings. */
const placeOf = (field: string): { bend: number; reading: string } | null => {
  const m = /^bend (\d+) (\w+)$/.exec(field);
  return m && { bend: Number(m[1]) - 1, reading: m[2]! };
};

export function TestBends({ tool, onDone }: { tool: KeptTool; onDone: () => void }) {
  const [begun] = useState(() => readingsOf(tool.id));
  const [unit, setUnit] = useState<Unit>(begun?.unit ?? currentRun()?.survey.units ?? draftOf(tool.id, tool.name, tool.profile).unit);
  const [bends, setBends] = useState<readonly Bend[]>(begun?.bends ?? [FRESH]);
  const [fit, setFit] = useState<keyof typeof FITS>(begun?.fit ?? 'none');
  const [active, setActive] = useState('');
  const [answer, setAnswer] = useState<BenderAnswer | null>(null);
  const [error, setError] = useState<Trouble | null>(null);
  useEffect(() => {
    if (bends.length > 1 || LENGTHS.some((reading) => bends[0]?.[reading])) keepReadings(tool.id, { unit, bends, fit });
  }, [unit, bends, fit]);
  const done = (): void => {
    keepReadings(tool.id, null);
    onDone();
  };
  const turn = useNewest();
  const change = (to: (list: readonly Bend[]) => readonly Bend[]): void => {
    turn();
    setAnswer(null);
    setError(null);
    setBends(to);
  };
  const update = (at: number, part: Partial<Bend>): void => change((list) => list.map((bend, i) => (i === at ? { ...bend, ...part } : bend)));
  const drop = (at: number): void => {
    const gone = bends[at]!;
    change((list) => list.filter((_, i) => i !== at));
    took(t.tools.bend(at + 1), () => change((list) => [...list.slice(0, at), gone, ...list.slice(at)]));
  };
  const told = error && placeOf(error.field);
  const beside = (path: string): Beside | null => (error && path === error.field ? wrongBeside(error) : null);
  const kit: FieldKit = { unit, active, beside, open: (path) => setActive(path) };
  const work = async (): Promise<void> => {
    setActive('');
    const { raceway, size } = tool.profile;
    const isNewest = turn();
    const reply = await ask('calibrate', { bender_name: tool.name, bends: [...bends], fit: [...FITS[fit]], raceway, size, bender: tool.profile, unit });
    if (!isNewest()) return;
    setAnswer(reply.ok ? reply.answer : null);
    setError(reply.ok ? null : reply.error);
  };
  const keep = (): void => {
    if (!answer?.record) return;
    const pin = keepTool(tool.id, tool.name, answer.record);
    planAgain();
    say(pin.id === tool.id ? t.tools.kept(tool.name) : t.tools.apart(tool.name));
    done();
  };
  const at = placeOf(active);
  const paths = bends.flatMap((_, i) => LENGTHS.map((reading) => `bend ${i + 1} ${reading}`));
  return (
    <section class="test-bends">
      <h3>{t.tools.bends}</h3>
      <p>{t.tools.bendsWords}</p>
      <Segments label={t.tools.tape} value={unit} options={[{ value: 'in', label: t.measure.inches }, { value: 'mm', label: t.measure.millimetres }]} onPick={(to) => { setUnit(to); change((list) => list); }} />
      {bends.map((bend, i) => (
        <fieldset key={i} class="feature">
          <header class="feature-head">
            <h4>{t.tools.bend(i + 1)}</h4>
            {bends.length > 1 && (
              <button type="button" class="plain-key" onClick={() => drop(i)} aria-label={t.tools.dropBend(i + 1)}>
                <Icon name="bin" />
              </button>
            )}
          </header>
          {LENGTHS.map((reading) => (
            <LengthField key={reading} kit={kit} path={`bend ${i + 1} ${reading}`} label={t.tools.bendFields[reading]} help={t.tools.bendHelp[reading]} value={bend[reading]} optional={reading === 'leg' || reading === 'cut'} />
          ))}
          {(['angle', 'pointer'] as const).map((reading) => (
            <TextField key={reading} label={t.tools.bendFields[reading]} decimal value={bend[reading]} help={t.tools.bendHelp[reading]} onText={(v) => update(i, { [reading]: v })} {...(told?.bend === i && told.reading === reading && error ? { wrong: `${error.message} ${error.hint}` } : {})} />
          ))}
          <Segments label={t.tools.at} value={bend.at} options={(['arrow', 'center', 'star'] as const).map((value) => ({ value, label: t.tools.ats[value] }))} onPick={(mark) => update(i, { at: mark })} />
        </fieldset>
      ))}
      <button type="button" class="quiet-button" onClick={() => change((list) => [...list, { ...FRESH, angle: '45' }])}>
        <Icon name="plus" />
        {t.tools.addBend}
      </button>
      <Segments label={t.tools.fit} value={fit} options={(Object.keys(FITS) as (keyof typeof FITS)[]).map((value) => ({ value, label: t.tools.fits[value] }))} onPick={(to) => { setFit(to); change((list) => list); }} />
      <button type="button" class="wide-button strong" onClick={() => void work()}>
        {t.tools.work}
      </button>
      {error && !told && <TroubleNotice error={error} />}
      {answer && <Found answer={answer} />}
      {answer && (
        <button type="button" class="wide-button strong" onClick={(e) => void once(e, keep)}>
          {answer.findings.some((f) => f.severity === 'problem') ? t.tools.keepAnyway : t.tools.next(tool.called)}
        </button>
      )}
      <button type="button" class="quiet-button" onClick={done}>
        {t.tools.close}
      </button>
      {at && bends[at.bend] && (
        <Keypad
          path={active}
          label={`${t.tools.bend(at.bend + 1)}: ${t.tools.bendFields[at.reading as (typeof LENGTHS)[number]]}`}
          value={bends[at.bend]![at.reading as (typeof LENGTHS)[number]]}
          unit={unit}
          beside={beside(active)}
          onValue={(v) => update(at.bend, { [at.reading]: v })}
          onNext={() => setActive(paths[paths.indexOf(active) + 1] ?? '')}
          onClose={() => setActive('')}
        />
      )}
    </section>
  );
}

function Found({ answer }: { answer: BenderAnswer }) {
  return (
    <div aria-live="polite">
      <Problems answer={answer} />
      <table class="plain figures">
        <caption>{t.tools.found}</caption>
        <tbody>
          {answer.found.map((one) => (
            <tr key={one.label}>
              <th scope="row">{t.bend.sentence(one.label)}</th>
              <td>
                {one.said} ± {one.error}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {answer.verdicts.map((words) => (
        <p key={words}>{t.bend.sentence(words)}.</p>
      ))}
      <Tail answer={answer} problemsAbove />
    </div>
  );
}
