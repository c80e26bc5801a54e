/** English for a job file whose job is here already. */

const runs = (n: number): string => (n === 1 ? '1 run' : `${n} runs`);

export const meets = {
  isHere: (name: string) => `${name} is here already`,
  added: (n: number) => `${runs(n)} of the file ${n === 1 ? 'is' : 'are'} not here: brought in.`,
  entries: (n: number) => `${n === 1 ? '1 entry' : `${n} entries`} of what was measured and done: brought in.`,
  differ: (n: number) => `${runs(n)} ${n === 1 ? 'says' : 'say'} something else here: both are kept, and you choose.`,
  head: 'The job itself (its name, areas, stock) says something else here: both are kept, and you choose.',
  older: (n: number) => `${runs(n)} ${n === 1 ? 'was' : 'were'} changed here since: ${n === 1 ? 'it stays' : 'they stay'} as ${n === 1 ? 'it is' : 'they are'} here.`,
  removed: (n: number) => `${runs(n)} ${n === 1 ? 'was' : 'were'} removed here, and ${n === 1 ? 'stays' : 'stay'} removed.`,
  nothing: 'It says nothing that is not here.',
  bringIn: 'Bring in what is new',
  asOwn: 'A second job of its own',
  leave: 'Take nothing in',
  theFile: 'the file',
  inFile: 'In the file',
  keepFile: 'Keep the file’s',
  into: (name: string) => `The file is brought into ${name}.`,
};
