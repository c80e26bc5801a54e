/** What the hands need of a bend in sight at once: its letters as large as lets all of it stand above the step bar. */
import { useLayoutEffect, useRef } from 'preact/hooks';

/** Letters are made no smaller than this to let it in (px). */
const LEAST_PX = 14;
const HALVINGS = 6;

const boxOf = (name: string): DOMRect | undefined => document.querySelector(name)?.getBoundingClientRect();

/** Where the place of what stands at the bottom of the window begins: the places, and the bar while it is at hand there. */
const roomTo = (): number => Math.min(innerHeight, boxOf('.places')?.top ?? innerHeight, boxOf('.step-bar')?.top ?? innerHeight);

function fit(part: HTMLElement): void {
  part.style.fontSize = '';
  const most = parseFloat(getComputedStyle(part).fontSize);
  const isIn = (px: number): boolean => {
    part.style.fontSize = `${px}px`;
    return part.getBoundingClientRect().bottom + scrollY <= roomTo();
  };
  if (isIn(most)) {
    part.style.fontSize = '';
    return;
  }
  let [least, over] = [Math.min(LEAST_PX, most), most];
  for (let i = 0; i < HALVINGS; i += 1) {
    const half = (least + over) / 2;
    if (isIn(half)) least = half;
    else over = half;
  }
  part.style.fontSize = `${least}px`;
}

export function useInSight(): { current: HTMLDivElement | null } {
  const part = useRef<HTMLDivElement>(null);
  useLayoutEffect(() => {
    const at = part.current;
    if (!at) return undefined;
    const again = (): void => fit(at);
    const watch = new ResizeObserver(() => requestAnimationFrame(again));
    for (const one of [at, document.documentElement, document.querySelector('.top'), document.querySelector('.step-bar')]) if (one) watch.observe(one);
    addEventListener('resize', again);
    again();
    return () => {
      watch.disconnect();
      removeEventListener('resize', again);
    };
  });
  return part;
}
