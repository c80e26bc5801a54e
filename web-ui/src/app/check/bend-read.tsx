/** What a bend that is made really is: its angle, where it stands, how far its plane is off. */
import type { MadeReading } from '../../engine/types';
import { numberOf } from '../../text/lengths';
import { t } from '../../text/words';
import { LengthField, Segments, TextField, type FieldKit } from '../parts/parts';
import { isAngle } from './angle';

/** As typed; `at`: the place is that of its mark, or of where it begins. */
export interface Read {
  angle: string;
  place: string;
  at: 'mark' | 'start';
  roll: string;
  way: 'clockwise' | 'counterclockwise';
}
export const unread: Read = { angle: '', place: '', at: 'mark', roll: '', way: 'clockwise' };

const wrong = (degrees: string): boolean => !isAngle(degrees.trim() || '0');
export const isWrong = (read: Read): boolean => wrong(read.angle) || wrong(read.roll);

/** As the engine takes it; what is left empty is as kept, or as planned. */
export function toReading(number: number, { angle, place, at, roll, way }: Read): MadeReading {
  const off = (numberOf(roll) ?? 0) * (way === 'clockwise' ? 1 : -1);
  return {
    number,
    ...(angle.trim() ? { angle_deg: numberOf(angle) ?? 0 } : {}),
    ...(place.trim() ? { [at]: place } : {}),
    ...(roll.trim() ? { roll_off_deg: off } : {}),
  };
}

const beside = (degrees: string, help: string, said: string): { wrong: string } | { help: string } => (wrong(degrees) ? { wrong: said } : { help });

interface Props {
  /** What it is called, and where its mark stands ('': not told). */
  name: string;
  tape: string;
  /** Of the place, among the fields that the keypad fills. */
  path: string;
  kit: FieldKit;
  read: Read;
  /** What its angle is where none is read. */
  empty: string;
  onChange: (part: Partial<Read>) => void;
}

export function BendRead({ name, tape, path, kit, read, empty, onChange }: Props) {
  return (
    <>
      <TextField label={t.check.realAngle(name, tape)} decimal value={read.angle} onText={(angle) => onChange({ angle })} {...beside(read.angle, empty, t.check.degreesWrong)} />
      <details class="more" open={!!read.place || !!read.roll || undefined}>
        <summary>{t.check.placeAndPlane(name)}</summary>
        <Segments label={t.check.placeOf} value={read.at} options={(['mark', 'start'] as const).map((value) => ({ value, label: t.check.places[value] }))} onPick={(at) => onChange({ at })} />
        <LengthField kit={kit} path={path} label={t.check.fromA} help={t.check.placeEmpty} value={read.place} optional />
        <TextField label={t.check.planeOff} decimal value={read.roll} onText={(roll) => onChange({ roll })} {...beside(read.roll, t.check.planeEmpty, t.check.planeWrong(name))} />
        <Segments label={t.check.planeWay} value={read.way} options={(['clockwise', 'counterclockwise'] as const).map((value) => ({ value, label: value }))} onPick={(way) => onChange({ way })} />
      </details>
    </>
  );
}
