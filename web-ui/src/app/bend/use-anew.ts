/** The kept new marks of a piece as the engine shows them, for Bend and Check. */
import { useEffect, useState } from 'preact/hooks';
import type { BendAtBench, MarkedBend, Plan, RemarkAnswer, Trouble } from '../../engine/types';
import { ask } from '../kept/ask';
import { copyAtHand, ofCopy } from '../kept/copies';
import { surveyed } from '../kept/job-file';
import type { KeptRun } from '../kept/state';
import { keptAnew, otherMade, recordOf, type Kept } from './anew';

export interface Anew {
  /** Null: none are kept any more, and bends were made by some. */
  kept: Kept | null;
  /** Null: on its way, or not to be had. */
  answer: RemarkAnswer | null;
  error: Trouble | null;
}

/** Null: the plan's own marks hold, of bends too that were made by others. */
export function useAnew(run: KeptRun, plan: Plan, piece: number): Anew | null {
  const entries = ofCopy(run.entries, copyAtHand(run));
  const kept = keptAnew(entries, piece, plan.digest);
  const others = otherMade(entries, piece, plan.digest);
  const id = kept || others.length ? [kept?.entry.id, plan.digest, ...others].join(' ') : '';
  const record = recordOf(entries, piece, plan.digest); // what is made since is told as done
  const [got, setGot] = useState<{ id: string; answer: RemarkAnswer | null; error: Trouble | null }>({ id: '', answer: null, error: null });
  useEffect(() => {
    if (!id) return undefined;
    let gone = false;
    void ask('remark', { ...surveyed(run), piece, record }).then((reply) => {
      if (!gone) setGot({ id, answer: reply.ok ? reply.answer : null, error: reply.ok ? null : reply.error });
    });
    return () => {
      gone = true;
    };
  }, [id, record.length]);
  if (!id || (!kept && got.id === id && got.answer)) return null;
  return got.id === id ? { kept, answer: got.answer, error: got.error } : { kept, answer: null, error: null };
}

/** What a bend is called, and where its mark stands, by the marks that hold; '' where that is not known, as of one that was made
 * elsewhere than planned. */
export function calledNow(anew: Anew | null, bend: MarkedBend, words: BendAtBench): { name: string; tape: string } {
  const kept = anew?.kept?.entry.what;
  const isAnew = kept?.anew.marks.some((mark) => mark.number === bend.number);
  if (!isAnew) return { name: words.name, tape: kept?.bends.some((one) => one.number === bend.number && one.mark_mm != null) ? '' : bend.mark_tape };
  const mark = anew?.answer?.marks.find((one) => one.number === bend.number);
  return { name: mark && !mark.further_deg ? mark.name : words.name, tape: mark?.mark.tape ?? '' };
}
