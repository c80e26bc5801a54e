/** The part of the page that is fetched once the first screen stands, and at the latest when a screen of it is opened. */
import type { ComponentProps, FunctionComponent } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { t } from '../text/words';

type Screens = typeof import('./screens');
type Props<N extends keyof Screens> = ComponentProps<Screens[N]> & object;

let screens: Screens | null = null;

export async function fetchScreens(): Promise<void> {
  screens ??= await import('./screens');
}

export function later<N extends keyof Screens>(name: N): FunctionComponent<Props<N>> {
  return function Later(props: Props<N>) {
    const [failed, setFailed] = useState(false);
    const [, turn] = useState(0);
    useEffect(() => {
      if (!screens) fetchScreens().then(() => turn(1), () => setFailed(true));
    }, []);
    const Shown = screens?.[name] as FunctionComponent<Props<N>> | undefined;
    return Shown ? <Shown {...props} /> : <p class="quiet pad">{failed ? t.engine.failed : t.loading}</p>;
  };
}
