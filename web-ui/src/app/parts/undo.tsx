/** What was taken away comes back by one tap, for as long as the person stays on the screen: the last goes first. */
import { useEffect, useState } from 'preact/hooks';
import { t } from '../../text/words';
import { say } from '../kept/state';
import { Icon } from './icons';

interface Taken {
  words: string;
  back: () => void;
}

let taken: readonly Taken[] = [];
const listeners = new Set<() => void>();

function change(to: readonly Taken[]): void {
  taken = to;
  for (const listener of Array.from(listeners)) listener();
}

/** Something was taken away: `words` say what, `back` brings it back. */
export const took = (words: string, back: () => void): void => change([...taken, { words, back }]);

/** The person has left the screen. */
export const settle = (): void => change([]);

function undo(last: Taken): void {
  change(taken.filter((one) => one !== last));
  last.back();
  say(t.undo.back(last.words));
}

export function UndoBar() {
  const [, turn] = useState(0);
  useEffect(() => {
    const listener = (): void => turn((n) => n + 1);
    listeners.add(listener);
    return () => {
      listeners.delete(listener);
    };
  }, []);
  const last = taken[taken.length - 1];
  if (!last) return null;
  return (
    <div class="undo-bar">
      <span role="status">{t.undo.gone(last.words)}</span>
      <button type="button" class="undo-button" onClick={() => undo(last)}>
        <Icon name="undo" />
        {t.undo.undo}
      </button>
    </div>
  );
}
