/** What is going on, and since when: what takes over a second is told in the header, whatever screen it is for. */
export type What = 'asking' | 'sharing' | 'taking';

export interface Work {
  what: What;
  /** On the clock of `performance.now()`. */
  since: number;
}

const SHOWN_AFTER_MS = 1000;

const going = new Set<Work>();
let tell: () => void = () => undefined;

/** What to do when a work comes to be told, or is over after it was. */
export const onWork = (turned: () => void): void => {
  tell = turned;
};

/** The one that has gone on longest, of those that are told. */
export function toldWork(): Work | null {
  const [first] = going; // they are in the order in which they began
  return first && performance.now() - first.since >= SHOWN_AFTER_MS ? first : null;
}

export async function during<T>(what: What, work: Promise<T>): Promise<T> {
  const one = { what, since: performance.now() };
  going.add(one);
  const late = setTimeout(() => tell(), SHOWN_AFTER_MS + 1);
  try {
    return await work;
  } finally {
    const told = toldWork() === one;
    clearTimeout(late);
    going.delete(one);
    if (told) tell();
  }
}
