// The page reads a written length as the engine does: one table of cases for both. No browser is needed here.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { transformWithOxc } from "../../web-ui/node_modules/vite/dist/node/index.js";

const SOURCE = new URL("../../web-ui/src/app/lengths.ts", import.meta.url);
const CASES = new URL("../unit/length_cases.json", import.meta.url);

test("a length is read as the engine reads it", async () => {
  const { code } = await transformWithOxc(readFileSync(SOURCE, "utf8"), "lengths.ts");
  const { parseLength } = await import(`data:text/javascript,${encodeURIComponent(code)}`);
  for (const [text, unit, mm] of JSON.parse(readFileSync(CASES, "utf8"))) {
    const read = parseLength(text, unit);
    if (mm === null) assert.equal(read, null, `'${text}' is no length`);
    else assert.ok(read !== null && Math.abs(read - mm) < 1e-8, `'${text}' in ${unit}: ${read}, not ${mm}`);
  }
});
