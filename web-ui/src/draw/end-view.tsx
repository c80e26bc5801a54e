/** One end of a piece, or both, close by: reamed, threaded, brought into its fitting, or its fitting brought to it. */
import type { Move } from '../engine/types';
import { path } from './view';

export type EndWork = 'ream' | 'thread' | Exclude<Move['act'], 'place'>;
interface WorkedEnd {
  letter: 'A' | 'B';
  work: EndWork;
  /** the fitting joins it to another piece */
  other?: boolean;
}

const WIDTH = 180;
const [MID, HALF] = [60, 15];

export function EndView({ ends, label, metal }: { ends: readonly WorkedEnd[]; label: string; metal: boolean }) {
  const wide = ends.length > 1;
  return (
    <svg class="end-view" viewBox={wide ? '0 0 360 120' : '0 0 270 120'} role="img" aria-label={label}>
      {ends.map((end, i) => (
        <g key={i} transform={wide ? `translate(${end.letter === 'B' ? 360 : 0} 0) scale(${end.letter === 'B' ? -1 : 1} 1)` : end.letter === 'B' ? 'translate(225 0) scale(-1 1)' : 'translate(45 0)'}>
          <End {...end} metal={metal} />
        </g>
      ))}
    </svg>
  );
}

/** End A, its fitting on the left; end B is its mirror image. */
function End({ letter, work, other = false, metal }: WorkedEnd & { metal: boolean }) {
  const tip = work === 'through' ? 34 : work === 'ream' || work === 'thread' ? 66 : 88;
  const fitting = work !== 'ream' && work !== 'thread';
  return (
    <>
      {fitting && <Fitting work={work} other={other} />}
      <rect class="strip-pipe" x={tip} y={MID - HALF} width={WIDTH - tip} height={HALF * 2} />
      <ellipse class="bore" cx={tip} cy={MID} rx="4" ry={HALF - 2} />
      {(work === 'thread' || work === 'turn' || work === 'through') && <Thread from={tip} to={tip + 34} />}
      {work === 'cement' && <rect class="strip-taken" x={tip} y={MID - HALF} width="34" height={HALF * 2} />}
      {(work === 'push' || work === 'cement' || work === 'close') && <path class="depth" d={path([[tip + 34, MID - HALF - 7], [tip + 34, MID + HALF + 7]])} />}
      {work === 'ream' && <Ream tip={tip} metal={metal} />}
      {(work === 'push' || work === 'cement' || work === 'through') && <Arrow from={[tip + 74, MID - 33]} to={[tip + 22, MID - 33]} />}
      {(work === 'turn' || work === 'thread' || work === 'cement') && <Round x={work === 'thread' ? 40 : tip + 52} low={work === 'cement'} />}
      {work === 'close' && <Arrow from={[30, MID - 33]} to={[82, MID - 33]} />}
      {work === 'slide back' && <Arrow from={[70, MID - 33]} to={[18, MID - 33]} />}
      <g class="end-tag" transform={letter === 'B' ? `translate(${2 * 154} 0) scale(-1 1)` : ''}>
        <circle cx="154" cy={MID} r="11" />
        <text x="154" y={MID + 4.6}>
          {letter}
        </text>
      </g>
    </>
  );
}

/** A fitting at its box, or between two pieces with the other one behind it. */
function Fitting({ work, other }: { work: EndWork; other: boolean }) {
  const back = work === 'slide back' ? -16 : 0;
  if (work === 'through') return <path class="wall" d={`M56 8V${MID - HALF - 2}M56 ${MID + HALF + 2}V112`} />;
  return (
    <>
      {other ? <rect class="strip-pipe" x="0" y={MID - HALF} width={26 + back} height={HALF * 2} /> : <path class="wall" d={`M${20 + back} 8V112`} />}
      <rect class="fitting" x={20 + back} y={MID - HALF - 6} width="46" height={HALF * 2 + 12} rx="3" />
    </>
  );
}

function Thread({ from, to }: { from: number; to: number }) {
  const turns = Array.from({ length: Math.floor((to - from) / 6) }, (_, i) => from + 3 + 6 * i);
  return <path class="thread" d={turns.map((x) => path([[x + 3, MID - HALF], [x, MID + HALF]])).join('')} />;
}

/** A reamer into the bore and a file along the outside edge; PVC has its edges trimmed by a blade. */
function Ream({ tip, metal }: { tip: number; metal: boolean }) {
  return (
    <>
      {metal ? (
        <>
          <path class="reamer" d={`M14 ${MID - 17}L${tip + 2} ${MID - 5}V${MID + 5}L14 ${MID + 17}Z`} />
          <Round x={30} low={false} />
        </>
      ) : (
        <path class="reamer" d={`M18 ${MID - 2}L${tip + 6} ${MID - HALF + 3}L${tip + 2} ${MID - HALF + 9}Z`} />
      )}
      <path class="reamer" d={`M${tip - 22} ${MID + HALF + 20}L${tip + 20} ${MID + HALF + 1}L${tip + 23} ${MID + HALF + 8}L${tip - 18} ${MID + HALF + 28}Z`} />
      <Arrow from={[tip + 52, MID + HALF + 26]} to={[tip + 26, MID + HALF + 26]} />
    </>
  );
}

/** An arrow around the conduit. */
function Round({ x, low }: { x: number; low: boolean }) {
  const y = low ? MID + HALF + 22 : MID;
  return <path class="swing" d={`M${x - 7} ${y - 24}C${x + 12} ${y - 24} ${x + 12} ${y + 24} ${x - 7} ${y + 24}M${x + 3} ${y + 18}L${x - 7} ${y + 24}L${x + 2} ${y + 31}`} />;
}

function Arrow({ from: [x0, y], to: [x1] }: { from: [number, number]; to: [number, number] }) {
  const d = x1 > x0 ? -8 : 8;
  return <path class="swing" d={path([[x0, y], [x1, y]]) + path([[x1 + d, y - 6], [x1, y], [x1 + d, y + 6]])} />;
}
