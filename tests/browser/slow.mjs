// A page to which every answer comes late: a test that waits for the thing itself passes so too.

/** RACEWRIGHT_SLOW=1: late answers, each by another time; 4: on a page at a fourth of its speed too. */
export const SLOW = Number(process.env.RACEWRIGHT_SLOW ?? 0);
const slowedContexts = new WeakSet();

/** What the page asks a server comes late, and so do the answers of its own engine and of its store. */
export async function slowed(context, page) {
  await page.addInitScript(lateAnswers);
  await (await context.newCDPSession(page)).send("Emulation.setCPUThrottlingRate", { rate: SLOW });
  if (slowedContexts.has(context)) return;
  slowedContexts.add(context);
  await context.route(
    () => true,
    async (route) => {
      const request = route.request();
      const pause = request.method() === "POST" ? 1500 : request.url().endsWith("/server.json") ? 2500 : 0;
      if (pause) await new Promise((next) => setTimeout(next, pause * (0.2 + 0.8 * Math.random())));
      await route.fallback().catch(() => undefined); // the page is closed
    },
  );
}

/** In the page: a server is waited for longer before the browser's own engine takes its place: on a busy machine it is only slow. */
export function waitLonger() {
  const { timeout } = AbortSignal;
  AbortSignal.timeout = (ms) => timeout.call(AbortSignal, 20 * ms);
}

/** In the page: what its engine answers comes late, one after the other, and so does its store's word that something is kept. */
function lateAnswers() {
  const late = (target, event) => {
    const { set, get } = Object.getOwnPropertyDescriptor(target, event);
    let last = Promise.resolve();
    const pause = () => new Promise((next) => setTimeout(next, 50 + Math.random() * 250));
    const put = function (deed) {
      set.call(this, deed && ((happened) => void (last = last.then(pause).then(() => deed.call(this, happened)))));
    };
    Object.defineProperty(target, event, { get, set: put });
  };
  late(Worker.prototype, "onmessage");
  late(IDBTransaction.prototype, "oncomplete");
}
