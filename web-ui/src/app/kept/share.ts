/** When this device and the shop are brought together: at the opening, after a change, when the network is back, and
 * every 15 seconds while somebody looks (every 3 while the shop cannot be reached). One tab of a browser at a time; where a
 * browser has no locks (plain http), two may do it at once, which does no harm: what is offered twice is saved once. */
import { recordsServer, type EngineHandle } from '../../engine/index';
import { t } from '../../text/words';
import { exchange, type Outcome } from './exchange';
import { isWide } from '../desk/wide';
import { keeper, local, putLocal } from './kept';
import { freshId } from './make';
import { change, onWriting, state, takeOnlyJob } from './state';
import { during } from './working';

const LOOK_MS = 3_000;
/** So many looks are let go by while all is well. */
const LET_BY = 5;
const AFTER_CHANGE_MS = 900;
const LOCK = 'racewright exchange';

const server = recordsServer();
let handle: EngineHandle;
let on = false;
let unheard = false;
let busy = false;
let again = false;
let opening = true;
let soon: ReturnType<typeof setTimeout> | undefined;

export async function startSharing(engine: EngineHandle): Promise<void> {
  if (!local.has('device')) void putLocal('device', t.share.device(freshId().slice(0, 4), isWide()));
  handle = engine;
  const known = keeper.place().number > 0; // a shop was heard from here: it may come back
  on = known || local.get('met') === true; // so may a server whose shop was empty then
  change({ shopKnown: known });
  onWriting(shareSoon);
  window.addEventListener('online', () => void shareNow());
  document.addEventListener('visibilitychange', whileSeen);
  let looks = 0;
  setInterval(() => (on || unheard) && (!state.shop || state.shop === 'alone' || (looks += 1) % LET_BY === 0) && whileSeen(), LOOK_MS);
  engine.watch(({ phase }) => {
    if (phase === 'ready') void shareNow(); // it has had its code
  });
  await shareNow();
}

/** Whether there is a server to share with, or was one: where none was ever met, it is looked for, again until the
 * page's host has said that it is none. */
async function met(): Promise<boolean> {
  if (on) return true;
  const found = await handle.server();
  [on, unheard] = [found === 'here', found === 'unheard'];
  if (on) void putLocal('met', true);
  return on;
}

const whileSeen = (): void => {
  if (document.visibilityState === 'visible') void shareNow();
};

/** After a change: in a moment, with what else is written by then. */
function shareSoon(): void {
  clearTimeout(soon);
  if (on || unheard) soon = setTimeout(() => void shareNow(), AFTER_CHANGE_MS);
}

export async function shareNow(): Promise<void> {
  if (busy) return void (again = true);
  busy = true;
  try {
    if (!(await met())) return;
    do {
      again = false;
      show(await alone(() => during('sharing', exchange(keeper, server, opening))));
    } while (again);
  } finally {
    busy = false;
  }
}

const alone = async (work: () => Promise<Outcome>): Promise<Outcome> => (navigator.locks ? navigator.locks.request(LOCK, work) : work());

function show({ state: shop, words }: Outcome): void {
  const shopKnown = state.shopKnown || shop !== 'alone';
  if (shop !== state.shop || words !== state.shopWords || shopKnown !== state.shopKnown) change({ shop, shopWords: words, shopKnown });
  if (shop === 'code' || shop === 'revoked') {
    opening = true; // as what it is paired anew, it may write what was refused
    handle.wantsCode();
  }
  if (shop !== 'alone') handle.tryAgain();
  if (shop === 'done') {
    opening = false;
    takeOnlyJob();
  }
}
