/** Words of See: what is asked of a piece at the tool. */
export const atTool = {
  fit: (label: string) => (label ? `Will it fit, ${label}` : 'Will it fit'),
  uncorrected: 'chance that it fits uncorrected',
  watch: 'Watch most',
  ways: 'Ways to bend it',
  asPlanned: 'As planned',
  or: 'Or',
  limits: 'What the tool can do',
  near: 'caution',
  comesTo: 'here',
};

/** Before a change of a run of which something is marked or bent. */
export const begun = {
  title: 'This run is begun',
  steps: (n: number, by: string) => `${n === 1 ? '1 other step is' : `${n} other steps are`} done${by ? ` (${by})` : ''}`,
  made: (n: number, by: string) => `${n === 1 ? '1 bend is' : `${n} bends are`} made${by ? ` (${by})` : ''}`,
  measured: 'bent conduit of it is measured',
  afterRemoval: 'At every bench it is told that it is removed. What is made and measured is kept, and it can be brought back.',
  after: 'With another angle its marks are others, and what is made does not fit them.',
};
