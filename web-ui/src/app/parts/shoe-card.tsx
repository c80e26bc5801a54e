/** The person's own shoe for a raceway: take-up and gain as measured, hook and grip where they differ. */
import { useEffect, useState } from 'preact/hooks';
import type { ShoeData, ToolPin } from '../../engine/types';
import { t } from '../../text/words';
import { ask } from '../kept/ask';
import { planAgain } from '../link';
import { putOn } from '../kept/act';
import { getRec } from '../kept/kept';
import { textIn } from '../kept/record';
import { dropShoe, keepShoe, newerOf, NO_SHOE, ownShoe, pinFor, shoeRefusal, toolAt, withShoe } from '../kept/shoe';
import { currentRun, say, useApp, type KeptRun } from '../kept/state';
import { isBegun } from '../kept/view';
import { Notice, TextField } from './parts';
import { took } from './undo';

export function ShoeCard({ run }: { run: KeptRun }) {
  const { raceway } = run.survey.run;
  const kept = ownShoe(raceway);
  const [open, setOpen] = useState(false);
  const [shoe, setShoe] = useState(kept ?? NO_SHOE);
  const [taught, setTaught] = useState<ShoeData>();
  useEffect(() => {
    if (!open) return;
    void ask('catalogue', {}).then((reply) => {
      setTaught(reply.ok ? reply.answer.benders.find((b) => !b.own && b.raceway === raceway) : undefined);
    });
  }, [open, raceway]);
  const ready = shoe.take_up.trim() !== '' && shoe.gain.trim() !== '';
  const use = (own: boolean): void => {
    if (own) putOn([run], keepShoe(raceway, shoe, run.id));
    else {
      const before = run.tool;
      dropShoe(raceway);
      putOn([run], undefined);
      setShoe(NO_SHOE);
      if (kept) took(t.undo.shoe(raceway), () => (withShoe(raceway), putOn([run], before ?? undefined), setShoe(kept), planAgain()));
    }
    setOpen(false);
    say(own ? t.shoe.kept(raceway) : t.shoe.gone(raceway));
    planAgain();
  };
  const on = run.tool && (toolAt(run.tool)?.name ?? '');
  if (isBegun(run)) return <p class="quiet">{t.shoe.begun(on ?? '')}</p>;
  const refused = kept ? shoeRefusal(raceway) : '';
  if (!open)
    return (
      <>
        {on !== null && <p class="quiet">{t.shoe.on(on)}</p>}
        {refused && <p class="wrong">{t.share.refused(refused)}</p>}
        <button type="button" id="own-shoe" class="wide-button" onClick={() => setOpen(true)}>
          {kept ? t.shoe.change : t.shoe.own}
        </button>
        <Others run={run} />
      </>
    );
  return (
    <div>
      <TextField label={t.shoe.takeUp} value={shoe.take_up} help={t.shoe.takeUpHelp} onText={(v) => setShoe({ ...shoe, take_up: v })} />
      <TextField label={t.shoe.gain} value={shoe.gain} help={t.shoe.gainHelp} onText={(v) => setShoe({ ...shoe, gain: v })} />
      <TextField label={t.shoe.hook(taught?.hook_reach_in ?? '')} value={shoe.hook_reach} help={t.shoe.hookHelp} onText={(v) => setShoe({ ...shoe, hook_reach: v })} />
      <TextField label={t.shoe.grip(taught?.grip_in ?? '')} value={shoe.grip} help={t.shoe.gripHelp} onText={(v) => setShoe({ ...shoe, grip: v })} />
      <div class="two">
        <button type="button" class="wide-button strong" disabled={!ready} onClick={() => use(true)}>
          {t.shoe.use}
        </button>
        <button type="button" class="wide-button" onClick={() => use(false)}>
          {t.shoe.trade}
        </button>
      </div>
    </div>
  );
}

/** The own shoe for the other runs of this raceway that nothing is marked or bent of. */
function Others({ run }: { run: KeptRun }) {
  const { runs } = useApp();
  const { raceway } = run.survey.run;
  const tool = pinFor(raceway);
  if (!tool || run.tool?.id !== tool.id) return null;
  const others = runs.filter((one) => one.survey.run.raceway === raceway && !isOn(one, tool) && (!one.tool || one.tool.id === tool.id) && !isBegun(one));
  if (!others.length) return null;
  return (
    <button
      type="button"
      class="wide-button"
      onClick={() => {
        putOn(others, tool);
        say(t.shoe.alsoDone(others.length));
      }}
    >
      {t.shoe.also(others.length, raceway)}
    </button>
  );
}

const isOn = ({ tool }: KeptRun, pin: ToolPin): boolean => tool?.id === pin.id && tool.revision === pin.revision;

/** That the run's tool was measured anew since, and the way to its figures as they are now. */
export function ToolNews({ run }: { run: KeptRun }) {
  useApp();
  const newer = newerOf(run);
  if (!newer) return null;
  const name = textIn(getRec(newer.id)?.data, 'name');
  if (isBegun(run)) return <p class="quiet pad">{t.shoe.newerBegun(name)}</p>;
  return (
    <Notice kind="caution">
      <p>{t.shoe.newer(name)}</p>
      <button
        type="button"
        class="wide-button"
        onClick={() => {
          putOn([run], newer);
          say(t.shoe.taken(name));
          planAgain();
        }}
      >
        {t.shoe.take}
      </button>
    </Notice>
  );
}

/** Beside marks: which shoe's figures they are for, and the way to the person's own while they are only taught. */
export function ShoeLine({ words }: { words: string }) {
  return (
    <p class="quiet small shoe-line">
      {words} {!currentRun()?.tool && (
        <a href="#/see" onClick={() => document.getElementById('own-shoe')?.scrollIntoView({ block: 'center' })}>
          {t.see.toShoe}
        </a>
      )}
    </p>
  );
}
