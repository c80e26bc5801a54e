/** For what a form asks: its answer is none once something that was asked about is changed, or asked anew. */
import { useRef } from 'preact/hooks';

/** Called where it is asked and where it is changed; what it gives says whether nothing of both came since. */
export function useNewest(): () => () => boolean {
  const turn = useRef(0);
  return () => {
    const mine = (turn.current += 1);
    return () => mine === turn.current;
  };
}
