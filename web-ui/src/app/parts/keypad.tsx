/** The tape keypad: whole inches by digits, the fraction by four switches that add up, or millimetres. */
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { t } from '../../text/words';
import { Icon } from './icons';
import { spoken, toKeyed, withBit, withDigit, type Unit } from '../../text/lengths';
import { UndoBar } from './undo';
import type { Beside } from './parts';
import { Tape } from './tape';

interface Props {
  /** the field that is keyed into: `data-length` of its button */
  path: string;
  label: string;
  value: string;
  unit: Unit;
  beside: Beside | null;
  onValue: (text: string) => void;
  onNext: () => void;
  onClose: () => void;
  /** what the key beside the digits says */
  nextWords?: string;
  /** more that can follow this reading */
  children?: ComponentChildren;
}

/** The button of a length's field. */
export const fieldOf = (path: string): HTMLElement | null => document.querySelector<HTMLElement>(`[data-length="${CSS.escape(path)}"]`);

/** Scrolls so that it stands right below what is fixed at the top. */
export function bringIntoView(what: Element | null | undefined): void {
  if (!what) return;
  const stuck = [...document.querySelectorAll('.top, .sketch-stage')].filter((el) => getComputedStyle(el).position === 'sticky');
  const above = Math.max(0, ...stuck.map((el) => el.getBoundingClientRect().bottom).filter((bottom) => bottom < innerHeight / 2));
  window.scrollBy(0, what.getBoundingClientRect().top - above - 4);
}

/** Characters that a field of the keypad takes. */
const MOST = 24;
const BITS = [
  { word: '1/2', bit: 8 },
  { word: '1/4', bit: 4 },
  { word: '1/8', bit: 2 },
  { word: '1/16', bit: 1 },
];

/** The field stays in view: below what is fixed at the top, whatever grows there. */
function useFieldInView(path: string, told: Beside['kind'] | undefined): void {
  useEffect(() => {
    const bring = (): void => void requestAnimationFrame(() => bringIntoView(fieldOf(path)?.parentElement));
    bring();
    window.addEventListener('resize', bring); // turned, or the phone's own keyboard is up
    const watch = new ResizeObserver(bring); // what stands above it has grown
    for (const grows of document.querySelectorAll('#main, .top')) watch.observe(grows);
    return () => {
      window.removeEventListener('resize', bring);
      watch.disconnect();
    };
  }, [path, told]);
}

export function Keypad({ path, label, value, unit, beside, onValue, onNext, onClose, nextWords, children }: Props) {
  const input = useRef<HTMLInputElement>(null);
  useEffect(() => {
    input.current?.focus({ preventScroll: true });
  }, [path]);
  useFieldInView(path, beside?.kind);
  return (
    <div class="keypad-place">
      <section
        class="keypad"
        role="dialog"
        aria-label={t.measure.keypadFor(label)}
        onKeyDown={(e) => {
          if (e.key === 'Escape') onClose();
          if (e.key === 'Enter' && e.target === input.current) onNext();
        }}
      >
        <UndoBar />
        <div class="keypad-head">
          <label class="keypad-label" for="keypad-typed">
            {label}
          </label>
          <button type="button" class="plain-key" onClick={onClose} aria-label={t.measure.closeKeypad}>
            <Icon name="close" />
          </button>
        </div>
        <div class="keypad-show">
          <Tape text={value || '0'} unit={unit} size="big" />
          <input
            id="keypad-typed"
            ref={input}
            class="keypad-typed"
            type="text"
            inputMode="none"
            autocomplete="off"
            maxLength={MOST}
            value={value}
            aria-describedby="keypad-note"
            onInput={(e) => onValue(e.currentTarget.value)}
          />
        </div>
        <p
          id="keypad-note"
          class={beside?.kind === 'wrong' ? 'keypad-note wrong' : 'keypad-note'}
          role="status"
          tabIndex={beside?.kind === 'wrong' ? 0 : undefined} // oxlint-disable-line jsx-a11y/no-noninteractive-tabindex -- where it is long it is scrolled, by keys too
        >
          {beside?.kind === 'wrong' ? `${beside.words} ${beside.works ?? ''}` : value ? <span class="unseen">{spoken(value, unit)}</span> : t.measure.keypadHow[unit]}
        </p>
        {children && <div class="keypad-more">{children}</div>}
        {unit === 'in' && <Fractions value={value} onValue={onValue} />}
        <div class="digit-grid">
          <Digits value={value} unit={unit} onValue={onValue} />
          <button type="button" class="key next" onClick={onNext}>
            {nextWords ?? t.measure.next}
            <Icon name="right" />
          </button>
        </div>
      </section>
    </div>
  );
}

/** Four switches that add up. */
function Fractions({ value, onValue }: Pick<Props, 'value' | 'onValue'>) {
  const { sixteenths } = toKeyed(value, 'in') ?? { sixteenths: 0 };
  return (
    <div class="fraction-row" role="group" aria-label={t.measure.fractions}>
      {BITS.map(({ word, bit }) => {
        const on = (sixteenths & bit) !== 0;
        return (
          <button key={word} type="button" class={on ? 'key bit on' : 'key bit'} aria-pressed={on} aria-label={t.measure.addFraction(word)} onClick={() => onValue(withBit(value, bit))}>
            <span class="fraction" aria-hidden="true">
              <span class="num">1</span>
              <span class="den">{word.slice(2)}</span>
            </span>
          </button>
        );
      })}
    </div>
  );
}

function Digits({ value, unit, onValue }: Pick<Props, 'value' | 'unit' | 'onValue'>) {
  const digit = (d: string): void => onValue(withDigit(value, d, unit).slice(0, MOST));
  const wipe = (): void => {
    const known = toKeyed(value, unit);
    if (known?.sixteenths && value.includes('/')) onValue(known.whole);
    else onValue(value.trim().slice(0, -1));
  };
  return (
    <>
      {['1', '2', '3', '4', '5', '6', '7', '8', '9'].map((d) => (
        <button key={d} type="button" class="key" onClick={() => digit(d)}>
          {d}
        </button>
      ))}
      {unit === 'mm' ? (
        <button type="button" class="key" onClick={() => digit('.')} aria-label={t.measure.point}>
          .
        </button>
      ) : (
        <button type="button" class="key soft" onClick={() => onValue('')}>
          {t.measure.clear}
        </button>
      )}
      <button type="button" class="key" onClick={() => digit('0')}>
        0
      </button>
      <button type="button" class="key soft" onClick={wipe} aria-label={t.measure.wipe}>
        <Icon name="back" />
      </button>
    </>
  );
}
