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
  followChange();
  try {
    const registration = await navigator.serviceWorker.register(new URL("sw.js", document.baseURI), {
      updateViaCache: "none",
    });
    if (registration.waiting && navigator.serviceWorker.controller) registration.waiting.postMessage("take over");
    await navigator.serviceWorker.ready;
    return true;
  } catch {
    return (await navigator.serviceWorker.getRegistration())?.active != null;
  }
}

/** Begin anew as soon as the worker in force keeps a newer page than this one, however late it takes over, and also
 * where it did so before this line ran; but only while nobody has touched the page. After that it is in use, and stays. */
function followChange(): void {
  const touches = ["pointerdown", "keydown"] as const;
  let inUse = false;
  const use = (): void => {
    inUse = true;
  };
  const look = async (): Promise<void> => {
    if (inUse || !navigator.serviceWorker.controller) return;
    const kept = partsOf(await (await fetch(new URL("index.html", document.baseURI))).text());
    if (inUse || kept === opened || sessionStorage.getItem(FETCHED) === kept) return;
    sessionStorage.setItem(FETCHED, kept); // once for each version, whatever stands in the way of it
    location.reload();
  };
  const again = (): void => void look().catch(() => undefined); // no such file to be had: the page stays as it is
  for (const touch of touches) addEventListener(touch, use, { capture: true, once: true });
  navigator.serviceWorker.addEventListener("controllerchange", again);
  again();
}
