/** What was measured on a finished piece, and the correction that was made, kept with the run. */
import { useState } from 'preact/hooks';
import type { Correction, Finding, Plan, Trouble } from '../../engine/types';
import { t } from '../../text/words';
import { note } from '../kept/act';
import { ask } from '../kept/ask';
import { say, type KeptRun } from '../kept/state';
import { copyAtHand } from '../kept/copies';
import { once } from '../parts/once';
import { TroubleNotice } from '../parts/parts';
import { Tail } from '../parts/tail';
import { toRecord, type Reading } from './to-record';

export function KeepReadings({ run, plan, piece, readings, correction }: { run: KeptRun; plan: Plan; piece: number; readings: Reading[]; correction: readonly Correction[] }) {
  const [kept, setKept] = useState<'' | 'readings' | 'corrected'>('');
  const [waiting, setWaiting] = useState(false);
  const [error, setError] = useState<Trouble | null>(null);
  const [told, setTold] = useState<readonly Finding[]>([]);
  const copy = copyAtHand(run);
  const keepReadings = async (): Promise<boolean> => {
    const request = toRecord(run, piece, copy, readings, plan.digest);
    if (!request) return false;
    setWaiting(true);
    const reply = await ask('job_record', request);
    setWaiting(false);
    setError(reply.ok ? null : reply.error);
    if (!reply.ok) return false;
    const { pins, copies, findings } = reply.answer;
    setTold(findings);
    // the tool is the one that the marks are for: the engine has not been told of a shoe of one's own
    for (const what of reply.answer.what) note(run, what, { pins: { ...pins, tool: plan.bender?.name ?? '' }, copy: copies[0], ...(what.kind === 'status' ? {} : { piece }) });
    return true;
  };
  const keep = async (corrected: boolean): Promise<void> => {
    if (kept !== 'readings' && !(await keepReadings())) return;
    if (corrected) {
      const moves = correction.map((move) => ({ number: Math.max(1, move.number), kind: move.what, by_rad: (move.by_deg * Math.PI) / 180 }));
      note(run, { kind: 'corrected', moves }, { piece, copy, pins: { run: run.revision, tool: plan.bender?.name ?? '', marks: plan.digest } });
    }
    setKept(corrected ? 'corrected' : 'readings');
    say(t.check.isKept);
  };
  return (
    <>
      {error && <TroubleNotice error={error} />}
      {copy && <p>{t.job.ofCopy(copy, run.times)}</p>}
      {!kept && (
        <button type="button" class="wide-button" disabled={waiting} onClick={(e) => void once(e, () => keep(false))}>
          {t.check.keepReadings}
        </button>
      )}
      {kept !== 'corrected' && correction.length > 0 && (
        <button type="button" class="wide-button" disabled={waiting} onClick={(e) => void once(e, () => keep(true))}>
          {t.check.keepCorrection}
        </button>
      )}
      {kept && <p>{t.check.isKept}</p>}
      <Tail answer={{ findings: told, not_included: [], cautions: [] }} />
    </>
  );
}
