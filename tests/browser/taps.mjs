// Taps whose order and time are told to the page: none hangs on how fast the machine is.

/** In the page: what is tapped from now on is tapped later by the clock of its events, and nobody waits for it. */
export function clockOfTaps() {
  const { get } = Object.getOwnPropertyDescriptor(Event.prototype, "timeStamp");
  let later = 0;
  Object.defineProperty(Event.prototype, "timeStamp", { get() { return get.call(this) + later; } });
  window.afterAWhile = () => void (later += 500);
}

/** The next tap comes half a second after what was last tapped or shown: one right after another does not count. */
export const afterAWhile = (page) => page.evaluate(() => window.afterAWhile());

/** Taps come faster than the page can draw, and once more within a double tap's time. */
export const tapAtOnce = (button) =>
  button.evaluate(async (one) => {
    const began = new Event("first").timeStamp;
    for (const pause of [0, 0, 150]) {
      if (pause) await new Promise((next) => setTimeout(next, pause));
      const tap = new MouseEvent("click", { bubbles: true, cancelable: true });
      if (!one.disabled) one.dispatchEvent(Object.defineProperty(tap, "timeStamp", { value: began + pause })); // however late it is by then
    }
  });

/** Taps on these buttons, each as soon as it stands there, before anything is painted. */
export const tapInARow = (page, ...names) =>
  page.evaluate(async (words) => {
    const next = () => new Promise((done) => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = done;
      port2.postMessage(0);
    });
    for (const name of words) {
      const button = () => [...document.querySelectorAll("button")].find((one) => one.textContent.trim() === name);
      while (!button()) await next();
      button().click();
    }
  }, names);
