/** Whether the window is a desk's. */
import { useEffect, useState } from 'preact/hooks';

const WIDE = '(min-width: 900px)';

export const isWide = (): boolean => matchMedia(WIDE).matches;

export function useWide(): boolean {
  const [wide, setWide] = useState(isWide);
  useEffect(() => {
    const query = matchMedia(WIDE);
    const listener = (): void => setWide(query.matches);
    query.addEventListener('change', listener);
    return () => query.removeEventListener('change', listener);
  }, []);
  return wide;
}
