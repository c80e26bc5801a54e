/** What stands over a step that is looked back at, and at the foot of it. */
import { useState } from 'preact/hooks';
import { t } from '../../text/words';
import { Icon } from '../parts/icons';
import { Notice } from '../parts/parts';
import { shortly } from '../parts/when';
import { goOnFrom, type AtBench } from './at-bench';
import { isBend } from './bench';
import { placeName, placesBefore, takeBack, takenWith, tickAt, type Place } from './look-back';

interface Props {
  here: AtBench;
  /** Which of the steps before, from 0. */
  index: number;
  /** To another one; undefined: to the step at hand. */
  onLook: (index?: number) => void;
}

/** Who did it; and, as a deed of its own, that it is not done. `stopped`: the marks do not hold, so that no tick goes. */
export function LookedAt({ here, index, stopped, onLook }: Props & { stopped: boolean }) {
  const [asked, setAsked] = useState(false);
  const place = placesBefore(here)[index]!;
  const tick = tickAt(here, place);
  const goes = stopped ? null : takenWith(here, place);
  const names = (places: Place[]): string[] => places.map((one) => placeName(here, one));
  const isUnmade = !stopped && !place.first && here.behind.includes(place.at) && !here.done.includes(place.at) && isBend(here.steps[place.at]!, here.kept);
  const isMore = !!goes && goes.own.length + goes.others.length > 1;
  const take = (): void => {
    if (isMore && !asked) return setAsked(true);
    onLook();
    takeBack(here, place);
  };
  return (
    <Notice kind="info">
      <p role="status">{tick ? t.bend.lookDone(t.together.who(tick.by, shortly(Date.parse(tick.at)))) : t.bend.look}</p>
      {stopped && <p>{t.bend.lookStopped}</p>}
      {goes && asked && <p class="wrong">{t.bend.takesBack(names(goes.own), names(goes.others))}</p>}
      {goes && (
        <button type="button" class="quiet-button" onClick={take}>
          <Icon name="undo" />
          {asked ? t.bend.takeThem : t.bend.notDone}
        </button>
      )}
      {isUnmade && (
        <button type="button" class="quiet-button" onClick={() => goOnFrom(here, place.at)}>
          {t.bend.notDone}
        </button>
      )}
    </Notice>
  );
}

export function LookBar({ index, onLook }: Omit<Props, 'here'>) {
  return (
    <div class="step-bar">
      <button type="button" class="step-button" disabled={index === 0} onClick={() => onLook(index - 1)}>
        <Icon name="left" />
        {t.bend.back}
      </button>
      <button type="button" class="step-button strong" onClick={() => onLook()}>
        {t.bend.toHand}
        <Icon name="right" />
      </button>
    </div>
  );
}
