/** Calls back once what is drawn now can be seen: a tap before that was meant for what stood there. */
export const painted = (then: () => void): void => void requestAnimationFrame(() => setTimeout(then));
