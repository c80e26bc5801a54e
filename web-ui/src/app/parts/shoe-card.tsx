/** The person's own shoe for a raceway: take-up and gain as measured, hook and grip where they differ. */
import { useEffect, useState } from 'preact/hooks';
import type { ShoeData } from '../../engine/types';
import { t } from '../../text/words';
import { ask } from '../kept/ask';
import { planAgain } from '../link';
import { TextField } from './parts';
import { took } from './undo';
import { keepShoe, NO_SHOE, ownShoe, shoeRefusal, toolAt } from '../kept/shoe';
import { currentRun, say } from '../kept/state';

export function ShoeCard({ raceway }: { raceway: string }) {
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
    keepShoe(raceway, own ? shoe : null);
    if (!own) setShoe(NO_SHOE);
    if (!own && kept) took(t.undo.shoe(raceway), () => {
      keepShoe(raceway, kept);
      setShoe(kept);
      planAgain();
    });
    setOpen(false);
    say(own ? t.shoe.kept(raceway) : t.shoe.gone(raceway));
    planAgain();
  };
  const tool = currentRun()?.tool;
  if (tool) return <p class="quiet">{t.shoe.ofShop(toolAt(tool)?.name ?? '')}</p>;
  const refused = kept ? shoeRefusal(raceway) : '';
  if (!open)
    return (
      <>
        {refused && <p class="wrong">{t.share.refused(refused)}</p>}
        <button type="button" id="own-shoe" class="wide-button" onClick={() => setOpen(true)}>
          {kept ? t.shoe.change : t.shoe.own}
        </button>
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

/** Beside marks: which shoe's figures they are for, and the way to the person's own while they are only taught. */
export function ShoeLine({ words, raceway }: { words: string; raceway: string }) {
  return (
    <p class="quiet small shoe-line">
      {words} {!currentRun()?.tool && !ownShoe(raceway) && (
        <a href="#/see" onClick={() => document.getElementById('own-shoe')?.scrollIntoView({ block: 'center' })}>
          {t.see.toShoe}
        </a>
      )}
    </p>
  );
}
