/** The teacher's own rules: what may be off, and what each further step takes. Left empty: the usual ones. */
import { t } from '../../text/words';
import { useApp } from '../kept/state';
import { TextField } from '../parts/parts';
import { keepRules, rulesNow } from './class-kept';
import { numberIn, RULES, ruleUnit, withLength, type Unit } from './class-list';

export function RulesCard({ units }: { units: Unit }) {
  useApp();
  const rules = rulesNow();
  const field = (name: string, label: string, isNumber: boolean) => {
    const text = rules[name] ?? '';
    const wrong = isNumber && Number.isNaN(numberIn(text));
    const said = isNumber ? label : t.practice.inUnit(label, ruleUnit(rules, name, units));
    return <TextField key={name} label={said} decimal value={text} onText={(now) => keepRules(isNumber ? { ...rules, [name]: now } : withLength(rules, name, now, units))} {...(wrong ? { wrong: t.practice.noNumber } : {})} />;
  };
  return (
    <details class="card screen-only more rules-card">
      <summary>{t.practice.rules}</summary>
      <p class="quiet">{t.practice.rulesWords}</p>
      <div class="two">
        {field('full', t.practice.full, true)}
        {field('passes_at', t.practice.passesAt, true)}
      </div>
      {field('gross_times', t.practice.grossTimes, true)}
      {(Object.keys(RULES) as (keyof typeof RULES)[]).map((part) => (
        <fieldset key={part}>
          <legend>{t.practice.parts[part]}</legend>
          <div class="two">{RULES[part].map(([name, isNumber]) => field(`${part}.${name}`, t.practice.fields[name], isNumber))}</div>
        </fieldset>
      ))}
    </details>
  );
}
