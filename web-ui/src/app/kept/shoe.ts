/** The person's own shoes, one a raceway, kept on this phone; every question about a run takes the one that fits it. */
import type { BenderRecord } from '../../engine/types';

const PLACE = 'racewright-shoes';

export interface OwnShoe {
  take_up: string;
  gain: string;
  hook_reach: string;
  grip: string;
}

export const NO_SHOE: OwnShoe = { take_up: '', gain: '', hook_reach: '', grip: '' };

function all(): Record<string, OwnShoe> {
  try {
    return JSON.parse(localStorage.getItem(PLACE) ?? '{}') as Record<string, OwnShoe>;
  } catch {
    return {};
  }
}

export function ownShoe(raceway: string): OwnShoe | null {
  return all()[raceway] ?? null;
}

export function keepShoe(raceway: string, shoe: OwnShoe | null): void {
  const shoes = all();
  if (shoe) shoes[raceway] = shoe;
  else delete shoes[raceway];
  try {
    localStorage.setItem(PLACE, JSON.stringify(shoes));
  } catch {
    // a browser that keeps nothing works by the trade's shoe after it is closed
  }
}

/** Plain numbers are in the unit that the shoe was entered in: inches, as take-ups are stamped, unless a unit stands there. */
export function shoeFor(raceway: string): BenderRecord | null {
  const shoe = ownShoe(raceway);
  if (!shoe) return null;
  const [kind = '', ...size] = raceway.trim().split(/\s+/);
  const given = Object.entries(shoe).filter(([, text]) => text.trim() !== '');
  return { raceway: kind, size: size.join(' '), ...Object.fromEntries(given) };
}
