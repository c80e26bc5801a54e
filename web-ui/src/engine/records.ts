/** The records of the shop file, by `racewright serve`: what has changed since a number, and an offer of what was
 * written here. What the answers mean is in `app/kept/record.ts`. */
import { inTurn, serverCard, type ServerCard } from "./http";
import { RECORDS_FORMAT, type Answered, type Changes, type JobLog, type Offered } from "./types";

export type { Answered, Changed, Changes, Offered } from "./types";

/** Why there is no answer: nothing is there, the server wants its code, or has revoked this device, it speaks a newer form,
 * it said no for now, or it cannot read what it was sent ('unfit'). */
export type NoAnswer = { ok: false; why: "gone" | "code" | "revoked" | "newer" | "refused" | "unfit"; words: string };

/** The statuses of what no server will ever read. */
const UNFIT = [400, 413, 422];
export type RecordsReply<T> = { ok: true; answer: T } | NoAnswer;

export interface RecordsServer {
  since(number: number, mark: string): Promise<RecordsReply<Changes>>;
  offer(job: string, records: readonly Offered[]): Promise<RecordsReply<{ answers: Answered[] }>>;
}

const no = (why: NoAnswer["why"], words = ""): NoAnswer => ({ ok: false, why, words });

async function call<T>(path: string, init?: RequestInit): Promise<RecordsReply<T>> {
  try {
    const response = await inTurn(path, init);
    if (response.status === 401) return no("code");
    const raw = (await response.json()) as { error?: { message?: string; hint?: string } };
    if (response.ok) return { ok: true, answer: raw as T };
    if (response.status === 404 || response.status === 502 || response.status === 504) return no("gone");
    return no(UNFIT.includes(response.status) ? "unfit" : "refused", [raw.error?.message, raw.error?.hint].filter(Boolean).join(" "));
  } catch {
    return no("gone");
  }
}

const inForm = (card: ServerCard): NoAnswer | null => {
  if (!card.server || card.records === undefined) return no("gone");
  if (card.records > RECORDS_FORMAT) return no("newer");
  if (card.busy) return no("refused", card.busy);
  if (card.revoked) return no("revoked");
  return card.code_wanted ? no("code") : null;
};

/** The server that the page came from. Each round looks first whether it is there, and of a form that is known here. */
export function recordsServer(): RecordsServer {
  return {
    since: async (number, mark) =>
      inForm(await serverCard(5_000)) ?? call<Changes>(`records?after=${number}&mark=${encodeURIComponent(mark)}`),
    offer: (job, records) =>
      call<{ answers: Answered[] }>("records", {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ job, records }),
      }),
  };
}

/** What was changed of a job, newest first, with what stood before. */
export const jobLog = async (job: string): Promise<RecordsReply<JobLog>> => inForm(await serverCard(5_000)) ?? call<JobLog>(`records/log?job=${job}`);
