/** What the kept records need of a browser, for node: an IndexedDB that lies in one file (written whole, then put in its
 * place, before a transaction says that it is complete), a document with the address of the server, and questions that
 * bear the device's cookie, or get lost. Import it before the page's own modules. */
import { readFileSync, renameSync, writeFileSync } from "node:fs";
import { indexed, type Databases } from "./indexed";

const FILE = process.argv[2]!;
let databases: Databases = {};
try {
  databases = JSON.parse(readFileSync(FILE, "utf8")) as Databases;
} catch {
  // a new device
}

function save(): void {
  writeFileSync(`${FILE}.new`, JSON.stringify(databases));
  renameSync(`${FILE}.new`, FILE);
}

/** Of the questions of one exchange: at which number what happens. */
export const way: { at: number; lost: "question" | "answer" | ""; meanwhile: () => void; asked: number } = { at: -1, lost: "", meanwhile: () => undefined, asked: 0 };

const reach = globalThis.fetch;
const [, , , address, cookie] = process.argv;

async function ask(url: URL | RequestInfo, init: RequestInit = {}): Promise<Response> {
  const here = (way.asked += 1) === way.at;
  if (here && way.lost === "question") throw new TypeError("no network");
  const reply = await reach(url, { ...init, headers: { ...(init.headers as Record<string, string>), cookie: cookie! } });
  if (here) way.meanwhile();
  if (here && way.lost === "answer") throw new TypeError("no network");
  return reply;
}

Object.assign(globalThis, {
  indexedDB: indexed(databases, { save, tell: (over) => over() }),
  IDBKeyRange: { lowerBound: (key: string) => ({ key }) },
  document: { baseURI: address, documentElement: { removeAttribute: () => undefined, setAttribute: () => undefined } },
  localStorage: { getItem: () => null },
  BroadcastChannel: undefined,
  fetch: ask,
});
