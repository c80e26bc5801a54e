/** What differs between two versions of one thing, in a person's words, as `racewright job log` says it (records/differ.py). */
import { FIELD_WORDS, KINDS, LIST_WORDS, UNSAID, USUAL } from '../../engine/types';
import { t } from '../../text/words';
import { textIn, toolIn, type Data, type Rec } from './record';
import { toolAt } from './shoe';
import { surveyOf } from './view';

const isPlace = (part: string): boolean => /^\d+$/.test(part);

/** 'survey.run.walk.0.features.0.saddle.centre' -> 'leg 1, saddle, center' */
function inWords(path: string): string {
  const words: string[] = [];
  let listed = '';
  for (const part of path.split('.')) {
    if (isPlace(part)) {
      const names = LIST_WORDS[listed] ?? [words.pop()!];
      const word = `${names[Number(part) % names.length]!} ${Math.floor(Number(part) / names.length) + 1}`;
      words.push(FIELD_WORDS[word] ?? word);
    } else {
      listed = part;
      if (!LIST_WORDS[part]) words.push(FIELD_WORDS[part] ?? part.replace(/_/g, ' '));
    }
  }
  return words.filter(Boolean).join(', ');
}

type Fields = ReadonlyMap<string, string>;

/** Every field of a version as text, by its path. */
function fields(value: unknown, path = ''): Map<string, string> {
  const out = new Map<string, string>();
  if (value === null || value === undefined || value === '') return out;
  if (typeof value !== 'object') out.set(path, `${value as string | number | boolean}`);
  else for (const [key, inner] of Object.entries(value)) for (const [p, v] of fields(inner, path ? `${path}.${key}` : key)) out.set(p, v);
  return out;
}

/** What a person knows of a version: a tool by its name. */
function told(data: Data): Fields {
  const pin = toolIn(data);
  const named = pin ? { tool: t.shoe.called(toolAt(pin)?.name ?? pin.id.slice(0, 6), pin.revision) } : {};
  return fields({ ...data, ...Object.fromEntries(UNSAID.map((name) => [name, null])), ...named });
}

const usual = (kind: string, path: string): string => USUAL[[kind, ...path.split('.').filter((part) => !isPlace(part))].join('.')] ?? '';

/** It says what it would say if nothing were written. */
const isUsual = (kind: string, of: Fields, path: string): boolean => !of.has(path) || of.get(path) === usual(kind, path);

/** What a version says there: where nothing is written what is usual, unless it is of a thing that is not there. */
function said(kind: string, of: Fields, path: string): string {
  const above = path.split('.').slice(0, -1);
  const there = !above.some(isPlace) || [...of.keys()].some((one) => one.startsWith(`${above.join('.')}.`));
  return of.get(path) ?? (there ? usual(kind, path) : '');
}

interface Difference {
  /** In words: 'leg 1, saddle, center'. */
  field: string;
  here: string;
  there: string;
}

export function differences(kind: string, here: Data, there: Data): Difference[] {
  const [one, two] = [told(here), told(there)];
  return [...new Set([...one.keys(), ...two.keys()])]
    .filter((path) => ![one, two].every((of) => isUsual(kind, of, path)))
    .map((path) => ({ field: inWords(path), here: said(kind, one, path), there: said(kind, two, path) }))
    .filter((d) => d.here !== d.there);
}

/** All that a version says, as one text: equal for two that say the same. What a run is called for people says nothing of it. */
export function saidOf(kind: string, data: Data): string {
  const of = told(kind === 'run' ? { ...data, key: '' } : data);
  return [...of]
    .filter(([path]) => !isUsual(kind, of, path))
    .map(([path, value]) => `${path}: ${value}`)
    .sort()
    .join('\n');
}

/** What a person calls it: a run by where it goes. */
export function nameOf(rec: Rec): string {
  const data = rec.data ?? rec.there?.data;
  const name = data && rec.kind === 'run' ? surveyOf(data).run.name : (KINDS[rec.kind]?.called ?? '{name}').replace(/\{(\w+)\}/g, (_, field: string) => textIn(data ?? null, field));
  return name || t.job.noName;
}
