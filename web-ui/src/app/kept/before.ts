/** What the page kept before it kept records: IndexedDB `racewright-page` and the shoes in localStorage. Taken over once,
 * at the first opening, and then left alone. Runs that a server had are under the ids that it gives them too. */
import { STATUS_BEFORE, type Status } from '../../engine/types';
import { t } from '../../text/words';
import { entryOf, freshId, keyOf } from './make';
import { fresh, type Data, type Rec } from './record';
import { idOf } from './sha256';
import { result, takeOver } from './store';
import type { Survey } from './survey';

const NAME = 'racewright-page';
const SHOES = 'racewright-shoes';
export const TAKEN = 'taken over';
const SERVERS_JOB = idOf('racewright runs folder');

interface RunBefore {
  id: string;
  survey: Survey;
  status: string;
  done: { of: string; steps: number[]; at: number };
  changed: string;
  shared?: { revision: number; print: string; clash?: unknown };
}
export interface Before {
  runs: RunBefore[];
  current: string;
  light: string;
  device: string;
  shoes: Record<string, Record<string, string>>;
}

/** The records that it becomes, and what stays of this device alone. */
export function recordsOf(old: Before): { records: Rec[]; local: Map<string, unknown> } {
  const local = new Map<string, unknown>();
  const records: Rec[] = [];
  const add = (kind: string, id: string, job: string, data: Data, soft: boolean): void => {
    const one = fresh(kind, id, job, data, records.length + 1);
    records.push(soft ? { ...one, soft } : one);
  };
  if (old.device) local.set('device', old.device);
  if (old.light) local.set('light', old.light);
  const shoes = new Map(Object.entries(old.shoes).map(([raceway, shoe]) => [raceway, { id: freshId(), shoe }]));
  for (const [raceway, { id, shoe }] of shoes) {
    add('tool', id, '', toolOf(id, raceway, shoe), false);
    local.set(`shoe:${raceway}`, { tool: id, used: true });
  }
  if (old.runs.length) {
    const served = old.runs.some((run) => run.shared);
    const job = served ? SERVERS_JOB : freshId();
    add('job', job, job, { name: served ? t.share.sharedJob : t.share.ownJob(old.device || t.share.aDevice) }, served);
    local.set('job', job);
    for (const run of old.runs) {
      const id = idOf(`racewright run ${run.id}`);
      const status = (STATUS_BEFORE[run.status] ?? run.status) as Status;
      const agreed = run.shared !== undefined && !run.shared.clash && run.shared.print === JSON.stringify([run.survey, run.status]);
      const own = shoes.get(run.survey.run.raceway); // its marks were shown for that
      add('run', id, job, { id, key: keyOf(id), ...(own ? { tool: { id: own.id, revision: 0 } } : {}), survey: run.survey }, agreed);
      if (status !== 'measured') {
        const entry = agreed || !served ? idOf(`racewright status ${run.id}`) : freshId(); // a status changed here comes after the server's
        add('entry', entry, job, entryOf(entry, id, { kind: 'status', status }, { by: old.device, at: run.changed }), agreed);
      }
      if (run.done.of) local.set(`bench:${id}`, run.done);
      if (run.id === old.current) local.set('run', id);
    }
  }
  return { records, local };
}

/** A person's own shoe as a tool of the shop. */
function toolOf(id: string, raceway: string, shoe: Readonly<Record<string, string>>): Data {
  const [kind = '', ...size] = raceway.trim().split(/\s+/);
  const given = Object.fromEntries(Object.entries(shoe).filter(([, text]) => text.trim() !== ''));
  return { id, name: `${raceway.toLowerCase().replace(/[^a-z0-9/.]+/g, '-')} ${id.slice(0, 4)}`, profile: { raceway: kind, size: size.join(' '), ...given } };
}

async function oldValues(): Promise<Map<string, unknown> | null> {
  const db = await new Promise<IDBDatabase | null>((resolve) => {
    const request = indexedDB.open(NAME);
    request.onupgradeneeded = () => request.transaction!.abort(); // there was none: and none is made
    request.onsuccess = () => resolve(request.result);
    request.onerror = (event) => {
      event.preventDefault();
      resolve(null);
    };
  });
  if (!db) return null;
  const names = ['runs', 'current', 'light', 'device'];
  const store = db.transaction('kept').objectStore('kept');
  const values = await Promise.all(names.map((name) => result(store.get(name) as IDBRequest<unknown>)));
  db.close();
  return new Map(names.map((name, i) => [name, values[i]]));
}

function oldShoes(): Before['shoes'] {
  try {
    return JSON.parse(localStorage.getItem(SHOES) ?? '{}') as Before['shoes'];
  } catch {
    return {};
  }
}

/** Takes it over; gives whether there was anything. Where not, nobody waits until it is noted that this was done. */
export async function takeOverBefore(): Promise<boolean> {
  const values = await oldValues();
  const text = (name: string): string => (values?.get(name) as string | undefined) ?? '';
  const old: Before = { runs: (values?.get('runs') as RunBefore[] | undefined) ?? [], current: text('current'), light: text('light'), device: text('device'), shoes: oldShoes() };
  const { records, local } = recordsOf(old);
  const done = takeOver(TAKEN, records, local);
  const any = records.length > 0 || local.size > 0;
  if (any) await done;
  else done.catch(() => undefined); // looked for again at the next opening
  return any;
}
