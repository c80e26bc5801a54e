/** Readings of test bends on this device, from the first written until what they give is kept or they are put away. */
import type { TestBendReadings } from '../../engine/types';
import type { Unit } from '../../text/lengths';

export interface Readings {
  unit: Unit;
  bends: readonly Required<TestBendReadings>[];
  fit: 'none' | 'center' | 'star' | 'both';
}

const AT = 'racewright-test-bends';

function all(): Record<string, Readings> {
  try {
    return JSON.parse(localStorage.getItem(AT) ?? '{}') as Record<string, Readings>;
  } catch {
    return {};
  }
}

/** Those of the tool of this id, where there are any. */
export const readingsOf = (tool: string): Readings | undefined => all()[tool];

/** `readings` null: there are none any more. */
export function keepReadings(tool: string, readings: Readings | null): void {
  const { [tool]: _, ...others } = all();
  try {
    localStorage.setItem(AT, JSON.stringify(readings ? { ...others, [tool]: readings } : others));
  } catch {
    // a browser that keeps nothing: they last as long as the screen
  }
}
