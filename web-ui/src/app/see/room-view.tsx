/** The 3D view: its library is fetched only now. */
import { useEffect, useRef, useState } from 'preact/hooks';
import type { Room } from '../../draw/room3d';
import type { PlanAnswer } from '../../engine/types';
import { t } from '../../text/words';
import { useApp } from '../kept/state';

const DARK = matchMedia('(prefers-color-scheme: dark)');

export function RoomView({ answer }: { answer: PlanAnswer }) {
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
  return (
    <div class="room">
      <canvas ref={canvas} role="img" aria-label={t.see.roomOf(answer.plan.name)} />
      {state !== 'shown' && <p class="room-wait">{state === 'loading' ? t.see.roomLoading : t.see.roomFailed}</p>}
      <div class="room-keys" role="group" aria-label={t.see.standAt}>
        {(['corner', 'front', 'above', 'end'] as const).map((where) => (
          <button key={where} type="button" class="chip" onClick={() => room.current?.stand(where)}>
            {t.see.stands[where]}
          </button>
        ))}
        <button type="button" class="chip" onClick={() => room.current?.turn(-Math.PI / 12)} aria-label={t.see.turnLeft}>
          ⟲
        </button>
        <button type="button" class="chip" onClick={() => room.current?.turn(Math.PI / 12)} aria-label={t.see.turnRight}>
          ⟳
        </button>
      </div>
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
