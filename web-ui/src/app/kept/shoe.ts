/** The tools that runs are on, each a tool of the shop. Which of them new runs of a raceway are put on is a choice of this
 * device. */
import type { BenderRecord, ToolAt, ToolPin } from '../../engine/types';
import { allRecs, getRec, local, putLocal } from './kept';
import { atRevision, profileIn, revisionsOf, same, textIn, toolIn, type Rec } from './record';
import type { KeptRun } from './view';

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
/** It as it is now. */
export const pinOf = (rec: Rec): ToolPin => ({ id: rec.id, revision: rec.open ? 0 : rec.agreed.revision });

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
  const profile = profileIn(data);
  return data && profile && { id, revision, name: textIn(data, 'name'), profile };
}

/** What has no revision in the shop yet, by the one that it would become. */
export const numbered = ({ id, revision }: ToolPin): ToolPin => ({ id, revision: revision || (getRec(id)?.agreed.revision ?? 0) + 1 });

/** What a tool of a file is here: as it is named there, else what has its name and its figures. */
export function knownPin(pin: ToolPin, given: ToolAt | undefined): ToolPin | null {
  if (toolAt(pin)) return pin;
  if (!given) return null;
  for (const rec of allRecs()) {
    const found = rec.kind === 'tool' && revisionsOf(rec).find(({ data }) => textIn(data, 'name') === given.name && same(data['profile'], given.profile));
    if (found) return { id: rec.id, revision: found.revision };
  }
  return null;
}

/** Whether a run cannot be planned here, as its tool's figures are not on this device. */
export const lacksTool = ({ tool, survey }: KeptRun): boolean => tool !== null && !survey.run.bend_radius && !toolAt(tool);

/** What a run is bent on, for a question: its tool; without one, what its survey says, or the trade's shoe. */
export function benderOf({ tool }: KeptRun): { bender?: BenderRecord; bender_name?: string } {
  const at = tool && toolAt(tool);
  return at ? { bender: at.profile, bender_name: at.name } : {};
}

/** Which tool new runs of a raceway are put on here; '' for the trade's shoe. */
export const forNew = (raceway: string): string => recFor(raceway)?.id ?? '';
export const setForNew = (raceway: string, tool: string): void => void putLocal(`shoe:${raceway}`, { tool, used: tool !== '' } satisfies Chosen);
