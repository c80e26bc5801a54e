/** A second tap so soon after the first (ms) is the other half of a double tap. */
const DOUBLE_TAP_MS = 400;

/** When each button last did its deed, by the clock of events; infinite while it does. */
const did = new WeakMap<EventTarget, number>();

/** Does what a button makes, once a double tap, and not again while it is still being made. */
export async function once({ currentTarget: button, timeStamp }: Event, deed: () => unknown): Promise<void> {
  if (!button || timeStamp - (did.get(button) ?? -Infinity) < DOUBLE_TAP_MS) return;
  did.set(button, Infinity);
  try {
    await deed();
  } finally {
    did.set(button, timeStamp);
  }
}
