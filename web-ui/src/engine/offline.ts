/** Whether the page can keep itself for use without network: https or this machine, and a browser that allows it. */
export const canKeep = typeof navigator !== "undefined" && "serviceWorker" in navigator && window.isSecureContext;

/** Settles with true once everything is kept on this device, with false where that cannot be. Called by startEngine. */
export function keepForOffline(): Promise<boolean> {
  kept ??= register();
  return kept;
}

let kept: Promise<boolean> | null = null;

async function register(): Promise<boolean> {
  if (!canKeep || import.meta.env.DEV) return false;
  try {
    const registration = await navigator.serviceWorker.register(new URL("sw.js", document.baseURI), {
      updateViaCache: "none",
    });
    if (registration.waiting && navigator.serviceWorker.controller) takeOver(registration.waiting);
    await navigator.serviceWorker.ready;
    return true;
  } catch {
    return (await navigator.serviceWorker.getRegistration())?.active != null;
  }
}

/** A newer version is ready and this page has only just opened: change over and begin anew. */
function takeOver(waiting: ServiceWorker): void {
  navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
  waiting.postMessage("take over");
}
