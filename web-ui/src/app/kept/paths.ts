/** Reading and writing a survey by the path that the engine names a field by: run.walk[0].features[1].saddle.centre */
import type { Survey } from './survey';

export const steps = (path: string): (string | number)[] =>
  [...path.matchAll(/([^.[\]]+)|\[(\d+)\]/g)].map((m) => (m[2] !== undefined ? Number(m[2]) : m[1]!));

export function getAt(survey: Survey, path: string): string {
  let here: unknown = survey;
  for (const step of steps(path)) {
    if (here === null || typeof here !== 'object') return '';
    here = (here as Record<string | number, unknown>)[step];
  }
  return typeof here === 'string' || typeof here === 'number' ? String(here) : '';
}

export function setAt(survey: Survey, path: string, value: string | undefined): void {
  const list = steps(path);
  let here = survey as unknown as Record<string | number, unknown>;
  for (const step of list.slice(0, -1)) {
    if (here[step] === undefined || here[step] === null) here[step] = {};
    here = here[step] as Record<string | number, unknown>;
  }
  const last = list[list.length - 1]!;
  if (value === undefined) delete here[last];
  else here[last] = value;
}

/** The engine's field names begin with the request's own: 'survey.run...' */
export const ownPath = (field: string | undefined): string => (field ?? '').replace(/^survey\./, '');
