/** New records as they are written here. */
import { ENGINE, type Entry, type Pins } from '../../engine/types';
import type { Data } from './record';

/** 128 bits that nothing else has. */
export function freshId(): string {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, '0')).join('');
}

/** A run's label for people, which two phones without a network give differently. */
export const keyOf = (id: string): string => `R-${id.slice(0, 4).toUpperCase()}`;

export interface Said {
  by: string;
  at: string;
  piece?: number;
  copy?: number;
  pins?: Omit<Pins, 'engine'>;
}

export function entryOf(id: string, run: string, what: Entry['what'], { by, at, piece, copy, pins }: Said): Data {
  return { id, run, ...(piece === undefined ? {} : { piece }), ...(copy === undefined ? {} : { copy }), what, pins: { ...pins, engine: ENGINE }, by, at };
}

/** What an entry says, of entries that have these ids by now (records/entry.py: `called_anew`). */
export function calledAnew(what: Entry['what'], ids: ReadonlyMap<string | undefined, string>): Entry['what'] {
  if (what.kind !== 'made' || ![...what.bends, ...(what.steps ?? [])].some((one) => ids.has(one.by_marks))) return what;
  const now = <T extends { by_marks?: string }>(one: T): T => ({ ...one, by_marks: ids.get(one.by_marks) ?? one.by_marks ?? '' });
  return { ...what, bends: what.bends.map(now), ...(what.steps ? { steps: what.steps.map(now) } : {}) };
}
