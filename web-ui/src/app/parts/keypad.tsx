/** The tape keypad: whole inches by digits, the fraction by four switches that add up, or millimetres. */
import { useEffect, useRef } from 'preact/hooks';
import { t } from '../../text/words';
import { Icon } from './icons';
import { spoken, toKeyed, withBit, withDigit, type Unit } from '../../text/lengths';
import type { Beside } from './parts';
import { Tape } from './tape';

interface Props {
  label: string;
  value: string;
  unit: Unit;
  beside: Beside | null;
  onValue: (text: string) => void;
  onNext: () => void;
  onClose: () => void;
}

/** Characters that a field of the keypad takes. */
const MOST = 24;
const BITS = [
  { word: '1/2', bit: 8 },
  { word: '1/4', bit: 4 },
  { word: '1/8', bit: 2 },
  { word: '1/16', bit: 1 },
];

export function Keypad({ label, value, unit, beside, onValue, onNext, onClose }: Props) {
  const box = useRef<HTMLElement>(null);
  const input = useRef<HTMLInputElement>(null);
  const keyed = toKeyed(value, unit) ?? { whole: '', sixteenths: 0 };
  useEffect(() => {
    input.current?.focus({ preventScroll: true });
  }, [label]);
  const digit = (d: string): void => onValue(withDigit(value, d, unit).slice(0, MOST));
  const wipe = (): void => {
    const known = toKeyed(value, unit);
    if (known?.sixteenths && value.includes('/')) onValue(known.whole);
    else onValue(value.trim().slice(0, -1));
  };
  return (
    <section
      ref={box}
      class="keypad"
      role="dialog"
      aria-label={t.measure.keypadFor(label)}
      onKeyDown={(e) => {
        if (e.key === 'Escape') onClose();
        if (e.key === 'Enter' && e.target === input.current) onNext();
      }}
    >
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
      <p id="keypad-note" class={beside?.kind === 'wrong' ? 'keypad-note wrong' : 'keypad-note'} role="status">
        {beside?.kind === 'wrong' ? `${beside.words} ${beside.works ?? ''}` : value ? <span class="unseen">{spoken(value, unit)}</span> : t.measure.keypadHow[unit]}
      </p>
      {unit === 'in' && (
        <div class="fraction-row" role="group" aria-label={t.measure.fractions}>
          {BITS.map(({ word, bit }) => {
            const on = (keyed.sixteenths & bit) !== 0;
            return (
              <button
                key={word}
                type="button"
                class={on ? 'key bit on' : 'key bit'}
                aria-pressed={on}
                aria-label={t.measure.addFraction(word)}
                onClick={() => onValue(withBit(value, bit))}
              >
                <span class="fraction" aria-hidden="true">
                  <span class="num">1</span>
                  <span class="den">{word.slice(2)}</span>
                </span>
              </button>
            );
          })}
        </div>
      )}
      <div class="digit-grid">
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
        <button type="button" class="key next" onClick={onNext}>
          {t.measure.next}
          <Icon name="right" />
        </button>
      </div>
    </section>
  );
}
