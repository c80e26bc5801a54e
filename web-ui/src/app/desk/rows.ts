/** The runs of a job as the desk lists them: what is looked for, sorted and counted. Functions of values alone. */
import { STATUSES, type JobRun, type Status } from '../../engine/types';
import type { Rec } from '../kept/record';
import { counted, type KeptRun, type SeenEntry } from '../kept/view';
import type { Facts, Worst } from '../parts/facts';

export interface Row {
  run: KeptRun;
  key: string;
  name: string;
  area: string;
  raceway: string;
  /** All that is searched, in small letters. */
  words: string;
  /** Who touched it last, '' where nobody is known; when, in ms, 0 where that is not known. */
  by: string;
  at: number;
  /** Everybody who did something on it. */
  people: readonly string[];
  /** The name and all that is sorted by, so that 9 comes before 10. */
  order: Readonly<Record<'key' | 'name' | 'area' | 'raceway' | 'by', string>>;
  step: number;
}

export const COLUMNS = ['key', 'name', 'area', 'raceway', 'status', 'by', 'at', 'found', 'open', 'watch'] as const;
export type Column = (typeof COLUMNS)[number];
export interface Sort {
  by: Column;
  down: boolean;
}
export interface Wanted {
  words: string;
  status: string;
  area: string;
  person: string;
  found: string;
}
export const ALL: Wanted = { words: '', status: '', area: '', person: '', found: '' };
/** For an area that a run has none of. */
export const NO_AREA = '\u0000';

const time = (at: string): number => Date.parse(at) || 0;
const natural = (text: string): string => text.toLowerCase().replace(/\d+/g, (digits) => digits.padStart(9, '0'));

/** `rec`: the record of the run; `here`: who writes on this device. */
export function rowOf(run: KeptRun, rec: Rec, here: string): Row {
  const { key, area = '', survey } = rec.data as unknown as JobRun;
  const { name, raceway } = survey.run;
  const last = lastTouch(rec, run.entries, here);
  const people = [...new Set([rec.agreed.by, ...run.entries.map((one) => one.by), last.by])].filter(Boolean);
  const order = { key: natural(key), name: natural(name), area: natural(area), raceway: natural(raceway), by: natural(last.by) };
  const step = run.statuses.reduce((sum, status) => sum + STATUSES.indexOf(status), 0) / run.times;
  return { run, key, name, area, raceway, words: `${key} ${name} ${area} ${raceway}`.toLowerCase(), ...last, people, order, step };
}

/** What is written here and not in the shop yet comes after all that is. */
function lastTouch(rec: Rec, entries: readonly SeenEntry[], here: string): { by: string; at: number } {
  let last = { by: rec.agreed.by, at: time(rec.agreed.at) };
  for (const { by, at } of entries) if (time(at) >= last.at && by) last = { by, at: time(at) };
  return rec.open && here ? { by: here, at: 0 } : last;
}

const SEVERITY: readonly Worst[] = ['problem', 'caution', 'open', 'none'];
/** Of what is not worked out yet nothing is known: last. */
const severity = (facts: Facts | undefined): number => (facts ? SEVERITY.indexOf(facts.worst) : SEVERITY.length);
const watched = (row: Row, facts: Facts | undefined): number => (row.run.where === 'choose' ? 0 : 2) + (facts?.against.length ? 0 : 1);

type Known = (run: KeptRun) => Facts | undefined;

/** The rows that are wanted. A run that is not worked out yet is not among those of a finding. */
export function found(rows: readonly Row[], wanted: Wanted, known: Known): Row[] {
  const parts = wanted.words.toLowerCase().split(/\s+/).filter(Boolean);
  return rows.filter((row) => {
    if (!parts.every((part) => row.words.includes(part))) return false;
    if (wanted.status && !row.run.statuses.includes(wanted.status as Status)) return false;
    if (wanted.area && row.area !== (wanted.area === NO_AREA ? '' : wanted.area)) return false;
    if (wanted.person && !row.people.includes(wanted.person)) return false;
    return !wanted.found || hasFinding(row, wanted.found, known(row.run));
  });
}

function hasFinding(row: Row, wanted: string, facts: Facts | undefined): boolean {
  if (wanted === 'clash') return row.run.where === 'choose';
  return facts?.worst === wanted || !!facts?.against.some((one) => one.rule === wanted);
}

/** Whether what is wanted rests on plans. */
export const asksPlans = (wanted: Wanted, sort: Sort): boolean => (wanted.found !== '' && wanted.found !== 'clash') || sort.by === 'found' || sort.by === 'open' || sort.by === 'watch';

export function sorted(rows: readonly Row[], { by, down }: Sort, known: Known): Row[] {
  const value = (row: Row): string | number => {
    if (by === 'status') return row.step;
    if (by === 'at') return row.at;
    if (by === 'found') return severity(known(row.run));
    if (by === 'open') return known(row.run)?.open ?? -1;
    if (by === 'watch') return watched(row, known(row.run));
    return row.order[by];
  };
  const way = down ? -1 : 1;
  return rows
    .map((row, at) => ({ row, at, value: value(row) }))
    .sort((a, b) => (a.value < b.value ? -way : a.value > b.value ? way : a.at - b.at))
    .map(({ row }) => row);
}

export interface Total {
  area: string;
  all: number;
  status: Readonly<Record<Status, number>>;
}

const total = (area: string, status: Record<Status, number>): Total => ({ area, status, all: STATUSES.reduce((sum, one) => sum + status[one], 0) });
const none = (): Record<Status, number> => Object.fromEntries(STATUSES.map((status) => [status, 0])) as Record<Status, number>;

/** How many have each status, each copy counted: of every area in the order given, those of none last, then of all. */
export function totals(rows: readonly Row[], areas: readonly string[]): Total[] {
  const sums = new Map<string, Record<Status, number>>();
  const all = none();
  for (const { area, run } of rows) {
    if (!sums.has(area)) sums.set(area, none());
    for (const { status, count } of counted(run.statuses)) {
      sums.get(area)![status] += count;
      all[status] += count;
    }
  }
  const listed = [...new Set([...areas, ...sums.keys()])].filter((area) => area && sums.has(area));
  const ofNone = sums.get('');
  return [...listed.map((area) => total(area, sums.get(area)!)), ...(ofNone ? [total(NO_AREA, ofNone)] : []), total('', all)];
}
