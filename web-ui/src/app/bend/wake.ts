/** Keep the screen awake while someone bends with both hands. */
import { useEffect, useState } from 'preact/hooks';

export function useAwake(): boolean {
  const [awake, setAwake] = useState(false);
  useEffect(() => {
    let lock: WakeLockSentinel | null = null;
    let gone = false;
    const take = async (): Promise<void> => {
      if (document.visibilityState !== 'visible' || !('wakeLock' in navigator)) return;
      try {
        const got = await navigator.wakeLock.request('screen');
        if (gone) return void got.release();
        lock = got;
        setAwake(true);
        got.addEventListener('release', () => setAwake(false));
      } catch {
        setAwake(false);
      }
    };
    void take();
    const again = (): void => void take();
    document.addEventListener('visibilitychange', again);
    return () => {
      gone = true;
      document.removeEventListener('visibilitychange', again);
      void lock?.release();
    };
  }, []);
  return awake;
}
