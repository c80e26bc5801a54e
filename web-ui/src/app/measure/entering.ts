/** Which reading of the run is keyed in, and which comes next. */
import { useEffect, useRef, useState } from 'preact/hooks';
import { t } from '../../text/words';
import { edit } from '../kept/act';
import { getAt, setAt } from '../kept/paths';
import { isLeg, type Survey } from '../kept/survey';
import { bringIntoView, fieldOf } from '../parts/keypad';
import { took } from '../parts/undo';

const NONE = { path: '', label: '' };

/** A run of which nothing is measured yet. */
const isUntouched = ({ run: { walk } }: Survey): boolean => walk.length === 1 && walk.every((part) => isLeg(part) && !part.leg.trim() && !part.features?.length);

/** The fields of lengths that can be seen, from the top: none that is folded away. */
const seenFields = (): HTMLElement[] =>
  [...document.querySelectorAll<HTMLElement>('.measure [data-length]')].filter((el) => el.offsetParent !== null && !el.closest('details:not([open])'));

export function useEntering(survey: Survey) {
  const [active, setActive] = useState(NONE);
  const [adding, setAdding] = useState(-1);
  const [added, setAdded] = useState(() => (isUntouched(survey) ? 'run.walk[0]' : ''));
  const begun = useRef('');
  const open = (path: string, label: string): void => {
    begun.current = getAt(survey, path);
    setActive({ path, label });
  };
  const openField = (field: HTMLElement | undefined): void => {
    if (field) open(field.dataset.length ?? '', field.dataset.label ?? '');
  };
  useEffect(() => {
    if (!added) return;
    setAdded('');
    openField(seenFields().find((el) => el.dataset.length?.startsWith(added) && !el.dataset.optional));
  }, [added]);
  useEffect(() => {
    if (adding >= 0) bringIntoView(document.querySelector('.kind-list'));
  }, [adding]);
  const following = (): HTMLElement | undefined => {
    const all = seenFields();
    return all[all.findIndex((el) => el.dataset.length === active.path) + 1];
  };
  return {
    /** The field that is keyed into; '' for none. */
    active,
    open,
    close: (): void => {
      setActive(NONE);
      requestAnimationFrame(() => fieldOf(active.path)?.focus({ preventScroll: true }));
    },
    isLast: active.path !== '' && fieldOf(active.path) !== null && !following(),
    next: (): void => openField(following()),
    /** What is wiped out of it can be had back. */
    keyIn: (text: string): void => {
      const { path, label } = active;
      const before = getAt(survey, path);
      edit((s) => setAt(s, path, text));
      const lost = begun.current || (before.length > 1 ? before : '');
      if (!text && lost) took(t.undo.reading(label, lost), () => edit((s) => setAt(s, path, lost)));
    },
    /** The leg on which a thing is chosen; -1 for none. */
    adding,
    setAdding,
    addTo: (leg: number): void => {
      setActive(NONE);
      setAdding(leg);
    },
    /** Something stands there from now on, its fields under this path: the first is opened. */
    setAdded,
    addTurn: (): void => {
      edit((s) => {
        const last = s.run.walk[s.run.walk.length - 1];
        if (last && isLeg(last)) last.to = 'back';
        s.run.walk.push({ turn: 'away' }, { leg: '', from: 'back', to: 'face', features: [] });
      });
      setAdded(`run.walk[${survey.run.walk.length + 1}]`);
    },
  };
}

export type Entering = ReturnType<typeof useEntering>;
