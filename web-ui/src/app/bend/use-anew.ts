/** The kept new marks of a piece as the engine shows them, for Bend and Check. */
import { useEffect, useState } from 'preact/hooks';
import type { Plan, RemarkAnswer, Trouble } from '../../engine/types';
import { t } from '../../text/words';
import { ask } from '../kept/ask';
import { copyAtHand, ofCopy } from '../kept/copies';
import type { KeptRun } from '../kept/state';
import { forEngine } from '../kept/survey';
import { agrees, keptAnew, measuredOf, type Kept } from './anew';

export interface Anew {
  kept: Kept;
  /** Null: on its way, or not to be had. */
  answer: RemarkAnswer | null;
  error: Trouble | null;
}

/** Null: the plan's own marks hold. */
export function useAnew(run: KeptRun, plan: Plan, piece: number): Anew | null {
  const kept = keptAnew(ofCopy(run.entries, copyAtHand(run)), piece, plan.digest);
  const id = kept ? `${kept.entry.id} ${plan.digest}` : '';
  const [got, setGot] = useState<{ id: string; answer: RemarkAnswer | null; error: Trouble | null }>({ id: '', answer: null, error: null });
  useEffect(() => {
    if (!kept) return undefined;
    let gone = false;
    const held = kept.entry.what.anew.in_hand_mm;
    void ask('remark', { survey: forEngine(run.survey), made: measuredOf(kept), piece, ...(held == null ? {} : { stock: `${held} mm` }) }).then((reply) => {
      if (gone) return;
      const same = reply.ok && agrees(kept, reply.answer);
      const other: Trouble = { kind: 'limit', message: t.check.keptOther, hint: t.check.keptOtherHint, field: '', expected: '', example: '', quantity: '', asked: null, limit: null, unit: '' };
      setGot({ id, answer: same ? reply.answer : null, error: reply.ok ? (same ? null : other) : reply.error });
    });
    return () => {
      gone = true;
    };
  }, [id]);
  if (!kept) return null;
  return got.id === id ? { kept, answer: got.answer, error: got.error } : { kept, answer: null, error: null };
}
