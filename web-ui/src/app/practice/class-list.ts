/** The class list with its graded pieces, and the teacher's rules: values alone. */
import type { ClassResult, Scheme } from '../../engine/types';

export interface Class {
  people: readonly string[];
  results: readonly ClassResult[];
}

/** The teacher's rules as they were typed, by 'part.field'; what is empty is as usual. 'part.field.unit': the unit that
 *  a length without one of its own was typed in. */
export type Rules = Readonly<Record<string, string>>;

/** Fields of a rule: its name in the request, and whether it is a number. */
export const RULES = {
  length: [['within', false], ['step', false], ['points', true], ['most', true]],
  rise: [['within', false], ['step', false], ['points', true], ['most', true]],
  dog_leg: [['within', false], ['step', false], ['points', true], ['most', true]],
  angle: [['within_deg', true], ['step_deg', true], ['points', true], ['most', true]],
  lean: [['within_deg', true], ['step_deg', true], ['points', true], ['most', true]],
  time: [['minutes', true], ['points', true], ['most', true]],
} as const;

export type Unit = 'in' | 'mm';

/** In which unit a rule's length stands: the one that it was typed in; of an empty one the sheet's. */
export const ruleUnit = (rules: Rules, key: string, sheet: Unit): Unit => (rules[key]?.trim() ? (rules[`${key}.unit`] as Unit | undefined) ?? 'in' : sheet);

/** The rules with a length as typed on a sheet of that unit. */
export const withLength = (rules: Rules, key: string, text: string, sheet: Unit): Rules => ({ ...rules, [key]: text, [`${key}.unit`]: ruleUnit(rules, key, sheet) });

/** A problem as the class list names it: what else has its seed and number is another raceway's or unit's. */
export const problemName = (seed: number, problem: { number: number; kind: string }, raceway: string, unit: Unit): string => `${seed}.${problem.number} ${problem.kind}, ${raceway}, ${unit}`;

export const numberIn = (text: string): number => Number(text.trim().replace(',', '.'));

/** The rules as the engine takes them. What is no number is left out: its field says so. */
export function schemeOf(rules: Rules): Scheme {
  const scheme: Record<string, unknown> = {};
  const put = (into: Record<string, unknown>, key: string, field: string, isNumber: boolean): void => {
    const text = rules[key]?.trim();
    const bare = /^[\d\s./,-]*$/.test(text ?? '');
    const value = isNumber ? numberIn(text ?? '') : bare ? `${text} ${ruleUnit(rules, key, 'in')}` : text;
    if (text && !Number.isNaN(value)) into[field] = value;
  };
  put(scheme, 'full', 'full', true);
  put(scheme, 'passes_at', 'passes_at', true);
  put(scheme, 'gross_times', 'gross_times', true);
  for (const [part, fields] of Object.entries(RULES)) {
    const rule: Record<string, unknown> = {};
    for (const [field, isNumber] of fields) put(rule, `${part}.${field}`, field, isNumber);
    if (Object.keys(rule).length) scheme[part] = rule;
  }
  return scheme;
}

/** What was read on a sheet's pieces, by problem and check. */
export type Reads = Readonly<Record<string, Readonly<Record<string, string>>>>;

/** Of a sheet from before leans were asked for: the problems with something read, and no lean. */
export const readBeforeLeans = (reads: Reads): string[] =>
  Object.keys(reads).filter((problem) => {
    const read = Object.entries(reads[problem] ?? {}).filter(([, text]) => text.trim());
    return read.length > 0 && !read.some(([key]) => key.startsWith('lean '));
  });

export const NOBODY: Class = { people: [], results: [] };

/** With one more name; as it was where the name is there, or is none. */
export function withPerson(now: Class, name: string): Class {
  const person = name.trim();
  return !person || now.people.includes(person) ? now : { ...now, people: [...now.people, person] };
}

/** Without a name and all that it has. */
export function withoutPerson(now: Class, person: string): Class {
  return { people: now.people.filter((one) => one !== person), results: now.results.filter((one) => one.person !== person) };
}

export const withResult = (now: Class, result: ClassResult): Class => ({ ...withPerson(now, result.person), results: [...now.results, result] });
