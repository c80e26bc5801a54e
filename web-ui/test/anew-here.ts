/** New marks for piece 1 of a run, ticks and what they want done first, for the tests of what holds and of the bench. */
import type { Entry, Made } from "../src/engine/types";
import { inShop } from "./kept-here";

export const RUN = "b".repeat(32);
export const rad = (deg: number): number => (deg * Math.PI) / 180;
export const what: Made = {
  kind: "made",
  bends: [{ number: 1, angle_rad: rad(25) }],
  anew: { marks: [2, 3].map((number) => ({ number, mark_mm: 681.2 - 0.1625, angle_rad: rad(44) })) },
};
export const ticked = (number: number): Made => ({ kind: "made", bends: [{ number }] });
export const entry = (id: string, more: Partial<Entry>) => ({ ...inShop("entry", { id, run: RUN, piece: 1, pins: { marks: "P" }, what, ...more }), mine: true });

/** Bend 3 is made 86° first and is to have 90°, before bends 1 and 2 are bent. */
export const again: Made = {
  kind: "made",
  bends: [{ number: 3, angle_rad: rad(86) }],
  anew: { marks: [3, 1, 2].map((number) => ({ number, mark_mm: 100 * number, angle_rad: rad(number === 3 ? 90 : 22.5) })) },
};
export const tickBy = (id: string, number: number, by: string, more: object = {}) => entry(id, { by: `B${id}`, what: { kind: "made", bends: [{ number, by_marks: by, ...more }] } });
export const wantsCut: Made = { ...what, anew: { ...what.anew!, cut_first: true, trim_mm: 8 } };
export const cutBy = (by: string): Partial<Entry> => ({ what: { kind: "made", bends: [], steps: [{ kind: "cut", trim_mm: 8, by_marks: by }] } });
