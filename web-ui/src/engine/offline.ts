/** Whether the page can keep itself for use without network: https or this machine, and a browser that allows it. */
export const canKeep = typeof navigator !== "undefined" && "serviceWorker" in navigator && window.isSecureContext;

/** Settles with true once everything is kept on this device, with false where that cannot be. Called by startEngine. */
export function keepForOffline(): Promise<boolean> {
  kept ??= register();
  return kept;
}

let kept: Promise<boolean> | null = null;

/** The files that a document of ours is made of, by name: each name carries its version. */
const partsOf = (html: string): string => (html.match(/"\.\/assets\/[\w.-]+"/g) ?? []).join();

const FETCHED = "racewright-version";

/** Of which version this page is, as it was opened. */
const opened = canKeep ? partsOf(document.documentElement.outerHTML) : "";

async function register(): Promise<boolean> {
  if (!canKeep || import.meta.env.DEV) return false;
  const again = followChange();
  try {
    const registration = await navigator.serviceWorker.register(new URL("sw.js", document.baseURI), {
      updateViaCache: "none",
    });
    const { installing, waiting, active } = registration;
    for (const worker of [installing, waiting, active]) worker?.addEventListener("statechange", again);
    if (waiting && navigator.serviceWorker.controller) waiting.postMessage("take over");
    again();
    await navigator.serviceWorker.ready;
    return true;
  } catch {
    return (await navigator.serviceWorker.getRegistration())?.active != null;
  }
}

/** The page as the worker in force keeps it, whether or not that worker serves this page already; null without one. */
async function keptPage(): Promise<string | null> {
  const store = await caches.open("racewright-files");
  const list = await store.match(new URL("kept.json?list", document.baseURI));
  const keys = list ? ((await list.json()) as string[]) : [];
  const page = await store.match(keys.find((key) => key.includes("/index.html?")) ?? "");
  return page ? page.text() : null;
}

/** Begin anew as soon as a newer page than this one is in force, however late; but only while nobody has touched this
 * one. After that it is in use, and stays. Gives what looks again: at once, and at every change of a worker. (A page
 * whose files were asked for just before the change-over is served by the worker of before, and hears nothing of it.) */
function followChange(): () => void {
  const touches = ["pointerdown", "keydown"] as const;
  let inUse = !navigator.serviceWorker.controller; // the first visit: these files come from the host itself
  const use = (): void => {
    inUse = true;
  };
  const look = async (): Promise<void> => {
    const page = inUse ? null : await keptPage();
    const newest = page === null ? opened : partsOf(page);
    if (inUse || newest === opened || sessionStorage.getItem(FETCHED) === newest) return;
    sessionStorage.setItem(FETCHED, newest); // once for each version, whatever stands in the way of it
    location.reload();
  };
  const again = (): void => void look().catch(() => undefined); // no store to be had: the page stays as it is
  for (const touch of touches) addEventListener(touch, use, { capture: true, once: true });
  navigator.serviceWorker.addEventListener("controllerchange", again);
  return again;
}
