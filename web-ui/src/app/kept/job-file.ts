/** A job as one file: every run's survey and status. What comes in is checked before it is taken. */
import { t } from '../../text/words';
import { STATUSES, type KeptRun, type Status } from './state';
import { isLeg, type Part, type Survey } from './survey';

const FORMAT = 'racewright job 1';
const MOST_CHARS = 2_000_000;

export function jobFile(runs: readonly KeptRun[]): string {
  const plain = runs.map(({ survey, status, changed }) => ({ survey, status, changed }));
  return JSON.stringify({ format: FORMAT, runs: plain }, null, 1);
}

export interface ReadRun {
  survey: Survey;
  status: Status;
}

/** The runs of a file, or in words why it cannot be taken. A single survey file in JSON is taken as well. */
export function readJob(text: string): ReadRun[] | string {
  if (text.length > MOST_CHARS) return t.file.tooBig;
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch {
    return t.file.noJson;
  }
  if (!isObject(data)) return t.file.noJob;
  if (isObject(data['run'])) {
    const survey = surveyFrom(data);
    return survey ? [{ survey, status: 'measured' }] : t.file.noJob;
  }
  if (data['format'] !== FORMAT || !Array.isArray(data['runs'])) return t.file.noJob;
  const out: ReadRun[] = [];
  for (const item of data['runs'] as unknown[]) {
    const survey = isObject(item) ? surveyFrom(item['survey']) : null;
    if (!survey || !isObject(item)) return t.file.noJob;
    const status = STATUSES.find((s) => s === item['status']) ?? 'measured';
    out.push({ survey, status });
  }
  return out;
}

const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** Words of the format that a file may write 'center' as well. */
const CENTER: Record<string, string> = { center: 'centre', 'center-outward': 'centre-outward' };
const SPELLED = new Set(['from', 'to', 'saddle_method']);

/** Numbers become text: every field on the page is what a person wrote. 'center' is read like 'centre'. */
function written(value: unknown, key = ''): unknown {
  if (typeof value === 'number') return String(value);
  if (typeof value === 'string' && SPELLED.has(key)) return CENTER[value] ?? value;
  if (Array.isArray(value)) return value.map((v) => written(v));
  if (isObject(value)) {
    const given = Object.entries(value).filter(([, v]) => v !== null);
    return Object.fromEntries(given.map(([k, v]) => [CENTER[k] ?? k, written(v, k)]));
  }
  return value;
}

export function surveyFrom(value: unknown): Survey | null {
  if (!isObject(value) || !isObject(value['run'])) return null;
  const run = written(value['run']) as Survey['run'];
  const good =
    typeof run.name === 'string' &&
    typeof run.raceway === 'string' &&
    Array.isArray(run.walk) &&
    run.walk.length > 0 &&
    run.walk.every((part: unknown) => isObject(part) && partIsGood(part as unknown as Part));
  if (!good) return null;
  const fraction = ([1, 2, 4, 8, 16, 32] as const).find((f) => f === value['fraction']);
  return { racewright: 1, units: value['units'] === 'mm' ? 'mm' : 'in', ...(fraction ? { fraction } : {}), run };
}

function partIsGood(part: Part): boolean {
  if (!isLeg(part)) return ['left', 'right', 'away', 'toward'].includes(part.turn);
  if (typeof part.leg !== 'string') return false;
  return part.features === undefined || (Array.isArray(part.features) && part.features.every((f: unknown) => isObject(f)));
}
