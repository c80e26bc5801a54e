/** The shop's bending tools as they are kept here: listed, written down, taken out, brought back. */
import type { BenderRecord, ToolPin } from '../../engine/types';
import { allRecs, getRec, nextMade, put } from './kept';
import { freshId } from './make';
import { fresh, profileIn, revisionsOf, textIn, toolIn, written, type Data } from './record';
import { pinOf, runsOnWritten } from './shoe';
import { viewOf, type KeptRun } from './state';
import { isBegun } from './view';

/** A tool as it was; revision 0: as it is written here, and not in the shop yet. */
export interface ToolWas {
  revision: number;
  name: string;
  profile: BenderRecord;
  by: string;
  at: string;
}

export interface KeptTool extends ToolWas {
  id: string;
  /** What a person calls it: of several that bear one name the first bears it alone. */
  called: string;
  raceway: string;
  /** Taken out of the shop; runs that are on it keep its figures. */
  gone: boolean;
  /** Why the shop does not take what is written here, or ''. */
  refusal: string;
  /** All that it was, newest first. */
  revisions: readonly ToolWas[];
}

const LEAST_DIGITS = 4;

const racewayOf = ({ raceway, size }: BenderRecord): string => `${raceway} ${size}`;

/** All tools that were ever known here, in the order of the shop, those taken out among them. */
export function shopTools(): KeptTool[] {
  const recs = [...allRecs()].filter((rec) => rec.kind === 'tool').sort((a, b) => (a.order || Infinity) - (b.order || Infinity) || a.made - b.made || 0);
  const taken = new Set<string>();
  const out: KeptTool[] = [];
  for (const rec of recs) {
    const revisions: ToolWas[] = revisionsOf(rec).flatMap(({ data, ...one }) => {
      const profile = profileIn(data);
      return profile ? [{ ...one, name: textIn(data, 'name'), profile }] : [];
    });
    const now = revisions[0];
    if (!now || (rec.data && !profileIn(rec.data))) continue;
    const gone = rec.data === null;
    let called = now.name;
    if (!gone) {
      for (let digits = LEAST_DIGITS; taken.has(called.toLowerCase()); digits += 1) called = `${now.name} ${rec.id.slice(0, digits)}`;
      taken.add(called.toLowerCase());
    }
    out.push({ ...now, id: rec.id, called, raceway: racewayOf(now.profile), gone, refusal: rec.refusal?.words ?? '', revisions });
  }
  return out;
}

/** What the tools are called, and by which ids they are known, whose figures cannot be read here. */
export const unreadTools = (): string[] =>
  [...allRecs()].filter((rec) => rec.kind === 'tool' && rec.data && !profileIn(rec.data)).map((rec) => `${textIn(rec.data, 'name')} (${rec.id.slice(0, LEAST_DIGITS)})`);

interface RunOn {
  run: KeptRun;
  pin: ToolPin;
  begun: boolean;
}

/** The runs of all jobs that are on a tool, as whichever of its revisions. */
export function runsOn(tool: string): RunOn[] {
  const out: RunOn[] = [];
  for (const rec of allRecs()) {
    const pin = rec.kind === 'run' ? toolIn(rec.data) : undefined;
    if (pin?.id !== tool) continue;
    const run = viewOf(rec);
    out.push({ run, pin, begun: isBegun(run) });
  }
  return out;
}

/** A tool written down: the next revision of the one of this id, or a new one. Where runs other than `along` are on figures of
 * it that are not in the shop yet, they do not move: it becomes a tool by itself. Gives its pin. */
export function keepTool(id: string, name: string, profile: BenderRecord, along = ''): ToolPin {
  const rec = getRec(id);
  const apart = runsOnWritten(id).some((run) => run.id !== along);
  const own = rec && !apart ? id : freshId();
  const data: Data = { id: own, name, profile };
  const now = rec && own === id ? written(rec, data) : fresh('tool', own, '', data, nextMade());
  void put(new Map([[own, now]]));
  return pinOf(now!);
}

/** Out of the shop; its revisions stay, and runs on them. */
export function removeTool(id: string): void {
  const rec = getRec(id);
  if (rec) void put(new Map([[id, written(rec, null)]]));
}

/** As it was: its next revision. */
export function bringBack(id: string, { name, profile }: ToolWas): void {
  const rec = getRec(id);
  void put(new Map([[id, rec ? written(rec, { id, name, profile }) : fresh('tool', id, '', { id, name, profile }, nextMade())]]));
}
