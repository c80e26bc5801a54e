/** The tools that runs are on, and the person's own shoes, one a raceway: each a tool of the shop. Which of them new runs
 * are put on is a choice of this device. */
import type { BenderRecord, ToolAt, ToolPin } from '../../engine/types';
import { toolOf } from './before';
import { allRecs, getRec, local, nextMade, put, putLocal } from './kept';
import { freshId } from './make';
import { atRevision, fresh, textIn, toolIn, written, type Rec } from './record';
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

const recFor = (raceway: string): Rec | undefined => {
  const { tool, used } = chosen(raceway) ?? { tool: '', used: false };
  const rec = used ? getRec(tool) : undefined;
  return rec?.data ? rec : undefined;
};
const pinOf = (rec: Rec): ToolPin => ({ id: rec.id, revision: rec.open ? 0 : rec.agreed.revision });

/** What a new run of this raceway is put on: the own shoe as it is now. */
export function pinFor(raceway: string): ToolPin | undefined {
  const rec = recFor(raceway);
  return rec && pinOf(rec);
}

/** The run's tool as it was measured since it was put on it; null where it was not. */
export function newerOf({ tool }: KeptRun): ToolPin | null {
  const rec = tool?.revision ? getRec(tool.id) : undefined;
  if (!rec?.data) return null;
  const now = pinOf(rec);
  return now.revision === 0 || now.revision > tool!.revision ? now : null;
}

/** The runs that are on figures of this tool which have no revision in the shop yet. */
export function runsOnWritten(tool: string): Rec[] {
  const found: Rec[] = [];
  for (const rec of allRecs()) {
    const pin = rec.kind === 'run' ? toolIn(rec.data) : undefined;
    if (pin?.id === tool && pin.revision === 0) found.push(rec);
  }
  return found;
}

/** The tool that a run is put on, as it stood then; null where that is not on this device. */
export function toolAt({ id, revision }: ToolPin): ToolAt | null {
  const data = atRevision(getRec(id), revision);
  return data && { id, revision, name: textIn(data, 'name'), profile: data['profile'] as BenderRecord };
}

/** Whether a run cannot be planned here, as its tool's figures are not on this device. */
export const lacksTool = ({ tool, survey }: KeptRun): boolean => tool !== null && !survey.run.bend_radius && !toolAt(tool);

/** What a run is bent on, for a question: its tool; without one, what its survey says, or the trade's shoe. */
export function benderOf({ tool }: KeptRun): { bender?: BenderRecord; bender_name?: string } {
  const at = tool && toolAt(tool);
  return at ? { bender: at.profile, bender_name: at.name } : {};
}

/** The own shoe for a raceway as it was entered: plain numbers are inches, as take-ups are stamped, unless a unit stands there. */
export function ownShoe(raceway: string): OwnShoe | null {
  const profile = recFor(raceway)?.data?.['profile'] as BenderRecord | undefined;
  if (!profile) return null;
  const { take_up = '', gain = '', hook_reach = '', grip = '' } = profile;
  return { take_up, gain, hook_reach, grip };
}

/** Why the shop does not take the own shoe for a raceway, or ''. */
export const shoeRefusal = (raceway: string): string => getRec(chosen(raceway)?.tool ?? '')?.refusal?.words ?? '';

const setUsed = (raceway: string, used: boolean): void => void putLocal(`shoe:${raceway}`, { tool: chosen(raceway)?.tool ?? '', used } satisfies Chosen);
/** No own shoe for new runs of this raceway from now on. What is on it stays on it. */
export const dropShoe = (raceway: string): void => setUsed(raceway, false);
/** That one again. */
export const withShoe = (raceway: string): void => setUsed(raceway, true);

/** The own shoe for a raceway as entered with this run: its next revision, or where other runs are on figures of it that have
 * none yet (they do not move) a tool by itself. Gives what this run is to be put on. */
export function keepShoe(raceway: string, shoe: OwnShoe, run: string): ToolPin {
  const tool = chosen(raceway)?.tool ?? '';
  const others = runsOnWritten(tool).some((rec) => rec.id !== run);
  const rec = others ? undefined : getRec(tool);
  const id = rec?.data ? tool : freshId();
  const data = toolOf(id, raceway, { ...shoe });
  const before = (getRec(tool)?.data?.['profile'] as object | undefined) ?? {};
  const rest = Object.entries(before).filter(([field]) => !(field in NO_SHOE)); // springback stays
  const profile = { ...Object.fromEntries(rest), ...(data['profile'] as object) };
  const now = rec?.data ? written(rec, { ...rec.data, profile }) : fresh('tool', id, '', { ...data, profile }, nextMade());
  void put(new Map([[id, now]]), { [`shoe:${raceway}`]: { tool: id, used: true } satisfies Chosen });
  return pinOf(now!);
}
