/** A moment as people here write it, short; what is no moment stays as it is written. */
export function when(at: string): string {
  const date = new Date(at);
  return Number.isNaN(date.getTime()) ? at : date.toLocaleString([], { dateStyle: 'short', timeStyle: 'short' });
}

/** The hour of today; of another day its date. */
export function shortly(ms: number): string {
  const date = new Date(ms);
  const today = date.toDateString() === new Date().toDateString();
  return today ? date.toLocaleTimeString([], { timeStyle: 'short' }) : date.toLocaleDateString([], { dateStyle: 'short' });
}
