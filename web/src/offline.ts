// Whether the page will open with no signal, and whether a newer one waits.

import { useEffect, useState } from "preact/hooks";
import { save } from "./store";
import { scriptURL } from "./trusted";

export interface Offline {
  ready: boolean; // page and module are in the cache, and the module's hash is right
  impossible: boolean; // this browser or address keeps nothing
  newer: boolean; // a newer page is in the cache and waits
  online: boolean;
  installable: boolean; // the browser would keep it as an app
}

let now: Offline = { ready: false, impossible: false, newer: false, online: navigator.onLine, installable: false };
/** What browsers give to those who ask whether the page may be kept as an app. */
interface InstallEvent extends Event {
  prompt(): Promise<unknown>;
}
let installing: InstallEvent | null = null;
let registration: ServiceWorkerRegistration | undefined;
let asked = false;
const listeners = new Set<() => void>();

function set(change: Partial<Offline>): void {
  now = { ...now, ...change };
  for (const tell of listeners) tell();
}

/** Hears whether the browser would keep the page as an app, which it says early and once. */
export function hear(): void {
  addEventListener("beforeinstallprompt", (e) => {
    e.preventDefault();
    installing = e as InstallEvent;
    set({ installable: true });
  });
  addEventListener("appinstalled", () => set({ installable: false }));
}

export async function begin(): Promise<void> {
  addEventListener("online", () => set({ online: true }));
  addEventListener("offline", () => set({ online: false }));
  if (!("serviceWorker" in navigator)) return set({ impossible: true });
  const container = navigator.serviceWorker;
  const hadOne = container.controller !== null;
  container.addEventListener("controllerchange", () => {
    // The first one takes hold silently; a newer one only where it was asked for.
    if (asked) location.reload();
    else if (hadOne) set({ newer: true });
    void check();
  });
  try {
    registration = await container.register(scriptURL("sw.js") as string, { updateViaCache: "none" });
  } catch {
    return set({ impossible: true });
  }
  const follow = (worker: ServiceWorker | null) => {
    worker?.addEventListener("statechange", () => {
      if (worker.state === "installed" && container.controller) set({ newer: true });
      if (worker.state === "activated") void check();
    });
  };
  if (registration.waiting && container.controller) set({ newer: true });
  follow(registration.installing);
  registration.addEventListener("updatefound", () => follow(registration!.installing));
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && look());
  await check();
}

/** Looks whether there is a newer page; silent where there is no signal. */
export function look(): void {
  registration?.update().catch(() => {});
}

async function check(): Promise<void> {
  const worker = registration?.active;
  if (!worker) return;
  const line = new MessageChannel();
  const reply = new Promise<boolean>((resolve) => {
    line.port1.onmessage = (e) => resolve(e.data.complete === true);
    setTimeout(() => resolve(false), 20_000);
  });
  worker.postMessage("complete?", [line.port2]);
  set({ ready: await reply });
}

/** Asks the browser to keep the page as an app. */
export function install(): void {
  void installing?.prompt();
  installing = null;
  set({ installable: false });
}

const DECLINED = "spareamps.install";

/** Whether to offer that: once the page opens with no signal, until it was declined. */
export function offersInstall(): boolean {
  try {
    return now.installable && now.ready && localStorage.getItem(DECLINED) === null;
  } catch {
    return false;
  }
}

export function declineInstall(): void {
  try {
    localStorage.setItem(DECLINED, "no");
  } catch {
    // closed to us: asked again next time
  }
}

/** Takes the newer page. What was entered is saved first. */
export function takeNewer(): void {
  save();
  asked = true;
  if (registration?.waiting) registration.waiting.postMessage("take over");
  else location.reload();
}

export function useOffline(): Offline {
  const [at, setAt] = useState(now);
  useEffect(() => {
    const tell = () => setAt(now);
    tell();
    listeners.add(tell);
    return () => void listeners.delete(tell);
  }, []);
  return at;
}
