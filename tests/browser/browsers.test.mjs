// The main way in three browsers: a run measured by the keypad, its marks those of the command, in the shop; then the server
// gone, the page opened anew, its own engine started, the run bent to the end, and the page opened once more.
import assert from "node:assert/strict";
import { describe, test } from "node:test";
import { BROWSERS } from "./drivers.mjs";
import { clockOfTaps, everyFileKept, racewright, serve, shows } from "./support.mjs";

const [piece] = JSON.parse(racewright("plan", "examples/pump-house-saddle.yaml", "--json")).pieces;

describe("measured, marked as the command does, shared, bent to the end without the server", { concurrency: true }, () => {
  for (const [name, open] of Object.entries(BROWSERS)) test(name, () => mainWay(open));
});

async function mainWay(open) {
  const server = await serve();
  const window = await open();
  const hand = handOf(window);
  const marks = piece.bends.map((bend) => bend.mark_tape);
  try {
    await window.goto(server.url);
    await measureSaddle(hand);
    await hand.press("link", "Job");
    await hand.until(saysNow, "All of this job is in the shop");
    await window.run(everyFileKept);
    await server.stop();
    await window.goto(`${server.url}?again#/see`);
    await hand.until(saysNow, "Bend it, step by step");
    const seen = await window.run(wordsNow);
    for (const tape of [piece.cut_length_tape, ...marks]) assert.ok(shows(seen, tape), `${tape}: ${seen}`);
    await hand.press("link", "Bend it, step by step");
    await window.run(clockOfTaps);
    const told = await marksAtTheBench(hand);
    assert.ok(told.length === marks.length && told.every((said, i) => shows(said, marks[i])), String(told));
    await hand.press("link", "Job");
    await hand.until(saysNow, "In place");
    await window.goto(`${server.url}?later#/see`); // its engine as it was kept
    await hand.until(saysNow, "Bend it, step by step");
  } finally {
    await window.close();
    await server.stop();
  }
}

/** The demonstration's readings: the first by the keypad's keys, the others typed, which goes only where the keypad has the keys. */
async function measureSaddle(hand) {
  await hand.press("button", "Start a run");
  await hand.until(keysIn, "Keypad: Length");
  for (const key of ["5", "6", "1/4 inch"]) await hand.press("button", key);
  await hand.press("button", "Something on this leg");
  await hand.press("button", "Go over something");
  await hand.until(keysIn, "Keypad: To its middle");
  await hand.type("26 1/8");
  await hand.press("button", "Next");
  await hand.until(keysIn, "Keypad: Its top off the wall");
  await hand.type("2 7/8");
  await hand.until(saysNow, "Marks are ready");
  await hand.press("button", "Close the keypad");
}

/** Step by step to the last: each bend's mark, as it is spoken. */
async function marksAtTheBench(hand) {
  const marks = [];
  for (let step = await hand.until(stepNow, ""); ; step = await hand.until(stepNow, step.place)) {
    if (step.mark) marks.push(step.mark);
    await hand.afterAWhile();
    await hand.press("button", step.last ? "Done, all" : "Done, next");
    if (step.last) return marks;
  }
}

/** Waits until something is seen in the window, and presses what has this role and a name that begins so. */
function handOf(window) {
  const until = async (seen, ...args) => {
    for (const end = Date.now() + 90_000; Date.now() < end; await new Promise((next) => setTimeout(next, 60))) {
      const found = await window.run(seen, ...args);
      if (found) return found;
    }
    throw new Error(`waited for ${seen.name}: ${args}, at: ${await window.run(wordsNow)}`);
  };
  const press = async (...what) => {
    do await window.press(...(await until(middleOf, ...what)));
    while (!(await window.run(() => window.hit))); // it moved away under the hand
  };
  return { until, type: window.type, press, afterAWhile: () => window.run(() => window.afterAWhile()) };
}

// in the page

const wordsNow = () => document.body.innerText.replace(/\s+/g, " ");

const saysNow = (words) => document.body.innerText.includes(words);

const keysIn = (name) => document.querySelector(`[role=dialog][aria-label="${name}"] input`) === document.activeElement;

/** Where to press: it stands still, and nothing lies over it. `window.hit`, once it was. */
async function middleOf(role, name) {
  const tag = { button: "button", link: "a" }[role];
  const frame = () => new Promise((next) => requestAnimationFrame(next));
  const middle = (one) => {
    const { x, y, width, height } = one.getBoundingClientRect();
    return [x + width / 2, y + height / 2];
  };
  for (const one of [...document.querySelectorAll(tag)].filter((found) => (found.ariaLabel ?? found.innerText).trim().startsWith(name)))
    for (const block of ["nearest", "center"]) {
      one.scrollIntoView({ block, behavior: "instant" });
      const before = middle(one);
      for (let frames = 0; frames < 3; frames += 1) await frame();
      const at = middle(one);
      if (String(at) !== String(before) || !one.contains(document.elementFromPoint(...at))) continue;
      window.hit = false;
      one.addEventListener("click", () => (window.hit = true), { capture: true, once: true });
      return at;
    }
  return null;
}

/** The step on the screen, once it is another one than that at `before`. */
function stepNow(before) {
  const place = document.querySelector(".progress")?.ariaLabel;
  if (!place || place === before) return null;
  const last = ![...document.querySelectorAll(".step-bar button")].some((one) => one.innerText.includes("Done, next"));
  return { place, last, mark: document.querySelector(".big-place .tape .unseen")?.textContent };
}
