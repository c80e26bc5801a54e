/** Phones and a shop file with a run of one job, for the tests of what becomes of their records. */
import { exchange } from "../src/app/kept/exchange";
import { fresh, written, type Data } from "../src/app/kept/record";
import type { BenderRecord } from "../src/engine/types";
import { Device, Shop } from "./shop";

export const JOB = "a".repeat(32);
export const RUN = "b".repeat(32);
export const WET = "1e".repeat(16);
/** The figures of a tool. */
export const shoe = (take_up: string): BenderRecord => ({ raceway: "EMT", size: "1/2", take_up });
export const run = (id: string, leg: string): Data => ({ id, key: "R-1", survey: { run: { name: "Pump house", raceway: "EMT 1/2", walk: [{ leg }] } } });
export const sync = (device: Device, shop: Shop): ReturnType<typeof exchange> => exchange(device, device.server(shop));
/** The page is opened anew. */
export const reopen = (device: Device, shop: Shop): ReturnType<typeof exchange> => (device.reopened(), exchange(device, device.server(shop), true));

export function withJob(device: Device, job = JOB): Device {
  device.write(job, fresh("job", job, job, { name: "Orchard" }, device.nextMade()));
  return device;
}
export const add = (device: Device, id: string, leg: string): void => device.write(id, fresh("run", id, JOB, run(id, leg), device.nextMade()));
export const edit = (device: Device, id: string, data: Data | null): void => device.write(id, written(device.get(id)!, data));

/** Two phones that agree on one run. */
export async function two(): Promise<[Device, Device, Shop]> {
  const [one, other, shop] = [withJob(new Device("one")), new Device("other"), new Shop()];
  add(one, RUN, "56 1/4");
  await sync(one, shop);
  await sync(other, shop);
  return [one, other, shop];
}
