/** What the forms wait for, and what goes to the engine. */
import assert from "node:assert/strict";
import { test } from "node:test";
import cases from "./open-fields.json";
import { getAt, ownPath, setAt } from "../src/app/kept/paths";
import { changeUnits, demoSurvey, FEATURE_KINDS, forEngine, newFeature, newSurvey, openFields, type Feature } from "../src/app/kept/survey";

test("a new run waits for its leg, and every new thing for the readings that it cannot do without", () => {
  const survey = newSurvey("Workshop, panel to bench");
  const leg = "run.walk[0].leg";
  assert.deepEqual(openFields(survey), [leg]);
  const waits = {
    saddle: ["centre", "height"],
    offset: ["starts_at", "rise"],
    box_offset: ["starts_at"],
    kick: ["starts_at", "rise"],
    keep_clear: ["centre", "height", "width"],
  };
  for (const kind of FEATURE_KINDS) {
    survey.run.walk[0]!.features = [newFeature[kind]()];
    assert.deepEqual(openFields(survey), [leg, ...waits[kind].map((name) => `run.walk[0].features[0].${kind}.${name}`)]);
  }
});

test("the demonstration run waits for nothing", () => assert.deepEqual(openFields(demoSurvey()), []));

test("a thing on a leg waits for what the engine would have to guess", () => {
  for (const { feature, open } of cases as { feature: Feature; open: string[] }[]) {
    const survey = demoSurvey();
    survey.run.walk[0]!.features = [feature];
    const at = `run.walk[0].features[0].${Object.keys(feature)[0]}`;
    assert.deepEqual(new Set(openFields(survey)), new Set(open.map((name) => `${at}.${name}`)));
  }
});

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

test("a field of the request is a field of the survey", () => {
  assert.equal(ownPath("survey.run.walk[0].leg"), "run.walk[0].leg");
  assert.equal(getAt(demoSurvey(), ownPath("survey.run.walk[3].leg")), "");
});
