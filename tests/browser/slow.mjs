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
      if (route.request().method() === "POST") await new Promise((next) => setTimeout(next, 300 + Math.random() * 1200));
      await route.fallback().catch(() => undefined); // the page is closed
    },
  );
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
