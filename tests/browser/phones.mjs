// Phones at one shop file, for the tests of what they share: the saddle's run on each, what stands in the shop.
import assert from "node:assert/strict";
import { newPage, openPlace, PHONE, serverAndBrowser, until } from "./support.mjs";

export const NAME = "Pump house, disconnect to pump 2 starter";

/** What stands in the shop, by kind. */
export async function shopOf(server) {
  const { records } = await (await fetch(`${server.url}records?after=0`)).json();
  const standing = records.filter((one) => one.data);
  return (kind) => standing.filter((one) => one.kind === kind).map((one) => one.data);
}
export const runsIn = async (server) => (await shopOf(server))("run");
export const inShop = async (server) => (await runsIn(server)).length === 1;

/** Called of the run's start, on the Measure screen. */
export const called = (page) => page.getByRole("textbox", { name: "Called" }).first();

/** The saddle's run with one tap, to be written on. */
export async function takeExample(page) {
  await page.getByRole("button", { name: "Look at an example" }).tap();
  await openPlace(page, "Measure");
}

/** A server and a browser for all tests of a file, and the phones of a test at an empty shop. */
export function phonesAtOneShop() {
  const at = serverAndBrowser();
  async function phone(server, place = "", kind = PHONE) {
    const page = await newPage(await at.browser.newContext(kind));
    await page.goto(`${server.url}${place}`);
    return page;
  }

  /** An empty shop, a phone (of that kind) with the saddle's run, and another that has it too. */
  async function two(kind = PHONE) {
    const server = await at.anew();
    const one = await phone(server, "", kind);
    await takeExample(one);
    await until(() => inShop(server), "the run is in the shop");
    const other = await phone(server, "#/job");
    await other.getByRole("button", { name: new RegExp(`^${NAME}`) }).waitFor();
    const noFaults = () => [one, other].forEach((page) => assert.deepEqual(page.faults, []));
    return { server, one, other, noFaults };
  }
  return { at, phone, two };
}
