/** The run's offsets and saddles at the usual angles, side by side; one tap takes another angle. */
import { useState } from 'preact/hooks';
import type { OtherAngle, OtherAngles, PlanAnswer } from '../../engine/types';
import { t } from '../../text/words';
import type { Unit } from '../../text/lengths';
import { getAt, setAt } from '../kept/paths';
import { edit } from '../kept/act';
import { currentRun, say } from '../kept/state';
import { isBegun } from '../kept/view';
import { AskBegun } from '../parts/begun';
import { Tape } from '../parts/tape';
import { took } from '../parts/undo';

export function ChoiceTables({ answer, unit }: { answer: PlanAnswer; unit: Unit }) {
  return (
    <>
      {answer.angles.map((table) => (
        <ChoiceTable key={table.field} table={table} unit={unit} />
      ))}
    </>
  );
}

function ChoiceTable({ table, unit }: { table: OtherAngles; unit: Unit }) {
  const [doubt, setDoubt] = useState<OtherAngle | null>(null);
  const run = currentRun()!;
  const ask = (row: OtherAngle): void => (isBegun(run) ? setDoubt(row) : take(row));
  const take = ({ angle_deg, angle }: OtherAngle): void => {
    setDoubt(null);
    const path = `${table.field}.angle`;
    const before = getAt(currentRun()!.survey, path);
    edit((survey) => setAt(survey, path, String(angle_deg)));
    say(t.see.took(angle));
    const was = table.planned === null ? before : (table.rows[table.planned]?.angle ?? before);
    took(t.undo.reading(table.label, was), () => edit((survey) => setAt(survey, path, before || undefined)));
  };
  return (
    <section class="card">
      <h2>{t.see.choices}</h2>
      <p class="quiet">{t.see.choicesFor(table.label)}</p>
      {doubt && <AskBegun key={doubt.angle_deg} run={run} after={t.begun.after} sure={t.see.takeAnyway(doubt.angle)} onSure={() => take(doubt)} onLeave={() => setDoubt(null)} />}
      <div class="table-scroll stacks" tabIndex={0} role="region" aria-label={t.see.choicesFor(table.label)}>
        <table class="plain choices">
          <thead>
            <tr>
              <th scope="col">{t.see.angle}</th>
              <th scope="col">{t.see.spacing}</th>
              <th scope="col">{t.see.shrink}</th>
              <th scope="col">{t.see.roomAlong}</th>
            </tr>
          </thead>
          <tbody>
            {table.rows.map((row, i) => (
              <Row key={row.angle_deg} row={row} on={i === table.planned} unit={unit} onTake={() => ask(row)} />
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function Row({ row, on, unit, onTake }: { row: OtherAngle; on: boolean; unit: Unit; onTake: () => void }) {
  const cell = (length: OtherAngle['room'], of: string) => <td data-of={of}>{length ? <Tape text={length.tape} unit={unit} /> : '–'}</td>;
  return (
    <tr class={on ? 'on' : row.possible ? '' : 'off'}>
      <th scope="row" class="take">
        {row.angle}
        {on && <b>{t.see.planned}</b>}
        {row.becomes && <small>{row.becomes}</small>}
        {!on && row.possible && (
          <button type="button" class="small-button" onClick={onTake} aria-label={t.see.takeAngle(row.angle)}>
            {t.see.take}
          </button>
        )}
      </th>
      {row.possible ? (
        <>
          {cell(row.spacing, t.see.spacing)}
          {cell(row.shrink, t.see.shrink)}
          {cell(row.room, t.see.roomAlong)}
        </>
      ) : (
        <td colSpan={3} class="reason">
          {row.reason}
        </td>
      )}
    </tr>
  );
}
