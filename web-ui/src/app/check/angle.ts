import { numberOf } from '../../text/lengths';

/** What the engine takes as an angle, so that another one is told at its own field. */
export const isAngle = (text: string, least = 0): boolean => {
  const degrees = numberOf(text);
  return degrees !== null && degrees >= least && degrees <= 180;
};
