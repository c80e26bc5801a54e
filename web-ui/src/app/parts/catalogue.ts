/** What forms offer: asked of the engine once. */
import { useEffect, useState } from 'preact/hooks';
import type { Catalogue } from '../../engine/types';
import { ask } from '../kept/ask';

let known: Catalogue | null = null;

/** null until the engine has said it. */
export function useCatalogue(): Catalogue | null {
  const [, loaded] = useState(0);
  useEffect(() => {
    if (known) return;
    void ask('catalogue', {}).then((reply) => {
      if (reply.ok) known = reply.answer;
      loaded(1);
    });
  }, []);
  return known;
}
