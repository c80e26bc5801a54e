/** The language in use. Another language is one more file of the same shape. */
import { en } from './en';

export type Words = typeof en;
export const t: Words = en;
