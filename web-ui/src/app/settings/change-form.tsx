/** One thing that is set: its fields as the engine describes them, and why what was written cannot be kept. */
import { useState } from 'preact/hooks';
import { SETTINGS, type FormField } from '../../engine/forms';
import type { Trouble } from '../../engine/types';
import { t } from '../../text/words';
import { Field } from '../figure/fields';
import { makeChange, type Change } from '../kept/settings';
import { TroubleNotice, wrongBeside, type FieldKit } from '../parts/parts';
import { changeOf, isAsked, shownOf, type Setting, type Texts, type Typed } from './change-of';

/** No field of these opens a keypad. */
const NO_KEYS: FieldKit = { unit: 'in', active: '', open: () => undefined, beside: () => null };

interface Props {
  set: Setting;
  /** What stands, by field; `fixed`: those that are not asked again. */
  stands: Texts;
  fixed?: readonly string[];
  /** It stands nowhere yet, and begins so: what stands under the same name all the same is told first. */
  begins?: Texts;
  called: string;
  /** What was changed, and what stands then, in words; null where nothing was kept. */
  onDone: (kept: { change: Change; now: string } | null) => void;
}

const NOTHING: Texts = {};

export function ChangeForm({ set, stands, fixed = [], begins, called, onDone }: Props) {
  const fields: readonly FormField[] = SETTINGS[set].filter((field) => !fixed.includes(field.name));
  const [typed, setTyped] = useState<Readonly<Record<string, Typed>>>(() => Object.fromEntries(Object.entries(begins ?? NOTHING).map(([name, text]) => [name, { text, over: '' }])));
  const [there, setThere] = useState('');
  const [wrong, setWrong] = useState<Texts>({});
  const [error, setError] = useState<Trouble | null>(null);
  const [waiting, setWaiting] = useState(false);
  const texts = shownOf(typed, stands);
  const write = (name: string, text: string): void => setTyped({ ...typed, [name]: { text, over: typed[name]?.over ?? stands[name] ?? '' } });
  const at = error?.field.match(/(\w+)(\[\d+\])?$/)?.[1] ?? '';
  const placed = fields.some((field) => field.name === at && isAsked(field, texts));
  const wrongAt = (name: string): string => {
    if (wrong[name] || !error || !placed || at !== name) return wrong[name] ?? '';
    const { words, works } = wrongBeside(error);
    return `${words} ${works ?? ''}`;
  };
  const keep = async (): Promise<void> => {
    const made = changeOf(set, fields, typed, stands);
    setError(null);
    setWrong('wrong' in made ? made.wrong : {});
    if ('wrong' in made) return setTyped(Object.fromEntries(Object.entries(typed).map(([name, { text }]) => [name, { text, over: stands[name] ?? '' }])));
    const { change } = made;
    if (!change) return onDone(null);
    setWaiting(true);
    const done = await makeChange(change, begins ? there : null);
    setWaiting(false);
    if ('error' in done) setError(done.error);
    else if ('there' in done) setThere(done.there);
    else onDone({ change, now: done.now });
  };
  return (
    <form
      class="change-form"
      aria-label={called}
      onSubmit={(e) => {
        e.preventDefault();
        void keep();
      }}
    >
      {fields.filter((field) => isAsked(field, texts)).map((field) => (
        <Field key={field.name} field={field} value={texts[field.name] ?? ''} fromRun={false} wrong={wrongAt(field.name)} part="" kit={NO_KEYS} onValue={(value) => write(field.name, String(value))} />
      ))}
      {error && !placed && <TroubleNotice error={error} />}
      {there && <p class="wrong" role="alert">{t.settings.there(there)}</p>}
      <div class="two">
        <button type="submit" class="wide-button strong" disabled={waiting}>
          {t.settings.keep}
        </button>
        <button type="button" class="wide-button" onClick={() => onDone(null)}>
          {t.settings.cancel}
        </button>
      </div>
    </form>
  );
}
