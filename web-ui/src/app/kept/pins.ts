/** Runs and the revisions of the tools that they are on: a run stays on the figures that it was put on. */
import type { ToolPin } from '../../engine/types';
import type { Keeper } from './exchange';
import { atRevision, fresh, onRevision, same, toolIn, written, type Rec } from './record';
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
  for (const { id: run, kind } of keeper.all()) {
    const rec = now.has(run) ? now.get(run) : keeper.get(run);
    const pin = kind === 'run' && rec ? toolIn(rec.data) : undefined;
    const tool = pin?.revision && gone.has(pin.id) ? keeper.get(pin.id) : undefined;
    const was = tool && pin ? atRevision(tool, pin.revision) : null;
    if (!rec || !tool || !was) continue;
    const id = same(was, tool.data) ? tool.id : idOf(`racewright figures ${tool.id} ${JSON.stringify(was['profile'])}`);
    if (!keeper.get(id) && !now.has(id)) now.set(id, fresh('tool', id, '', { ...was, id }, keeper.nextMade()));
    now.set(run, written(rec, { ...rec.data, tool: { id, revision: 0 } satisfies ToolPin }));
  }
}
