/** The same offset or saddle at the usual angles, side by side; one tap takes another angle. */
import { useEffect, useState } from 'preact/hooks';
import { pieceStations } from '../../draw/piece';
import { dot, scale, sub, norm } from '../../draw/vector';
import type { MarkedBend, ChoiceRow, ChoicesRequest, PlannedPiece, PlanAnswer } from '../../engine/types';
import { t } from '../../text/words';
import type { Unit } from '../../text/lengths';
import { ask } from '../kept/ask';
import { edit, say } from '../kept/state';
import { isLeg, kindOf, type Survey } from '../kept/survey';
import { Tape } from '../parts/tape';

interface Shape {
  name: string;
  kind: ChoicesRequest['shape'];
  rise_mm: number;
  flat_mm: number;
  angle_deg: number;
}

/** Offsets and saddles of a piece, with the rise that they make: the most that their arcs go aside. */
export function shapesOf(piece: PlannedPiece): Shape[] {
  const groups = new Map<string, MarkedBend[]>();
  for (const bend of piece.bends) groups.set(bend.shape, [...(groups.get(bend.shape) ?? []), bend]);
  const list = pieceStations(piece, true);
  const out: Shape[] = [];
  for (const [name, bends] of groups) {
    const first = bends[0]!;
    const last = bends[bends.length - 1]!;
    const kind = first.role.startsWith('saddle') ? (bends.length === 4 ? 'saddle 4' : 'saddle 3') : first.role.startsWith('offset') ? 'offset' : null;
    if (!kind || bends.length < 2) continue;
    const start = list.find((p) => p.s >= first.arc_start_mm - 1e-6)!.frame;
    let rise = 0;
    for (const p of list) {
      if (p.s < first.arc_start_mm - 1e-6 || p.s > last.arc_end_mm + 1e-6) continue;
      const d = sub(p.frame.origin, start.origin);
      rise = Math.max(rise, norm(sub(d, scale(start.axis, dot(d, start.axis)))));
    }
    const flat = kind === 'saddle 4' ? bends[2]!.arc_start_mm - bends[1]!.arc_end_mm : 0;
    out.push({ name, kind, rise_mm: rise, flat_mm: flat, angle_deg: first.angle_deg });
  }
  return out;
}

export function ChoiceTables({ answer, survey }: { answer: PlanAnswer; survey: Survey }) {
  return (
    <>
      {answer.plan.pieces.flatMap(shapesOf).map((shape) => (
        <ChoiceTable key={shape.name} shape={shape} survey={survey} />
      ))}
    </>
  );
}

function ChoiceTable({ shape, survey }: { shape: Shape; survey: Survey }) {
  const [rows, setRows] = useState<ChoiceRow[]>([]);
  const unit = survey.units;
  useEffect(() => {
    const request: ChoicesRequest = {
      shape: shape.kind,
      rise: `${shape.rise_mm.toFixed(3)} mm`,
      raceway: survey.run.raceway,
      units: unit,
      ...(shape.kind === 'saddle 4' ? { flat: `${shape.flat_mm.toFixed(3)} mm` } : {}),
    };
    let gone = false;
    void ask('choices', request).then((reply) => {
      if (!gone && reply.ok) setRows(reply.answer.rows);
    });
    return () => {
      gone = true;
    };
  }, [shape.kind, shape.rise_mm.toFixed(2), survey.run.raceway, unit]);
  if (!rows.length) return null;
  return (
    <section class="card">
      <h2>{t.see.choices}</h2>
      <p class="quiet">{t.see.choicesFor(shape.name)}</p>
      <div class="table-scroll" tabIndex={0} role="region" aria-label={t.see.choicesFor(shape.name)}>
        <table class="plain choices">
          <thead>
            <tr>
              <th scope="col">{t.see.angle}</th>
              <th scope="col">{t.see.spacing}</th>
              <th scope="col">{t.see.shrink}</th>
              <th scope="col">{t.see.roomAlong}</th>
              <td />
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <Row key={row.angle_deg} row={row} on={Math.abs(row.angle_deg - shape.angle_deg) < 0.05} unit={unit} onTake={() => takeAngle(shape, row.angle_deg)} />
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function Row({ row, on, unit, onTake }: { row: ChoiceRow; on: boolean; unit: Unit; onTake: () => void }) {
  const cell = (length: ChoiceRow['room']) => <td>{length ? <Tape text={length.tape} unit={unit} /> : '–'}</td>;
  return (
    <tr class={on ? 'on' : row.possible ? '' : 'off'}>
      <th scope="row">{row.angle_deg}°</th>
      {row.possible ? (
        <>
          {cell(row.spacing)}
          {cell(row.shrink)}
          {cell(row.room)}
          <td class="take">
            {on ? (
              <b>{t.see.planned}</b>
            ) : (
              <button type="button" class="small-button" onClick={onTake} aria-label={t.see.takeAngle(row.angle_deg)}>
                {t.see.take}
              </button>
            )}
          </td>
        </>
      ) : (
        <td colSpan={4} class="reason">
          {row.reason}
        </td>
      )}
    </tr>
  );
}

/** Set the angle on the feature that the shape came from: by its name, else the first of its kind without one. */
function takeAngle(shape: Shape, angle: number): void {
  const wanted = shape.kind === 'offset' ? ['offset', 'box_offset'] : ['saddle'];
  edit((survey) => {
    const features = survey.run.walk.flatMap((part) => (isLeg(part) ? (part.features ?? []) : []));
    const fitting = features.filter((f) => wanted.includes(kindOf(f)));
    const named = fitting.find((f) => f[kindOf(f)]?.name === shape.name);
    const number = Number(/ (\d+)$/.exec(shape.name)?.[1] ?? 1);
    const nameless = fitting.filter((f) => !f[kindOf(f)]?.name);
    const feature = named ?? nameless[Math.min(number, nameless.length) - 1];
    if (feature?.saddle) feature.saddle.angle = String(angle);
    else if (feature?.offset) feature.offset.angle = String(angle);
    else if (feature?.box_offset) feature.box_offset.angle = String(angle);
  });
  say(t.see.took(angle));
}
