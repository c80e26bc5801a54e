/** What a person sets for a job and its shop: prices, people, sticks, wire, items. The engine makes each change as the command
 * does; what it makes is written down as the record's next version. */
import { USUAL, type Finding, type JobHead, type JobSettingsAnswer, type JobSettingsRequest, type Person, type Prices, type Trouble } from '../../engine/types';
import { ask } from './ask';
import { listOf, pricesFor, withoutNames } from './job-file';
import { allRecs, getRec, keeper, nextMade, put } from './kept';
import { merged } from './merge';
import { fresh, same, written, type Data, type Rec } from './record';
import { state } from './state';
import { headOf } from './view';

export type Change = NonNullable<JobSettingsRequest['change']>;
/** Whose prices: the shop's, or the job's own. */
export type Whose = 'shop' | 'job';

/** The shop neither tells this device such records nor takes them from it. */
export const isWithheld = (kind: string): boolean => (keeper.place().withheld ?? []).includes(kind);

export const headNow = (): JobHead | null => {
  const rec = getRec(state.job);
  return rec?.data ? headOf(rec) : null;
};
const peopleRecs = (): Rec[] => [...allRecs()].filter((rec) => rec.kind === 'person' && rec.data).sort((a, b) => (a.order || Infinity) - (b.order || Infinity) || a.made - b.made);
export const peopleNow = (): Person[] => peopleRecs().map(({ data }) => data as unknown as Person);

/** Whether this device can write prices of the shop. */
export const hasShop = (): boolean => keeper.place().shop !== '' && !isWithheld('prices');
/** Whose prices count for the job at hand: its own where it has a list, and where there are no others. */
export const whosePrices = (): Whose => (getRec(listOf(state.job))?.data || !hasShop() ? 'job' : 'shop');
export const pricesNow = (): Prices => withoutNames(pricesFor(state.job));

/** What prices hang on. */
export const pricedBy = (): readonly [unknown, unknown] => [getRec(state.job)?.data, pricesFor(state.job)];

/** What is to be known of the prices as they stand. */
export async function toldOfPrices(): Promise<readonly Finding[]> {
  const reply = await ask('job_settings', { head: headNow()!, prices: pricesNow() });
  return reply.ok ? reply.answer.findings : [];
}

/** The records that the answer makes another of, as they stand and as they will. */
function changed(answer: JobSettingsAnswer, { set }: Change): Map<string, { was: Rec | undefined; data: Data | null; kind: string }> {
  const out = new Map<string, { was: Rec | undefined; data: Data | null; kind: string }>();
  if (['price', 'no price', 'money'].includes(set)) {
    const of = whosePrices() === 'job' ? state.job : keeper.place().shop;
    const id = listOf(of);
    out.set(id, { was: getRec(id), data: { ...answer.prices, id, of }, kind: 'prices' });
  } else if (['person', 'no person'].includes(set)) {
    const now = new Map(answer.people.map((one) => [one.id!, one]));
    const known = peopleRecs();
    for (const was of known) if (!now.has(was.id)) out.set(was.id, { was, data: null, kind: 'person' });
    for (const [id, one] of now) if (JSON.stringify(getRec(id)?.data) !== JSON.stringify(one)) out.set(id, { was: getRec(id), data: one as unknown as Data, kind: 'person' });
  } else {
    const was = getRec(state.job);
    if (was) out.set(was.id, { was, data: answer.head as unknown as Data, kind: 'job' });
  }
  return out;
}

/** What the change is made of: with a network it may be another by the time that the engine answers. */
const basis = (): readonly unknown[] => [...pricedBy(), ...peopleRecs().map(({ data }) => data)];

/** Make a change and write it down. Gives what takes it back again and what stands then, in words; or why it cannot be made.
 * `over`: of what is to be added, what its person knows to stand under its name; where something else does, that is given first. */
export async function makeChange(change: Change, over: string | null = null): Promise<{ back: () => void; now: string } | { there: string } | { error: Trouble }> {
  for (;;) {
    const of = basis();
    const reply = await ask('job_settings', { head: headNow()!, prices: pricesNow(), people: peopleNow(), change });
    if (!reply.ok) return { error: reply.error };
    if (basis().some((one, i) => one !== of[i])) continue;
    const { was, now } = reply.answer;
    if (over !== null && was && was !== over) return { there: was };
    const changes = changed(reply.answer, change);
    void put(new Map([...changes].map(([id, { was: had, data, kind }]) => [id, had ? written(had, data) : fresh(kind, id, '', data!, nextMade())])));
    return { back: () => takeBack(changes), now };
  }
}

/** What others changed beside it since stays; where they changed the same, theirs does. */
function takeBack(changes: ReadonlyMap<string, { was: Rec | undefined; data: Data | null; kind: string }>): void {
  const back = new Map<string, Rec | null>();
  for (const [id, { was, data: made, kind }] of changes) {
    const rec = getRec(id);
    const now = rec?.data ?? null;
    const data = same(now, made) ? (was?.data ?? null) : made && was?.data && now ? (merged(kind, made, was.data, now) ?? now) : now;
    if (rec) back.set(id, written(rec, data));
    else if (data) back.set(id, fresh(kind, id, '', data, nextMade()));
  }
  void put(back);
}

/** The job goes by prices of its own from here on, which begin as the shop's; or by the shop's again. */
export function goBy(whose: Whose): void {
  const id = listOf(state.job);
  const rec = getRec(id);
  if (whose === 'shop') return rec?.data ? void put(new Map([[id, written(rec, null)]])) : undefined;
  const data: Data = { ...pricesNow(), id, of: state.job };
  void put(new Map([[id, rec ? written(rec, data) : fresh('prices', id, '', data, nextMade())]]));
}

/** What the engine takes where a record says nothing. */
export const usual = (field: string): string => USUAL[field]!;

/** A figure as text; '' for none. */
export const textOf = (value: string | number | null | undefined): string => (value === null || value === undefined ? '' : String(value));
