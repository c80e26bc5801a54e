/** The language in use. Another language is one more file of the same shape. */
import { en } from './en';

export type Words = typeof en;
export const t: Words = en;

/** Whether a text begins with these words, whole: 'bend 12' does not begin with 'bend 1'. */
export const beginsWith = (text: string, words: string): boolean => text.startsWith(words) && !/^([\w-]|\.\d)/.test(text.slice(words.length));
