/** Whether the page can keep itself for use without network: https or this machine, and a browser that allows it. */
export const canKeep = typeof navigator !== "undefined" && "serviceWorker" in navigator && window.isSecureContext;

/** Settles with true once everything is kept on this device, with false where that cannot be. Called by startEngine. */
export function keepForOffline(): Promise<boolean> {
  kept ??= register();
  return kept;
}

let kept: Promise<boolean> | null = null;

/** The worker that gave this page its files, and how long after its opening a change-over still counts as opening. */
const servedBy = canKeep ? navigator.serviceWorker.controller : null;
const OPENING_MS = 5000;

async function register(): Promise<boolean> {
  if (!canKeep || import.meta.env.DEV) return false;
  try {
    const registration = await navigator.serviceWorker.register(new URL("sw.js", document.baseURI), {
      updateViaCache: "none",
    });
    if (servedBy) followChange(servedBy);
    if (registration.waiting && navigator.serviceWorker.controller) registration.waiting.postMessage("take over");
    await navigator.serviceWorker.ready;
    return true;
  } catch {
    return (await navigator.serviceWorker.getRegistration())?.active != null;
  }
}

/** A newer version takes over while this page is only just opening (asked by it, or by the browser itself between two
 * pages): begin anew with the newer files. Later it is a page in use, and stays. */
function followChange(old: ServiceWorker): void {
  let done = false;
  const again = (): void => {
    if (done || navigator.serviceWorker.controller === old) return;
    done = true;
    location.reload();
  };
  navigator.serviceWorker.addEventListener("controllerchange", again);
  setTimeout(() => navigator.serviceWorker.removeEventListener("controllerchange", again), OPENING_MS);
  again();
}
