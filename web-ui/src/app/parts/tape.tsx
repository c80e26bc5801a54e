/** A tape reading, large: the whole inches, and the fraction stacked. A reading with its own unit stays as written. */
import { spoken, takeApart, type Unit } from '../../text/lengths';

export function Tape({ text, unit, size = '' }: { text: string; unit: Unit; size?: '' | 'big' | 'huge' }) {
  const own = /[a-z'"]/i.test(text);
  const r = takeApart(text);
  return (
    <span class={`tape ${size}`}>
      <span class="unseen">{own ? text : spoken(text, unit)}</span>
      <span aria-hidden="true" class="tape-shown">
        {r.sign === '-' ? '−' : ''}
        {r.whole}
        {r.num && (
          <span class="fraction">
            <span class="num">{r.num}</span>
            <span class="den">{r.den}</span>
          </span>
        )}
        {!own && <span class="unit">{unit}</span>}
      </span>
    </span>
  );
}
