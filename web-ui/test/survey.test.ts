/** A survey on the page: what goes to the engine, what a change of units does to it. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { BY_UNITS } from "../src/engine/types";
import { beginsWith } from "../src/text/words";
import { getAt, ownPath, setAt } from "../src/app/kept/paths";
import { changeUnits, demoSurvey, forEngine, type Survey } from "../src/app/kept/survey";

test("empty fields do not go to the engine, and everything else does", () => {
  const survey = demoSurvey();
  const whole = structuredClone(survey);
  setAt(survey, "run.start.height", "");
  setAt(survey, "run.stand_off", "");
  assert.deepEqual(forEngine(survey), whole);
});

test("readings keep the unit that they were taken in", () => {
  const survey = demoSurvey();
  setAt(survey, "run.stand_off", "10 mm");
  changeUnits(survey, "mm");
  assert.equal(getAt(survey, "run.walk[0].leg"), "56 1/4 in");
  assert.equal(getAt(survey, "run.stand_off"), "10");
  changeUnits(survey, "in");
  assert.deepEqual(["run.walk[0].leg", "run.stand_off"].map((field) => getAt(survey, field)), ["56 1/4", "10 mm"]);
  assert.equal(getAt(survey, "run.walk[0].features[0].saddle.over"), "round");
});

/** A survey with everything in it, every reading the same text. */
function everything(text: string): Survey {
  const all = (names: string, more: object = {}): object => ({ ...Object.fromEntries(names.split(" ").map((name) => [name, text])), ...more });
  const features = [
    { saddle: all("centre height width lift reach rise clearance angle", { over: "round", bends: "3", toward: "away", name: "40" }) },
    { offset: all("rise shift starts_at middle_at done_by angle", { side: "left" }) },
    { box_offset: all("rise starts_at done_by angle") },
    { kick: all("rise starts_at angle", { toward: "left" }) },
    { keep_clear: all("centre height width lift side depth clearance") },
  ];
  const walk = [{ leg: text, from: "face", to: "face", features, note: "40" }, { turn: "left", angle: text, gap: text }];
  const end = all("insertion height", { name: "40", fitting: "set-screw" });
  const more = { walk, start: end, end, stock: [text, text], offcuts: [text], wires: ["3 x 12 THHN"], cut: "after", name: "40", raceway: "EMT 1/2" };
  const run = all("stand_off clearance bend_radius", { ...more, accuracy: all("mark angle roll cut"), climate: all("lowest highest install travel", { sun: true }) });
  return { racewright: 1, units: "in", run } as unknown as Survey;
}

/** Every text of a survey by its path, without places in lists. */
function texts(value: unknown, path: string): [string, string][] {
  if (Array.isArray(value)) return value.flatMap((inner) => texts(inner, path));
  if (typeof value === "object") return Object.entries(value ?? {}).flatMap(([key, inner]) => texts(inner, `${path}.${key}`));
  return typeof value === "string" ? [[path, value]] : [];
}

test("each length and temperature gets its unit and loses it again; angles, names and counts stay as they are", () => {
  const survey = { ...everything("40"), fraction: 32 } as Survey;
  changeUnits(survey, "mm");
  assert.ok(!("fraction" in survey), "a tape in mm has other parts");
  const [was, now] = [everything("40"), survey].map(({ run }) => texts(run, "run")) as [[string, string][], [string, string][]];
  const unit = { length: " in", temperature: " F" };
  assert.deepEqual(now, was.map(([path, text]) => [path, text + (BY_UNITS[path] ? unit[BY_UNITS[path]] : "")]));
  assert.deepEqual(new Set(now.map(([path]) => path).filter((path) => BY_UNITS[path])), new Set(Object.keys(BY_UNITS)));
  for (const [path, kind] of [["run.stock", "length"], ["run.accuracy.mark", "length"], ["run.accuracy.cut", "length"], ["run.cut", undefined], ["run.accuracy.angle", undefined]] as const) {
    assert.equal(BY_UNITS[path], kind, path);
  }
  changeUnits(survey, "in");
  assert.deepEqual(survey, everything("40"));
});

test("what says its own unit is left as it is", () => {
  for (const text of ["2 ft 3", "2' 7 5/16", "31 5/16”", "7/8 in.", "30 cm"]) {
    const survey = demoSurvey();
    setAt(survey, "run.stand_off", text);
    changeUnits(survey, "mm");
    assert.equal(getAt(survey, "run.stand_off"), text);
  }
});

test("a text begins with whole words only", () => {
  assert.ok(beginsWith("bend 1: too flat", "bend 1") && beginsWith("bend 1", "bend 1"));
  assert.ok(!beginsWith("bend 12 is too flat", "bend 1") && !beginsWith("at bend 1", "bend 1"));
});

test("a field of the request is a field of the survey", () => {
  assert.equal(ownPath("survey.run.walk[0].leg"), "run.walk[0].leg");
  assert.equal(getAt(demoSurvey(), ownPath("survey.run.walk[3].leg")), "");
});
