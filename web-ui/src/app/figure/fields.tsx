/** One field of a question, by its kind. */
import type { FormField } from '../../engine/forms';
import { t } from '../../text/words';
import { LengthField, Pick, Segments, TextField, TextLines, type FieldKit } from '../parts/parts';
import { linesOf, type Value } from './form';

interface Props {
  field: FormField;
  value: Value;
  /** it stands so in the run at hand, and nobody changed it here */
  fromRun: boolean;
  wrong: string;
  /** how long the run at hand is, where it is a part of what is asked */
  part: string;
  kit: FieldKit;
  onValue: (value: Value) => void;
}

/** The help where it says more than the label, and where the value is from. */
function helpOf({ field, fromRun, part, kit }: Props): string {
  const said = field.help.toLowerCase() === field.label.toLowerCase() ? '' : field.help;
  const bare = field.kind === 'distance' ? t.figure.bare[kit.unit] : '';
  const usual = field.usual && !/\)$|where nothing is said/.test(field.help) ? `${said ? ' ' : ''}(${field.usual})` : '';
  return [fromRun ? `${t.figure.fromRun}.` : '', said + usual, bare, part && t.figure.partOfIt(part)].filter(Boolean).join(' ');
}

export function Field(props: Props) {
  const { field, value, fromRun, wrong, kit, onValue } = props;
  const text = typeof value === 'string' ? value : value.join(', ');
  const told = wrong ? { wrong } : {};
  const unit = field.kind === 'angle' ? '°' : field.unit;
  const label = unit ? t.figure.withUnit(field.label, unit) : field.label;
  if (field.kind === 'length') return <LengthField kit={kit} path={field.name} label={field.label} value={text} help={helpOf(props)} optional={!field.required} />;
  if (field.kind === 'list' || field.kind === 'parts') return <TextLines label={field.label} lines={typeof value === 'string' ? linesOf(value) : value} help={helpOf(props)} onLines={onValue} {...told} />;
  if (field.kind === 'switch') {
    const options = (['no', 'yes'] as const).map((one) => ({ value: one, label: t.figure.yesNo[one] }));
    return <Segments label={field.help || field.label} value={text === 'yes' ? 'yes' : 'no'} options={options} onPick={onValue} />;
  }
  if (field.kind === 'choice') {
    const options = (field.choices ?? []).map(([one, words]) => ({ value: one, label: words }));
    if (field.usual === undefined && !(field.required && text)) options.unshift({ value: '', label: t.figure.notSaid });
    if (text && !options.some((one) => one.value === text)) options.push({ value: text, label: text });
    const [at, which] = [text || (field.usual ?? ''), fromRun ? `${field.label} (${t.figure.fromRun})` : field.label];
    if (options.length <= 3) return <Segments label={which} value={at} options={options} onPick={onValue} />;
    return <Pick label={which} value={at} options={options} onPick={onValue} {...told} />;
  }
  const decimal = field.kind === 'number' || field.kind === 'angle';
  return <TextField label={label} value={text} decimal={decimal} help={helpOf(props)} onText={onValue} {...told} />;
}
