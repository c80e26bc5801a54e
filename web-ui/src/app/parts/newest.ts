/** For what a form asks: its answer is none once something that was asked about is changed, or asked anew. */
import { useRef, useState } from 'preact/hooks';
import type { Reply } from '../../engine/engine';

/** Called where it is asked and where it is changed; what it gives says whether nothing of both came since. */
export function useNewest(): () => () => boolean {
  const turn = useRef(0);
  return () => {
    const mine = (turn.current += 1);
    return () => mine === turn.current;
  };
}

/** The answer to what a form asked last, or why there is none; `changed` where something of it is another. */
export function useAsked<A>() {
  const [told, setTold] = useState<Reply<A> | null>(null);
  const turn = useNewest();
  const changed = (): void => {
    turn();
    setTold(null);
  };
  /** What the reply is; null where it is none any more. */
  const asking = async (reply: Promise<Reply<A>>): Promise<Reply<A> | null> => {
    const isNewest = turn();
    const now = await reply;
    if (!isNewest()) return null;
    setTold(now);
    return now;
  };
  return { answer: told?.ok ? told.answer : null, error: told && !told.ok ? told.error : null, changed, asking };
}
