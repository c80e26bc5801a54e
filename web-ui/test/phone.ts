/** The page's own records and what a person does to them, without its screens, as a program: `node phone.js FILE ADDRESS
 * COOKIE` keeps them in FILE and shares them with the server at ADDRESS. A line of JSON on stdin is done, and answered by
 * a line with all records as they are then on the disk. See `evidence/phone.py`. */
import { createInterface } from "node:readline";
import { way } from "./disk";
import { addRun, edit, moveRuns, newJob, note, putOn, removeRun, sendJob, setLocal, setStatus, settle, takeTicksBack, tick } from "../src/app/kept/act";
import { exchange } from "../src/app/kept/exchange";
import { allRecs, flush, getRec, keeper } from "../src/app/kept/kept";
import { rests } from "../src/app/kept/record";
import { forNew, newerOf, setForNew } from "../src/app/kept/shoe";
import { choose, chooseJob, load, state, takeOnlyJob, type KeptRun } from "../src/app/kept/state";
import { demoSurvey, newSurvey } from "../src/app/kept/survey";
import { keepTool } from "../src/app/kept/tools";
import { recordsServer } from "../src/engine/records";
import { STATUSES } from "../src/engine/types";

/** What a person does. `run`: which of the job at hand; `words`: what is written; `pick`: a number to choose by. */
interface Deed {
  do: string;
  run?: string;
  words?: string;
  pick?: number;
  /** Of an exchange: at the question of this number that or its answer gets lost, or this is done. */
  at?: number;
  lost?: "question" | "answer" | "";
  meanwhile?: Deed;
}

const server = recordsServer();
const runOf = ({ run }: Deed): KeptRun | undefined => state.runs.find((one) => one.id === run);
const of = <T>(list: readonly T[], { pick = 0 }: Deed): T | undefined => list[pick % Math.max(1, list.length)];

let wrong: () => void = () => undefined;

const DEEDS: Record<string, (deed: Deed) => void> = {
  add: ({ words = "", pick = 0 }) => {
    const survey = pick % 3 ? demoSurvey() : newSurvey("");
    survey.run.name = words;
    addRun(survey, pick % 5 ? {} : { times: 3 });
  },
  edit: (deed) => {
    if (!runOf(deed)) return;
    choose(deed.run!);
    edit((survey) => {
      const [part] = survey.run.walk;
      if (part && deed.pick! % 2) part.leg = String(40 + (deed.pick! % 20)); // as a reading is typed
      survey.run.name = deed.words!;
    });
  },
  remove: ({ run }) => removeRun(run!),
  status: (deed) => {
    const run = runOf(deed);
    if (run) setStatus(run, of(STATUSES, deed)!);
  },
  note: (deed) => {
    const run = runOf(deed);
    if (run) note(run, { kind: "note", note: deed.words! });
  },
  tick: (deed) => {
    const run = runOf(deed);
    const bend = { piece: 1, number: 1 + (deed.pick! % 2), by: "plan" };
    const back = deed.pick! % 3 === 0;
    const copy = run && run.times > 1 ? 1 : undefined;
    const bench = { of: "print", begun: !back, at: 1, ...(copy ? { copy } : {}) };
    const so = deed.pick! % 4 < 2 ? "bent" : "planned"; // as far as this phone knows
    if (run) tick(run, { bench, status: () => (back ? "measured" : so), made: back ? [] : [deed.pick! % 5 ? bend : { ...bend, step: { kind: "ream" as const, number: 1, by_marks: "plan" } }], back: back ? [bend] : [], marks: "abc123", tool: "" });
  },
  /** A bend was not made, whoever ticked it off, alone or with others; or it was all the same. */
  wrong: (deed) => {
    const run = runOf(deed);
    const number = 1 + (deed.pick! % 2);
    const ticks = run?.entries.filter(({ entry: { what } }) => what.kind === "made" && !what.anew && what.bends.some((bend) => bend.number === number)) ?? [];
    if (!run || !ticks.length) return;
    wrong = takeTicksBack(run, { number }, ticks, { note: deed.words! });
  },
  right: () => {
    wrong();
    wrong = () => undefined;
  },
  shoe: (deed) => {
    const run = runOf(deed);
    if (!run) return;
    const { raceway } = run.survey.run;
    const [kind = "", ...size] = raceway.split(" ");
    const pin = keepTool(forNew(raceway), `half of ${state.device}`, { raceway: kind, size: size.join(" "), take_up: `${4 + (deed.pick! % 9) / 8} in`, gain: "2 5/8 in" }, run.id);
    setForNew(raceway, pin.id);
    putOn([run], pin);
  },
  newer: (deed) => {
    const run = runOf(deed);
    const now = run && newerOf(run);
    if (now) putOn([run], now);
  },
  job: ({ words }) => newJob(words!),
  /** What is on this device only goes to the shop: as a job of its own, or into one that is there. */
  place: (deed) => {
    const [own, there] = [state.jobs.find((job) => !job.there), state.jobs.filter((job) => job.there)];
    if (own && there.length && deed.pick! % 2) moveRuns(own.id, of(there, deed)!.id);
    else if (own) sendJob(own.id);
  },
  turn: (deed) => {
    const job = of(state.jobs, deed);
    if (job) chooseJob(job.id);
  },
  choose: (deed) => {
    const clash = of(state.clashes, deed);
    if (clash) settle(clash, clash.kind === "run" && clash.data && deed.pick! % 3 === 0 ? "both" : deed.pick! % 3 === 1 ? "mine" : "theirs");
  },
};

let opening = true;
/** The same work as `shareNow` of share.ts does, once. */
async function share({ at = -1, lost = "", meanwhile }: Deed): Promise<string> {
  Object.assign(way, { at, lost, asked: 0, meanwhile: () => meanwhile && DEEDS[meanwhile.do]!(meanwhile) });
  const { state: shop, words } = await exchange(keeper, server, opening);
  if (shop === "done") takeOnlyJob();
  opening &&= shop !== "done";
  return shop === "refused" ? `refused: ${words}` : shop;
}

await load();
setLocal("person", "");
for await (const line of createInterface({ input: process.stdin })) {
  const deed = JSON.parse(line) as Deed;
  let shop = "";
  if (deed.do === "share") shop = await share(deed);
  else if (deed.do === "name") setLocal("device", deed.words!);
  else if (deed.do !== "look") DEEDS[deed.do]!(deed);
  await flush();
  const records = [...allRecs()].map((rec) => ({ ...rec, there: rec.there ?? null, rests: rests(rec, getRec) }));
  const clashes = state.clashes.filter((rec) => !getRec(rec.id)?.clash).length;
  process.stdout.write(`${JSON.stringify({ shop, records, job: state.job, runs: state.runs.map(({ id, status }) => ({ id, status })), clashes, waiting: state.waiting })}\n`);
}
