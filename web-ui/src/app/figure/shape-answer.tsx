/** One shape: its exact marks, the rule of thumb beside them, other angles, what to take care of. */
import { useState } from 'preact/hooks';
import type { Form } from '../../engine/forms';
import type { Length, ShapeAnswer } from '../../engine/types';
import type { Unit } from '../../text/lengths';
import { t } from '../../text/words';
import { Segments } from '../parts/parts';
import { Tail } from '../parts/tail';
import { Tape } from '../parts/tape';
import { withLabels } from './form';
import { FigureTable, PlainTable } from './tables';

export function ShapeView({ form, answer, unit }: { form: Form; answer: ShapeAnswer; unit: Unit }) {
  return (
    <>
      <h2 class="figure-head">{answer.title}</h2>
      {answer.benders.map((shoe) => (
        <p key={shoe.name} class="quiet">
          {t.figure.shoe(shoe.name)}, {t.figure.radius} <Tape text={shoe.radius.tape} unit={unit} /> ({shoe.standing})
        </p>
      ))}
      {answer.taught && <p class="quiet">{answer.taught}</p>}
      {answer.bends.length > 0 && <Marks form={form} answer={answer} unit={unit} />}
      {answer.facts.length > 0 && (
        <dl class="results">
          {answer.facts.map((fact) => (
            <div key={fact.label}>
              <dt>{fact.label}</dt>
              <dd>{fact.text}</dd>
            </div>
          ))}
        </dl>
      )}
      <p class="quiet">{t.figure.measured(answer.measured)}</p>
      {answer.tables.map((table) => (
        <PlainTable key={table.title} table={table} />
      ))}
      <Rules answer={answer} unit={unit} />
      <Angles answer={answer} unit={unit} />
      {answer.notes.map((line) => (
        <p key={line} class="quiet">
          {line}
        </p>
      ))}
      <Tail answer={answer} />
    </>
  );
}

function Marks({ form, answer, unit }: { form: Form; answer: ShapeAnswer; unit: Unit }) {
  const [hook, setHook] = useState<'A' | 'B'>('A');
  const references = answer.bends[0]!.marks.filter((mark) => mark.hook === hook).map((mark) => mark.reference);
  return (
    <section>
      <Segments label={t.figure.hook} value={hook} options={(['A', 'B'] as const).map((end) => ({ value: end, label: end }))} onPick={setHook} />
      <FigureTable title={t.figure.marks} head={[t.figure.mark, t.figure.angle, ...(answer.pull ? [t.figure.bendTo] : []), t.figure.roll, ...references]}>
        {answer.bends.map((bend, i) => (
          <tr key={i}>
            <th scope="row">
              {i + 1} {bend.called}
            </th>
            <td>{bend.angle}</td>
            {answer.pull && <td>{bend.bend_to}</td>}
            <td>{bend.roll}</td>
            {references.map((reference) => (
              <Cell key={reference} length={bend.marks.find((mark) => mark.hook === hook && mark.reference === reference)?.at ?? null} unit={unit} />
            ))}
          </tr>
        ))}
      </FigureTable>
      {answer.pull && <p>{answer.pull}</p>}
      <p class="quiet">
        {t.figure.counted(withLabels(form, answer.counted_from))} {t.figure.marksWords}
      </p>
    </section>
  );
}

const Cell = ({ length, unit }: { length: Length | null; unit: Unit }) => <td>{length ? <Tape text={length.tape} unit={unit} /> : '–'}</td>;

function Rules({ answer, unit }: { answer: ShapeAnswer; unit: Unit }) {
  const w = t.figure.ruleHead;
  return (
    <>
      {answer.rules.map((rule, i) => (
        <section key={i}>
          <FigureTable title={t.figure.rule(rule.name)} head={[w.mark, w.rule, w.exact, w.out, w.how]}>
            {rule.marks.map((mark, j) => (
              <tr key={j}>
                <th scope="row">{mark.label}</th>
                <Cell length={mark.rule} unit={unit} />
                <Cell length={mark.exact} unit={unit} />
                <Cell length={mark.out_by} unit={unit} />
                <td>{t.figure.ruleHow(mark.hook, mark.reference)}</td>
              </tr>
            ))}
          </FigureTable>
          <p class="quiet">
            {rule.how} ({rule.source})
          </p>
          <dl class="lands">
            <dt>{t.figure.lands.rule}</dt>
            <dd>{rule.rule_lands}</dd>
            <dt>{t.figure.lands.exact}</dt>
            <dd>{rule.exact_lands}</dd>
          </dl>
        </section>
      ))}
    </>
  );
}

function Angles({ answer, unit }: { answer: ShapeAnswer; unit: Unit }) {
  if (!answer.choices) return null;
  const head = t.figure.angleHead;
  return (
    <FigureTable title={answer.choices.title} head={head}>
      {answer.choices.rows.map((row) => (
        <tr key={row.angle_deg} class={row.possible ? '' : 'off'}>
          <th scope="row">{row.angle}</th>
          {row.possible ? (
            <>
              <Cell length={row.room} unit={unit} />
              <Cell length={row.spacing} unit={unit} />
              <Cell length={row.straight} unit={unit} />
              <Cell length={row.shrink} unit={unit} />
              <Cell length={row.developed} unit={unit} />
              <td>{t.figure.degrees(row.total_deg)}</td>
            </>
          ) : (
            <td colSpan={head.length - 1} class="reason">
              {row.reason}
            </td>
          )}
        </tr>
      ))}
    </FigureTable>
  );
}
