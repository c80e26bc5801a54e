/** What differs between two versions of one thing, in a person's words. */
import { USUAL, type ToolPin } from '../../engine/types';
import { t } from '../../text/words';
import { textIn, type Data, type Rec } from './record';
import { toolAt } from './shoe';
import { surveyOf } from './view';

/** 'walk 0 features 0 saddle centre' -> 'leg 1, saddle center'; 'start name' -> 'end A, called' */
const inWords = (path: string): string =>
  path
    .replace(/^walk (\d+)/, (_, n: string) => (Number(n) % 2 ? t.share.turn((Number(n) + 1) / 2) : t.share.leg(Number(n) / 2 + 1)))
    .replace(/ features \d+/, ',')
    .replace(/^(leg|turn) (\d+) (?=\w)/, '$1 $2, ')
    .replace(/, leg$/, `, ${t.share.length}`)
    .replace(/, turn$/, `, ${t.share.way}`)
    .replace(/^start\b/, `${t.share.end('A')},`)
    .replace(/^end\b(?! [AB],)/, `${t.share.end('B')},`)
    .replace(/, name$/, `, ${t.share.called}`)
    .replace(/^times$/, t.share.alike)
    .replace(/\bcentre\b/, 'center')
    .replace(/_/g, ' ');

/** Every field of a version by its path. */
function fields(value: unknown, path = ''): Map<string, string> {
  const out = new Map<string, string>();
  if (value === null || value === undefined || value === '') return out;
  if (typeof value !== 'object') out.set(path, `${value as string | number | boolean}`);
  else for (const [key, inner] of Object.entries(value)) for (const [p, v] of fields(inner, path ? `${path} ${key}` : key)) out.set(p, v);
  return out;
}

/** What a person knows of a version: of a run its readings first. */
function told(kind: string, data: Data | null): unknown {
  if (!data) return {};
  if (kind !== 'run') return { ...data, id: '', of: '' };
  const { survey: _, id: __, key: ___, tool, ...others } = data;
  const survey = surveyOf(data);
  const pin = tool as ToolPin | undefined;
  return { bender: pin && t.shoe.called(toolAt(pin)?.name ?? pin.id.slice(0, 6), pin.revision), ...survey.run, tape: survey.units, ...others };
}

/** Written or not, it says the same. */
const isUsual = (path: string, value: string): boolean => USUAL[`run.${path.replace(/ \d+/g, '').replace(/ /g, '.')}`] === value;

interface Difference {
  /** In words: 'leg 1, saddle center'. */
  field: string;
  here: string;
  there: string;
}

export function differences(kind: string, here: Data | null, there: Data | null): Difference[] {
  const [one, two] = [fields(told(kind, here)), fields(told(kind, there))];
  return [...new Set([...one.keys(), ...two.keys()])]
    .filter((path) => ![one, two].every((way) => !way.has(path) || isUsual(path, way.get(path)!)))
    .map((path) => ({ field: inWords(path), here: one.get(path) ?? t.share.nothing, there: two.get(path) ?? t.share.nothing }))
    .filter((d) => d.here !== d.there);
}

/** All that a version says, as one text: equal for two that say the same. */
export const saidOf = (kind: string, data: Data): string =>
  [...fields(told(kind, data))]
    .filter(([path, value]) => !isUsual(path, value))
    .map(([path, value]) => `${path}: ${value}`)
    .sort()
    .join('\n');

/** What a person calls it. */
export const nameOf = (rec: Rec): string => {
  const data = rec.data ?? rec.there?.data;
  if (!data) return t.job.noName;
  if (rec.kind === 'prices') return t.share.prices;
  return (rec.kind === 'run' ? surveyOf(data).run.name : textIn(data, 'name')) || t.job.noName;
};
