/** The interpreter's memory as it is once the engine is warm, kept on this device: a later start puts it back in place of
 * starting Python and importing the engine. It is made before the first question, so it holds nothing of a person's. An
 * ordinary start stands in for it wherever it is missing, of other files, or was ever found wanting. */

interface Warm {
  /** From Pyodide's `makeMemorySnapshot`, without the zeros at its end. */
  memory: Uint8Array<ArrayBuffer>;
  /** What the engine answers to the question that it warms up with. */
  answer: string;
}

/** One that was kept; `digest`: of its memory, as it was when it was kept. */
export interface KeptWarm extends Warm {
  digest: string;
}

/** What stands beside the memory: of which files and browser it is, and how many starts with it did not come to their end. */
interface Note extends Omit<KeptWarm, "memory"> {
  key: string;
  unfinished: number;
}

/** A device on which so many starts in a row ended before they were through gets ordinary ones for this version. */
const MOST_UNFINISHED = 3;

const STORE = "racewright-memory";
const addressOf = (name: "note" | "memory"): string => new URL(`${name}?kept`, self.location.href).href;

/** Of which files, interpreter, worker and browser a memory is: it fits no others. null where this page may not keep any
 * (a browser without a store, or plain http to another machine). */
export async function memoryKey(files: readonly Uint8Array<ArrayBuffer>[], interpreter: string): Promise<string | null> {
  if (!globalThis.isSecureContext || !("caches" in globalThis)) return null;
  const digest = await digestOf(await new Blob([...files]).arrayBuffer());
  return [digest, interpreter, self.location.pathname, navigator.userAgent].join(" ");
}

async function digestOf(bytes: BufferSource): Promise<string> {
  const digest = await crypto.subtle.digest("SHA-256", bytes);
  return Array.from(new Uint8Array(digest), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** The memory kept for this key, byte for byte as it was kept; "make" where there is none such, "leave" where there shall be
 * none. The start with it is `unfinished` from here until `finished`. Never throws, as all of these. */
export async function keptMemory(key: string | null): Promise<KeptWarm | "make" | "leave"> {
  if (key === null) return "leave";
  try {
    const store = await caches.open(STORE);
    const [note, kept] = await Promise.all([readNote(store), store.match(addressOf("memory"))]);
    if (note?.key !== key) return "make";
    if (!kept || note.unfinished >= MOST_UNFINISHED) return "leave";
    const [memory] = await Promise.all([kept.arrayBuffer(), writeNote(store, { ...note, unfinished: note.unfinished + 1 })]);
    if ((await digestOf(memory)) !== note.digest) return "make";
    return { memory: new Uint8Array(memory), answer: note.answer, digest: note.digest };
  } catch {
    return "leave";
  }
}

/** The start with the kept memory is through: it answers as it did when it was made. */
export const finished = (key: string, { answer, digest }: KeptWarm): Promise<void> => noted({ key, answer, digest, unfinished: 0 });

/** No more of it for these files: it could not be put back, or did not answer as it should. */
export const giveUp = (key: string): Promise<void> =>
  noted({ key, answer: "", digest: "", unfinished: MOST_UNFINISHED }, (store) => store.delete(addressOf("memory")));

/** Keeps a memory in place of any before; the note comes last, so half of one is never read. */
export async function keepMemory(key: string, { memory, answer }: Warm): Promise<void> {
  const whole = memory.subarray(0, endOf(memory));
  await noted({ key, answer, digest: await digestOf(whole), unfinished: 0 }, async (store) => {
    await store.delete(addressOf("note"));
    await store.put(addressOf("memory"), new Response(whole));
  });
}

/** Where only zeros follow. */
function endOf(memory: Uint8Array): number {
  let end = memory.length;
  while (end > 0 && memory[end - 1] === 0) end -= 1;
  return end;
}

async function noted(note: Note, before?: (store: Cache) => Promise<unknown>): Promise<void> {
  try {
    const store = await caches.open(STORE);
    await before?.(store);
    await writeNote(store, note);
  } catch {
    // no room, or no store: the next start is an ordinary one
  }
}

const readNote = async (store: Cache): Promise<Note | undefined> => (await store.match(addressOf("note")))?.json() as Promise<Note | undefined>;
const writeNote = (store: Cache, note: Note): Promise<void> => store.put(addressOf("note"), new Response(JSON.stringify(note)));
