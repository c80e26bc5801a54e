/** A shop in memory, by the protocol of store/job_protocol.py and in its forms, and a device that keeps records in memory. */
import { createHash } from "node:crypto";
import { KINDS, type Answered, type Changed, type Offered } from "../src/engine/types";
import type { RecordsServer } from "../src/engine/records";
import type { Keeper, Place } from "../src/app/kept/exchange";
import { held } from "./forms";
import { ofShop, type Data, type Rec } from "../src/app/kept/record";

const sorted = (value: unknown): unknown =>
  value === null || typeof value !== "object" || Array.isArray(value)
    ? value
    : Object.fromEntries(Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1)).map(([key, inner]) => [key, sorted(inner)]));
const digestOf = (kind: string, data: unknown): string =>
  createHash("sha256").update(`${kind}${JSON.stringify(sorted(data ?? null))}`).digest("hex").slice(0, 32);

type Row = Changed & { at: string };

export class Shop {
  rows: Row[] = [];
  jobs = new Set<string>();
  refused: { id: string; data: unknown; digest: string; change: number }[] = [];
  knows = Object.keys(KINDS);
  most = 1e9;
  /** Whether a server cannot read an offer with this record in it. */
  spoilt: (record: Offered) => boolean = () => false;
  /** Kinds that no device is told, nor may write. */
  withheld: string[] = [];
  /** The device has written as much as it may today. */
  full = false;
  private changes = 0;
  /** The highest number that was given before the file was brought back. */
  private past = 0;

  constructor(readonly id = "5".repeat(32)) {}

  standing = (id: string): Row | undefined => this.rows.filter((row) => row.id === id).at(-1);
  now = (id: string): unknown => this.standing(id)?.data ?? null;
  /** Of a tool with all that it was before. */
  private told = (row: Row): Row => {
    const said = this.rows.filter((one) => one.id === row.id && one !== row && one.data).map(({ revision, by, at, data }) => ({ revision, by, at, data }));
    return { ...row, past: row.kind === "tool" ? said : row.kind === "run" && row.data === null ? said.slice(-1) : [] };
  };
  private mark = (change: number): string => digestOf("mark", this.rows.filter((row) => row.change <= change).map((row) => [row.id, row.digest, row.revision, row.change, row.by]));

  since(number: number, mark: string): { records: Changed[]; last: number; mark: string; more: boolean; anew: boolean; shop: string; withheld: string[] } {
    const anew = number > this.changes || (mark !== "" && this.mark(number) !== mark);
    const from = anew ? 0 : number;
    const newest = this.rows.filter((row) => row.change > from && !this.withheld.includes(row.kind) && this.standing(row.id) === row).map(this.told);
    let records = newest;
    let last = this.changes;
    if (newest.length > this.most) {
      last = newest[this.most - 1]!.change;
      records = newest.filter((row) => row.change <= last);
    }
    return held({ records: structuredClone(records), last, mark: this.mark(last), more: records.length < newest.length, anew, shop: this.rows.length ? this.id : "", withheld: this.withheld }, "Changes");
  }

  offer(job: string, records: readonly Offered[], by: string): Answered[] {
    const change = Math.max(this.changes, this.past) + 1;
    for (const one of records) if (held(one, "Offered").data !== null && KINDS[one.kind]) held(one.data, one.kind);
    const answers = records.map((one) => held(this.one(job, one, by, change), "Answered"));
    if (this.rows.some((row) => row.change === change)) this.changes = change;
    return structuredClone(answers);
  }

  private one(job: string, one: Offered, by: string, change: number): Answered {
    const answer = (outcome: Answered["outcome"], more: Partial<Answered> = {}): Answered => ({
      kind: one.kind, id: one.id, outcome, revision: 0, digest: "", stands: null, yours: one.data, message: "", hint: "", ...more,
    });
    if (!this.knows.includes(one.kind)) return answer("newer", { message: "of a kind that is not known" });
    if (this.withheld.includes(one.kind)) return answer("refused", { message: "this device is not let to write them." });
    if (one.kind === "job") this.jobs.add(job);
    else if (ofShop(one) ? job !== this.id : !this.jobs.has(job)) return answer("refused", { message: "the shop has no job of this id." });
    const standing = this.standing(one.id);
    const stands = standing && this.told(standing);
    const found = stands?.revision ?? 0;
    const digest = digestOf(one.kind, one.data);
    if (stands && stands.digest === digest) return answer("saved", { revision: found, digest });
    const of = (revision: number): Row | undefined => this.rows.find((row) => row.id === one.id && row.revision === revision);
    const after = this.rows.find((row) => row.id === one.id && row.revision > one.base);
    if (after?.digest === digest) return answer("saved", { revision: after.revision, digest, stands: stands ?? null });
    if (one.data === null && !stands && !one.base) return answer("saved");
    if (found !== one.base || (one.base > 0 && of(one.base)?.digest !== one.base_digest)) {
      const known = this.refused.some((had) => had.id === one.id && had.digest === digest);
      if (this.full && !known) return answer("later", { message: "wrote as much as it may in 24 hours" });
      if (!known) this.refused.push({ id: one.id, data: one.data, digest, change });
      return answer("stale", { revision: found, stands: stands ?? null });
    }
    if (this.full) return answer("later", { message: "wrote as much as it may in 24 hours" });
    const revision = Math.max(found, this.past) + 1;
    this.rows.push({ past: [], kind: one.kind, id: one.id, job, revision, base: one.base, change, came: standing?.came ?? this.rows.length + 1, by, at: "", digest, data: structuredClone(one.data) });
    return answer("saved", { revision, digest });
  }

  /** The file as it was so many changes ago. */
  broughtBack(changes: number): void {
    this.past = Math.max(this.past, this.changes, ...this.rows.map((row) => row.revision));
    this.changes = changes;
    this.rows = this.rows.filter((row) => row.change <= changes);
    this.refused = this.refused.filter((one) => one.change <= changes);
  }
}

export class Device implements Keeper {
  kept = new Map<string, Rec>();
  disk = new Map<string, Rec>();
  at: Place = { number: 0, mark: "", shop: "" };
  private diskAt = this.at;
  private made = 0;
  /** Called before each exchange of words with the shop: it may throw the question away, or the answer. */
  way: (step: "question" | "answer") => boolean = () => true;

  constructor(readonly name: string) {}

  get = (id: string): Rec | undefined => this.kept.get(id);
  all = (): Rec[] => [...this.kept.values()];
  nextMade = (): number => (this.made += 1);
  place = (): Place => this.at;
  async put(records: ReadonlyMap<string, Rec | null>, at?: Place): Promise<void> {
    for (const [id, rec] of records) {
      if (rec) this.kept.set(id, structuredClone(rec));
      else this.kept.delete(id);
    }
    if (at) this.at = at;
    this.disk = new Map(this.kept);
    this.diskAt = this.at;
    await Promise.resolve();
  }
  /** Closed in the middle of what it did, and opened again. */
  reopened(): void {
    this.kept = new Map(this.disk);
    this.at = this.diskAt;
  }
  write(id: string, rec: Rec | null): void {
    void this.put(new Map([[id, rec]]));
  }
  says = (id: string): Data | null => this.kept.get(id)?.data ?? null;

  server(shop: Shop): RecordsServer {
    const asked = async <T>(work: () => T): Promise<{ ok: true; answer: T } | { ok: false; why: "gone"; words: "" }> => {
      await Promise.resolve();
      if (!this.way("question")) return { ok: false, why: "gone", words: "" };
      const answer = work();
      return this.way("answer") ? { ok: true, answer } : { ok: false, why: "gone", words: "" };
    };
    return {
      since: (number, mark) => asked(() => shop.since(number, mark)),
      offer: async (job, records) => records.some(shop.spoilt) ? { ok: false, why: "unfit", words: "it cannot be read." } : asked(() => ({ answers: shop.offer(job, structuredClone(records), this.name) })),
    };
  }
}
