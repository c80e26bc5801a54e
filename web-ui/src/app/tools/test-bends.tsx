/** A tool calibrated from test bends: readings by keypad, what they give and how sure that is, kept by one tap more. */
import { useEffect, useState } from 'preact/hooks';
import type { BenderAnswer, TestBendReadings } from '../../engine/types';
import type { Unit } from '../../text/lengths';
import { t } from '../../text/words';
import { ask } from '../kept/ask';
import { currentRun, say } from '../kept/state';
import { keepTool, type KeptTool } from '../kept/tools';
import { planAgain } from '../link';
import { Icon } from '../parts/icons';
import { Keypad } from '../parts/keypad';
import { useAsked } from '../parts/newest';
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

/** The readings as they are being written, kept on this device until figures are made of them; `onChange`: what was said is of
 * others. */
function useReadings(tool: KeptTool, onChange: () => void) {
  const [begun] = useState(() => readingsOf(tool.id));
  const [unit, setUnit] = useState<Unit>(begun?.unit ?? currentRun()?.survey.units ?? draftOf(tool.id, tool.name, tool.profile).unit);
  const [bends, setBends] = useState<readonly Bend[]>(begun?.bends ?? [FRESH]);
  const [fit, setFit] = useState<keyof typeof FITS>(begun?.fit ?? 'none');
  useEffect(() => {
    if (bends.length > 1 || LENGTHS.some((reading) => bends[0]?.[reading])) keepReadings(tool.id, { unit, bends, fit });
  }, [unit, bends, fit]);
  const changing = <T,>(set: (to: T) => void) => (to: T): void => {
    onChange();
    set(to);
  };
  const change = changing<(list: readonly Bend[]) => readonly Bend[]>(setBends);
  const update = (at: number, part: Partial<Bend>): void => change((list) => list.map((bend, i) => (i === at ? { ...bend, ...part } : bend)));
  const drop = (at: number): void => {
    const gone = bends[at]!;
    change((list) => list.filter((_, i) => i !== at));
    took(t.tools.bend(at + 1), () => change((list) => [...list.slice(0, at), gone, ...list.slice(at)]));
  };
  const add = (): void => change((list) => [...list, { ...FRESH, angle: '45' }]);
  return { unit, bends, fit, update, drop, add, setUnit: changing(setUnit), setFit: changing(setFit) };
}

export function TestBends({ tool, onDone }: { tool: KeptTool; onDone: () => void }) {
  const [active, setActive] = useState('');
  const { answer, error, changed, asking } = useAsked<BenderAnswer>();
  const { unit, bends, fit, update, drop, add, setUnit, setFit } = useReadings(tool, changed);
  const done = (): void => {
    keepReadings(tool.id, null);
    onDone();
  };
  const told = error && placeOf(error.field);
  const beside = (path: string): Beside | null => (error && path === error.field ? wrongBeside(error) : null);
  const kit: FieldKit = { unit, active, beside, open: (path) => setActive(path) };
  const work = (): void => {
    setActive('');
    const { raceway, size } = tool.profile;
    void asking(ask('calibrate', { bender_name: tool.name, bends: [...bends], fit: [...FITS[fit]], raceway, size, bender: tool.profile, unit }));
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
      <Segments label={t.tools.tape} value={unit} options={[{ value: 'in', label: t.measure.inches }, { value: 'mm', label: t.measure.millimetres }]} onPick={setUnit} />
      {bends.map((bend, i) => (
        <TestBend key={i} bend={bend} at={i} kit={kit} wrong={told?.bend === i && error ? { reading: told.reading, words: `${error.message} ${error.hint}` } : null} onChange={(part) => update(i, part)} onDrop={bends.length > 1 ? () => drop(i) : null} />
      ))}
      <button type="button" class="quiet-button" onClick={add}>
        <Icon name="plus" />
        {t.tools.addBend}
      </button>
      <Segments label={t.tools.fit} value={fit} options={(Object.keys(FITS) as (keyof typeof FITS)[]).map((value) => ({ value, label: t.tools.fits[value] }))} onPick={setFit} />
      <button type="button" class="wide-button strong" onClick={work}>
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

interface OneBend {
  bend: Bend;
  /** Which of them, from 0. */
  at: number;
  kit: FieldKit;
  /** Of a reading that is typed, why it cannot be taken. */
  wrong: { reading: string; words: string } | null;
  onChange: (part: Partial<Bend>) => void;
  /** Null for the only one. */
  onDrop: (() => void) | null;
}

function TestBend({ bend, at, kit, wrong, onChange, onDrop }: OneBend) {
  return (
    <fieldset class="feature">
      <header class="feature-head">
        <h4>{t.tools.bend(at + 1)}</h4>
        {onDrop && (
          <button type="button" class="plain-key" onClick={onDrop} aria-label={t.tools.dropBend(at + 1)}>
            <Icon name="bin" />
          </button>
        )}
      </header>
      {LENGTHS.map((reading) => (
        <LengthField key={reading} kit={kit} path={`bend ${at + 1} ${reading}`} label={t.tools.bendFields[reading]} help={t.tools.bendHelp[reading]} value={bend[reading]} optional={reading === 'leg' || reading === 'cut'} />
      ))}
      {(['angle', 'pointer'] as const).map((reading) => (
        <TextField key={reading} label={t.tools.bendFields[reading]} decimal value={bend[reading]} help={t.tools.bendHelp[reading]} onText={(v) => onChange({ [reading]: v })} {...(wrong?.reading === reading ? { wrong: wrong.words } : {})} />
      ))}
      <Segments label={t.tools.at} value={bend.at} options={(['arrow', 'center', 'star'] as const).map((value) => ({ value, label: t.tools.ats[value] }))} onPick={(mark) => onChange({ at: mark })} />
    </fieldset>
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
