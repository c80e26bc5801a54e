/** One thing that is set: its fields as the engine describes them, and why what was written cannot be kept. */
import { useState } from 'preact/hooks';
import { SETTINGS, type FormField } from '../../engine/forms';
import type { Trouble } from '../../engine/types';
import { numberOf } from '../../text/lengths';
import { t } from '../../text/words';
import { Field } from '../figure/fields';
import { makeChange, type Change } from '../kept/settings';
import { TroubleNotice, wrongBeside, type FieldKit } from '../parts/parts';

export type Setting = keyof typeof SETTINGS;
type Texts = Readonly<Record<string, string>>;

/** No field of these opens a keypad. */
const NO_KEYS: FieldKit = { unit: 'in', active: '', open: () => undefined, beside: () => null };

/** A count belongs to sticks that are there. */
const isAsked = (field: FormField, texts: Texts): boolean => field.name !== 'count' || !('stands' in texts) || texts['stands'] !== 'as needed';

/** What is said, or was said before: an empty text takes it out. Else which field lacks something. */
function changeOf(set: Setting, fields: readonly FormField[], texts: Texts, before: Texts): { change: Change } | { wrong: Texts } {
  const wrong: Record<string, string> = {};
  const out: Record<string, unknown> = { ...before, set };
  for (const field of fields) {
    const text = (texts[field.name] ?? '').trim();
    delete out[field.name];
    if (!isAsked(field, texts)) continue;
    const number = field.kind === 'number' ? numberOf(text) : null;
    if (field.required && !text) wrong[field.name] = t.figure.needed;
    else if (field.kind === 'number' && text && number === null) wrong[field.name] = t.figure.noNumber;
    else if (text || (before[field.name] && field.kind !== 'choice')) out[field.name] = field.kind === 'number' ? (number ?? undefined) : text;
  }
  return Object.keys(wrong).length ? { wrong } : { change: out as unknown as Change };
}

interface Props {
  set: Setting;
  /** What stands, by field; `fixed`: those that are not asked again. */
  stands: Texts;
  fixed?: readonly string[];
  called: string;
  /** What was kept; null: nothing. */
  onDone: (kept: Change | null) => void;
}

export function ChangeForm({ set, stands, fixed = [], called, onDone }: Props) {
  const fields: readonly FormField[] = SETTINGS[set].filter((field) => !fixed.includes(field.name));
  const [texts, setTexts] = useState(stands);
  const [wrong, setWrong] = useState<Texts>({});
  const [error, setError] = useState<Trouble | null>(null);
  const [waiting, setWaiting] = useState(false);
  const at = error?.field.match(/(\w+)(\[\d+\])?$/)?.[1] ?? '';
  const placed = fields.some((field) => field.name === at && isAsked(field, texts));
  const wrongAt = (name: string): string => {
    if (wrong[name] || !error || !placed || at !== name) return wrong[name] ?? '';
    const { words, works } = wrongBeside(error);
    return `${words} ${works ?? ''}`;
  };
  const keep = async (): Promise<void> => {
    const made = changeOf(set, fields, texts, stands);
    setError(null);
    setWrong('wrong' in made ? made.wrong : {});
    if ('wrong' in made) return;
    setWaiting(true);
    const done = await makeChange(made.change);
    setWaiting(false);
    if ('error' in done) setError(done.error);
    else onDone(made.change);
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
        <Field key={field.name} field={field} value={texts[field.name] ?? ''} fromRun={false} wrong={wrongAt(field.name)} part="" kit={NO_KEYS} onValue={(value) => setTexts({ ...texts, [field.name]: String(value) })} />
      ))}
      {error && !placed && <TroubleNotice error={error} />}
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
