/** Each made once: making one takes as long as drawing a row of a list. */
const MOMENT = new Intl.DateTimeFormat([], { dateStyle: 'short', timeStyle: 'short' });
const HOUR = new Intl.DateTimeFormat([], { timeStyle: 'short' });
const DAY = new Intl.DateTimeFormat([], { dateStyle: 'short' });

/** A moment as people here write it, short; what is no moment stays as it is written. */
export function when(at: string): string {
  const date = new Date(at);
  return Number.isNaN(date.getTime()) ? at : MOMENT.format(date);
}

/** The hour of today; of another day its date; '' of what is no moment. */
export function shortly(ms: number): string {
  if (Number.isNaN(ms)) return '';
  const date = new Date(ms);
  return (date.toDateString() === new Date().toDateString() ? HOUR : DAY).format(date);
}
