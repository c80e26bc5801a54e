/** The person's own shoes, one a raceway: each a tool of the shop; which of them is used on this device stays here.
 * Every question about a run takes the one that fits its raceway. */
import { OWN_NAME, type BenderRecord, type ToolAt, type ToolPin } from '../../engine/types';
import { toolOf } from './before';
import { getRec, local, nextMade, put } from './kept';
import { freshId } from './make';
import { atRevision, fresh, textIn, written } from './record';
import type { KeptRun } from './view';

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

/** That shoe as a tool of a job, under the name that the engine gives an own shoe. */
export function shoeTool(raceway: string): ToolAt | null {
  const profile = shoeFor(raceway);
  const rec = getRec(chosen(raceway)?.tool ?? '');
  return profile && rec ? { id: rec.id, revision: rec.agreed.revision || 1, name: OWN_NAME, profile } : null;
}

/** The tool that a run is put on, as it stood then; null where that is not on this device. */
export function toolAt({ id, revision }: ToolPin): ToolAt | null {
  const data = atRevision(getRec(id), revision);
  return data && { id, revision, name: textIn(data, 'name'), profile: data['profile'] as BenderRecord };
}

/** Whether a run cannot be planned here, as its tool's figures are not on this device. */
export const lacksTool = ({ tool, survey }: KeptRun): boolean => tool !== null && !survey.run.bend_radius && !toolAt(tool);

/** What a run is bent on, for a question: its tool, else the own shoe for its raceway. */
export function benderOf({ tool, survey }: KeptRun): { bender?: BenderRecord; bender_name?: string } {
  const at = tool && toolAt(tool);
  if (at) return { bender: at.profile, bender_name: at.name };
  const bender = tool ? null : shoeFor(survey.run.raceway);
  return bender ? { bender } : {};
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
