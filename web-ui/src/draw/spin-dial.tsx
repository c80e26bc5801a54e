/** How to rotate the conduit about its axis, seen from end A: where the line along it faced, and where it faces now. */
import { path, type Flat } from './view';

const at = (deg: number, r: number): Flat => [24 + r * Math.sin((deg * Math.PI) / 180), 24 - r * Math.cos((deg * Math.PI) / 180)];

export function SpinDial({ was, now }: { was: number; now: number }) {
  const turn = ((((now - was + 180) % 360) + 360) % 360) - 180;
  const arc = Array.from({ length: 25 }, (_, i) => at(was + (turn * i) / 24, 20));
  const [p, q] = [arc[22]!, arc[24]!];
  const d = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1;
  const [ux, uy] = [(q[0] - p[0]) / d, (q[1] - p[1]) / d];
  const head: Flat[] = [
    [q[0] - ux * 6 - uy * 4, q[1] - uy * 6 + ux * 4],
    q,
    [q[0] - ux * 6 + uy * 4, q[1] - uy * 6 - ux * 4],
  ];
  const turns = Math.abs(turn) > 1;
  return (
    <svg class="spin" viewBox="0 0 48 48" aria-hidden="true">
      <circle class="spin-pipe" cx="24" cy="24" r="13" />
      {turns && <path class="spin-was" d={path([at(was, 6), at(was, 13)])} />}
      <path class="spin-line" d={path([at(now, 5), at(now, 13)])} />
      {turns && <path class="swing" d={path(arc) + path(head)} />}
    </svg>
  );
}
