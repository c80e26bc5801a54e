/** The person's own shoes, one a raceway: each a tool of the shop; which of them is used on this device stays here.
 * Every question about a run takes the one that fits its raceway. */
import type { BenderRecord } from '../../engine/types';
import { toolOf } from './before';
import { getRec, local, nextMade, put } from './kept';
import { freshId } from './make';
import { fresh, written } from './record';

export interface OwnShoe {
  take_up: string;
  gain: string;
  hook_reach: string;
  grip: string;
}

export const NO_SHOE: OwnShoe = { take_up: '', gain: '', hook_reach: '', grip: '' };

/** Which tool is the own shoe for a raceway, and whether it is used. */
interface Chosen {
  tool: string;
  used: boolean;
}
const chosen = (raceway: string): Chosen | undefined => local.get(`shoe:${raceway}`) as Chosen | undefined;

/** Plain numbers are in the unit that the shoe was entered in: inches, as take-ups are stamped, unless a unit stands there. */
export function shoeFor(raceway: string): BenderRecord | null {
  const { tool, used } = chosen(raceway) ?? { tool: '', used: false };
  return used ? ((getRec(tool)?.data?.['profile'] as BenderRecord | undefined) ?? null) : null;
}

export function ownShoe(raceway: string): OwnShoe | null {
  const profile = shoeFor(raceway);
  if (!profile) return null;
  const { take_up = '', gain = '', hook_reach = '', grip = '' } = profile;
  return { take_up, gain, hook_reach, grip };
}

/** Why the shop does not take the own shoe for a raceway, or ''. */
export const shoeRefusal = (raceway: string): string => getRec(chosen(raceway)?.tool ?? '')?.refusal?.words ?? '';

export function keepShoe(raceway: string, shoe: OwnShoe | null): void {
  const { tool } = chosen(raceway) ?? { tool: '' };
  const choice = `shoe:${raceway}`;
  if (!shoe) return void put(new Map(), { [choice]: { tool, used: false } satisfies Chosen });
  const rec = getRec(tool);
  const id = rec?.data ? tool : freshId();
  const data = toolOf(id, raceway, { ...shoe });
  const others = Object.entries((rec?.data?.['profile'] as object | undefined) ?? {}).filter(([field]) => !(field in NO_SHOE)); // springback stays
  const profile = { ...Object.fromEntries(others), ...(data['profile'] as object) };
  const now = rec?.data ? written(rec, { ...rec.data, profile }) : fresh('tool', id, '', data, nextMade());
  void put(new Map([[id, now]]), { [choice]: { tool: id, used: true } satisfies Chosen });
}
