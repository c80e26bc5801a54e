/** Which finished pieces tell what a tool does wrong: those measured before anything was corrected on them. */
import type { BenderRecord, MeasuredPiece, ToolPin } from '../../engine/types';
import { ofCopy, pieceName } from '../kept/copies';
import { surveyed } from '../kept/job-file';
import { copyOf, copyTold, type KeptRun, type SeenEntry } from '../kept/view';
import { t } from '../../text/words';

/** So many are asked about at once, the newest. */
const MOST = 40;

/** The first readings of each piece and copy, unless it was corrected before. */
export function firstReadings(entries: readonly SeenEntry[]): SeenEntry['entry'][] {
  const out = new Map<string, SeenEntry['entry'] | null>();
  for (const { entry } of entries) {
    const { kind } = entry.what;
    const of = `${entry.piece ?? 1} ${copyOf(entry)}`;
    if ((kind === 'readings' || kind === 'corrected') && !out.has(of)) out.set(of, kind === 'readings' ? entry : null);
  }
  return [...out.values()].flatMap((entry) => entry ?? []);
}

/** The newest figures of the tool that pieces were measured with; those on other figures cannot be held to the same. */
function newest(runs: readonly KeptRun[]): number {
  const revisions = runs.filter((run) => firstReadings(run.entries).length > 0).map((run) => run.tool!.revision);
  return revisions.includes(0) ? 0 : Math.max(0, ...revisions);
}

export interface Finished {
  pieces: MeasuredPiece[];
  readings: number;
  /** Measured on other figures of the tool, or too many. */
  others: number;
}

/** The pieces of these runs that were bent on the tool, as the engine is asked about them. `at`: its figures then. */
export function finishedOn(tool: string, runs: readonly KeptRun[], at: (pin: ToolPin) => { name: string; profile: BenderRecord } | null): Finished {
  const on = runs.filter((run) => run.tool?.id === tool);
  const revision = newest(on);
  const [pieces, out] = [[] as MeasuredPiece[], { others: 0 }];
  for (const run of on) {
    const shoe = at(run.tool!);
    for (const entry of firstReadings(run.entries)) {
      if (!shoe || run.tool!.revision !== revision || entry.what.kind !== 'readings') {
        out.others += 1;
        continue;
      }
      const piece = entry.piece ?? 1;
      const name = pieceName(run.key || run.survey.run.name || t.job.noName, piece, copyTold(entry, run.times));
      const marks = entry.pins?.marks ?? '';
      const anew = ofCopy(run.entries, copyOf(entry)).some((one) => one.entry.what.kind === 'made' && !!one.entry.what.anew && (one.entry.piece ?? 1) === piece);
      pieces.push({ ...surveyed(run), bender: shoe.profile, bender_name: shoe.name, piece, kept: entry.what.measured, marks, ...(anew ? { anew } : {}), name });
    }
  }
  const taken = pieces.slice(-MOST);
  return { pieces: taken, readings: taken.reduce((sum, { kept = [] }) => sum + kept.length, 0), others: out.others + pieces.length - taken.length };
}
