/** Runs and the revisions of the tools that they are on: a run stays on the figures that it was put on. */
import type { Changed } from '../../engine/records';
import type { ToolPin } from '../../engine/types';
import type { Keeper } from './exchange';
import { atRevision, fresh, onRevision, same, toolIn, written, type Data, type Rec } from './record';
import { idOf } from './sha256';

/** Runs on figures that were written here name their revision, now that it is known. */
export async function pinRuns(keeper: Keeper): Promise<void> {
  const changes = new Map<string, Rec | null>();
  for (const rec of keeper.all()) {
    const tool = rec.kind === 'run' ? toolIn(rec.data) : undefined;
    const now = tool?.revision === 0 ? onRevision(rec, keeper.get(tool.id)) : null;
    if (now) changes.set(rec.id, now);
  }
  if (changes.size) await keeper.put(changes);
}

/** The shop does not have these tools any longer, and their revisions begin anew where they are offered again: a run on one
 * of them goes by its figures, of which the revision is known when the shop has them. Figures that the tool had before are
 * a tool by itself, the same on every device. `now`: records as they are about to be; what is to be besides is added. */
export function onFigures(keeper: Keeper, gone: ReadonlySet<string>, now: Map<string, Rec | null>): void {
  if (!gone.size) return;
  stayOn(keeper, now, (pin) => {
    const tool = gone.has(pin.id) ? keeper.get(pin.id) : undefined;
    const was = atRevision(tool, pin.revision);
    return was && { was, id: same(was, tool!.data) ? pin.id : byItself(pin.id, was) };
  });
}

/** The shop's file was brought back from a backup, as its tools show: a run on a revision whose figures are others there, or (where
 * all of the file was told: `all`) that is not there, stays on those that it was put on: by the number that they have there now,
 * else as a tool by itself. */
export function onFiguresBefore(keeper: Keeper, told: readonly Changed[], all: boolean, now: Map<string, Rec | null>): void {
  const anew = new Map(told.filter(({ kind }) => kind === 'tool').map((one) => [one.id, one]));
  if (!anew.size) return;
  stayOn(keeper, now, (pin) => {
    const one = anew.get(pin.id);
    const was = one ? atRevision(keeper.get(pin.id), pin.revision) : null;
    const there = one ? [one, ...(one.past ?? [])].filter(({ data }) => data) : [];
    const is = there.find(({ revision }) => revision === pin.revision);
    if (!was || (is ? same(was, is.data) : !all)) return null;
    const again = there.find(({ data }) => same(was, data));
    return again ? { was, id: pin.id, revision: again.revision } : { was, id: byItself(pin.id, was) };
  });
}

const byItself = (tool: string, was: Data): string => idOf(`racewright figures ${tool} ${JSON.stringify(was['profile'])}`);

/** Runs on a pin of which `of` says figures are put on these, under that id. */
function stayOn(keeper: Keeper, now: Map<string, Rec | null>, of: (pin: ToolPin) => { was: Data; id: string; revision?: number } | null): void {
  for (const { id: run, kind } of keeper.all()) {
    const rec = now.has(run) ? now.get(run) : keeper.get(run);
    const pin = kind === 'run' && rec ? toolIn(rec.data) : undefined;
    const stays = pin?.revision ? of(pin) : null;
    if (!rec || !stays) continue;
    const { id, was, revision = 0 } = stays;
    if (!keeper.get(id) && !now.has(id)) now.set(id, fresh('tool', id, '', { ...was, id }, keeper.nextMade()));
    now.set(run, written(rec, { ...rec.data, tool: { id, revision } satisfies ToolPin }));
  }
}
