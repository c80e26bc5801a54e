/** What a person wrote into a form of what is set, as a change of what stands now. */
import type { SETTINGS, FormField } from '../../engine/forms';
import { numberOf } from '../../text/lengths';
import { t } from '../../text/words';
import type { Change } from '../kept/settings';

export type Setting = keyof typeof SETTINGS;
export type Texts = Readonly<Record<string, string>>;

/** A count belongs to sticks that are there. */
export const isAsked = (field: FormField, texts: Texts): boolean => field.name !== 'count' || !('stands' in texts) || texts['stands'] !== 'as needed';

/** A field that a person wrote into: what, and what stood there when they began. */
export interface Typed {
  text: string;
  over: string;
}

/** What was written, over what stands now: an empty text takes it out. What nobody wrote stays as it is, whatever others
 * made of it meanwhile; where a unit was picked, all of it is said anew. Null: nothing is another. Else which field lacks something. */
export function changeOf(set: Setting, fields: readonly FormField[], typed: Readonly<Record<string, Typed>>, stands: Texts): { change: Change | null } | { wrong: Texts } {
  const shown = shownOf(typed, stands);
  const wrote = (field: FormField): boolean => field.name in typed && typed[field.name]!.text.trim() !== (stands[field.name] ?? '');
  const wrong: Record<string, string> = {};
  const out: Record<string, unknown> = { ...stands, set };
  for (const field of fields) delete out[field.name];
  const asked = fields.filter((field) => isAsked(field, shown));
  const all = asked.some((field) => field.kind === 'choice' && wrote(field));
  for (const field of asked.filter((one) => all || one.required || wrote(one))) {
    const text = (shown[field.name] ?? '').trim();
    const [over, now] = [typed[field.name]?.over ?? stands[field.name] ?? '', stands[field.name] ?? ''];
    const number = field.kind === 'number' ? numberOf(text) : null;
    if (field.required && !text) wrong[field.name] = t.figure.needed;
    else if (field.kind === 'number' && text && number === null) wrong[field.name] = t.figure.noNumber;
    else if (over !== now && text !== now) wrong[field.name] = t.settings.meanwhile(now || t.share.nothing);
    else if (text || (now && field.kind !== 'choice')) out[field.name] = field.kind === 'number' ? (number ?? undefined) : text;
  }
  if (Object.keys(wrong).length) return { wrong };
  return { change: asked.some(wrote) ? (out as unknown as Change) : null };
}

export const shownOf = (typed: Readonly<Record<string, Typed>>, stands: Texts): Texts => ({ ...stands, ...Object.fromEntries(Object.entries(typed).map(([name, { text }]) => [name, text])) });
