/** A tool's figures as they are written down, asked of the engine before they are kept. */
import { useEffect, useState } from 'preact/hooks';
import { BENDER_FIGURES, type BenderAnswer } from '../../engine/types';
import { t } from '../../text/words';
import { putOn } from '../kept/act';
import { ask } from '../kept/ask';
import { setForNew } from '../kept/shoe';
import { say, type KeptRun } from '../kept/state';
import { keepTool, shopTools } from '../kept/tools';
import { isBegun } from '../kept/view';
import { planAgain } from '../link';
import { useCatalogue } from '../parts/catalogue';
import { bringIntoView, fieldOf as buttonOf, Keypad } from '../parts/keypad';
import { useAsked } from '../parts/newest';
import { once } from '../parts/once';
import { LengthField, Pick, Segments, TextField, TroubleNotice, wrongBeside, type Beside, type FieldKit } from '../parts/parts';
import { Problems, Tail } from '../parts/tail';
import { fieldOf, LENGTHS, noNumbers, onOtherTape, recordOf, SELDOM, type Draft, type Figure } from './profile';

interface Props {
  draft: Draft;
  /** The figure to begin with. */
  figure: string;
  /** The run at hand, which can be put on it. */
  run: KeptRun | undefined;
  /** Kept, as the tool of this id; '' left as it was. */
  onDone: (id: string) => void;
}

export function ToolForm({ draft: begun, figure, run, onDone }: Props) {
  const [active, setActive] = useState<Figure | ''>('');
  const written = useWritten(begun);
  const { draft, name, answer, error, beside } = written;
  useEffect(() => {
    const found = LENGTHS.find((one) => one === figure);
    if (found) setActive(found);
  }, [figure]);
  const keep = (on?: KeptRun): void => {
    if (!answer?.record) return;
    const pin = keepTool(draft.id, name, answer.record, on?.id);
    if (on) {
      putOn([on], pin);
      setForNew(draft.raceway, pin.id);
    }
    planAgain();
    say(draft.id && pin.id !== draft.id ? t.tools.apart(name) : on ? t.tools.keptOn(name, on.survey.run.name || t.job.noName) : t.tools.kept(name));
    onDone(pin.id);
  };
  const look = (): void => {
    setActive('');
    void written.look();
  };
  const fits = run && run.survey.run.raceway === draft.raceway && !isBegun(run) ? run : undefined;
  const next = LENGTHS[LENGTHS.indexOf(active as Figure) + 1];
  return (
    <div class="tool-form">
      <Fields written={written} kit={{ unit: draft.unit, active, beside, open: (path) => setActive(path as Figure) }} figure={figure} />
      {error && fieldOf(error) === '' && <TroubleNotice error={error} />}
      {!answer && (
        <button type="button" class="wide-button strong" onClick={look}>
          {t.tools.ask}
        </button>
      )}
      {answer && <Looked answer={answer} fits={fits} onKeep={keep} />}
      <button type="button" class="quiet-button" onClick={() => onDone('')}>
        {t.tools.cancel}
      </button>
      {active && (
        <Keypad
          path={active}
          label={t.bend.sentence(BENDER_FIGURES.find((one) => one.field === active)!.title)}
          value={draft.texts[active]}
          unit={draft.unit}
          beside={beside(active)}
          onValue={(v) => written.text(active, v)}
          onNext={() => setActive(next && !SELDOM.includes(next) ? next : '')}
          onClose={() => setActive('')}
        />
      )}
    </div>
  );
}

/** A tool's figures as they are being written, and what the engine says of them: nothing any more once one is changed. */
function useWritten(begun: Draft) {
  const [draft, setDraft] = useState(begun);
  const [looked, setLooked] = useState(false);
  const { answer, error, changed, asking } = useAsked<BenderAnswer>();
  const set = (part: Partial<Draft>): void => {
    changed();
    setDraft({ ...draft, ...part });
  };
  const text = (field: Figure, words: string): void => set({ texts: { ...draft.texts, [field]: words } });
  const name = draft.name.trim();
  const taken = shopTools().some((tool) => !tool.gone && tool.id !== draft.id && tool.name.toLowerCase() === name.toLowerCase());
  const [none] = noNumbers(draft);
  const beside = (path: string): Beside | null => (error && fieldOf(error) === path ? wrongBeside(error) : null);
  const wrong = (path: string): { wrong?: string } => {
    const told = beside(path);
    if (path === 'name' && looked && taken) return { wrong: t.tools.taken };
    if (path === none && looked) return { wrong: `${t.tools.noNumber} ${t.tools.numberWorks}` };
    return told ? { wrong: `${told.words} ${told.works ?? ''}` } : {};
  };
  const look = async (): Promise<void> => {
    setLooked(true);
    if (taken || none) return;
    const reply = await asking(ask('bender', { bender: recordOf(draft), bender_name: name || ' ', unit: draft.unit }));
    const at = !reply || reply.ok ? '' : fieldOf(reply.error);
    if (at) requestAnimationFrame(() => bringIntoView(buttonOf(at)?.parentElement));
  };
  return { draft, name, answer, error, set, text, beside, wrong, look };
}

/** What is written; `figure`: the one that somebody came for. */
function Fields({ written: { draft, error, set, text, wrong }, kit, figure }: { written: ReturnType<typeof useWritten>; kit: FieldKit; figure: string }) {
  const catalogue = useCatalogue();
  const taught = catalogue?.benders.find((shoe) => !shoe.own && shoe.raceway === draft.raceway);
  const usual: Partial<Record<Figure, string>> = taught ? { hook_reach: taught.hook_reach_in, grip: taught.grip_in } : {};
  const names = catalogue?.raceways.map((one) => one.name) ?? [];
  if (!names.includes(draft.raceway)) names.unshift(draft.raceway);
  const field = ({ field: path, title, help }: (typeof BENDER_FIGURES)[number]) => {
    const label = t.bend.sentence(title);
    const words = t.bend.sentence(usual[path] ? t.tools.taught(help, usual[path]) : `${help}.`);
    return LENGTHS.includes(path) ? (
      <LengthField key={path} kit={kit} path={path} label={label} help={words} value={draft.texts[path]} optional />
    ) : (
      <TextField key={path} label={label} help={words} value={draft.texts[path]} decimal={path !== 'standing'} onText={(v) => text(path, v)} {...wrong(path)} />
    );
  };
  const seldom = SELDOM.some((path) => draft.texts[path] !== '' || path === figure || (error && fieldOf(error) === path));
  return (
    <>
      <TextField label={t.tools.name} help={t.tools.nameHelp} value={draft.name} onText={(v) => set({ name: v })} {...wrong('name')} />
      <Pick label={t.tools.raceway} value={draft.raceway} options={names.map((value) => ({ value, label: value }))} onPick={(raceway) => set({ raceway })} {...wrong('raceway')} />
      <Segments
        label={t.tools.tape}
        value={draft.unit}
        options={[
          { value: 'in', label: t.measure.inches },
          { value: 'mm', label: t.measure.millimetres },
        ]}
        onPick={(unit) => set(onOtherTape(draft, unit))}
      />
      {BENDER_FIGURES.filter((one) => !SELDOM.includes(one.field)).map(field)}
      <details class="more" open={seldom}>
        <summary>{t.tools.more}</summary>
        {BENDER_FIGURES.filter((one) => SELDOM.includes(one.field)).map(field)}
      </details>
    </>
  );
}

/** What the engine says of the figures, and the ways to keep them; `fits`: the run that can be put on the tool. */
function Looked({ answer, fits, onKeep }: { answer: BenderAnswer; fits: KeptRun | undefined; onKeep: (on?: KeptRun) => void }) {
  const problem = answer.findings.some((f) => f.severity === 'problem');
  return (
    <div aria-live="polite">
      <Problems answer={answer} />
      <Meaning answer={answer} />
      <Tail answer={answer} problemsAbove />
      {fits && (
        <button type="button" class="wide-button strong" onClick={(e) => void once(e, () => onKeep(fits))}>
          {t.tools.keepOn(fits.survey.run.name || t.job.noName)}
        </button>
      )}
      <button type="button" class={fits ? 'wide-button' : 'wide-button strong'} onClick={(e) => void once(e, () => onKeep())}>
        {problem ? t.tools.keepAnyway : t.tools.keep}
      </button>
    </div>
  );
}

/** Each number of a tool with what it is measured from, in the engine's words. */
export function Meaning({ answer }: { answer: BenderAnswer }) {
  return (
    <table class="plain figures">
      <caption>{t.tools.means}</caption>
      <tbody>
        {answer.figures.map((one) => (
          <tr key={one.label}>
            <th scope="row">
              {t.bend.sentence(one.label)}
              <small>{one.meaning}</small>
            </th>
            <td>{one.said}</td>
          </tr>
        ))}
        <tr>
          <th scope="row">{t.tools.springback}</th>
          <td>{answer.springback}</td>
        </tr>
      </tbody>
    </table>
  );
}
