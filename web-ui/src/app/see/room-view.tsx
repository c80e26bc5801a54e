/** The 3D view: its library is fetched only now. Until it is there, and where the browser has no WebGL, the engine's own drawing from a corner. */
import { useEffect, useRef, useState } from 'preact/hooks';
import type { Room } from '../../draw/room3d';
import type { PlanAnswer } from '../../engine/types';
import { t } from '../../text/words';
import { useApp, type KeptRun } from '../kept/state';
import { CornerView, TurnKeys } from './corner-view';

const DARK = matchMedia('(prefers-color-scheme: dark)');

export function RoomView({ answer, run }: { answer: PlanAnswer; run: KeptRun }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const room = useRef<Room | null>(null);
  const [state, setState] = useState<'loading' | 'shown' | 'failed'>('loading');
  const light = useLight();
  useEffect(() => {
    let gone = false;
    void import('../../draw/room3d')
      .then(({ openRoom }) => {
        if (gone || !canvas.current) return;
        room.current = openRoom(canvas.current, answer, colours());
        setState('shown');
      })
      .catch(() => setState('failed'));
    return () => {
      gone = true;
      room.current?.close();
      room.current = null;
    };
  }, [answer, light]);
  const shown = state === 'shown';
  return (
    <div class="room">
      {!shown && <CornerView run={run} waiting={state === 'loading'} />}
      <canvas ref={canvas} class={shown ? '' : 'room-coming'} role="img" aria-label={t.see.roomOf(answer.plan.name)} aria-hidden={!shown} />
      {shown && (
        <div class="room-keys" role="group" aria-label={t.see.standAt}>
          {(['corner', 'front', 'above', 'end'] as const).map((where) => (
            <button key={where} type="button" class="chip" onClick={() => room.current?.stand(where)}>
              {t.see.stands[where]}
            </button>
          ))}
          <TurnKeys onTurn={(way) => room.current?.turn((way * Math.PI) / 12)} />
        </div>
      )}
    </div>
  );
}

/** Changes with the colors: by the page's own switch, or by the phone's. */
function useLight(): string {
  const { light } = useApp();
  const [dark, setDark] = useState(DARK.matches);
  useEffect(() => {
    const turn = (): void => setDark(DARK.matches);
    DARK.addEventListener('change', turn);
    return () => DARK.removeEventListener('change', turn);
  }, []);
  return `${light} ${dark}`;
}

function colours() {
  const style = getComputedStyle(document.documentElement);
  const get = (name: string): string => style.getPropertyValue(name).trim();
  return {
    back: get('--stage'),
    tube: get('--tube'),
    thing: get('--thing-solid'),
    mark: get('--mark'),
    grid: get('--line'),
    low: get('--bad'),
  };
}
