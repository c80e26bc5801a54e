/** Words of See: what is asked of a piece at the tool. */
export const atTool = {
  fit: (label: string) => (label ? `Will it fit, ${label}` : 'Will it fit'),
  uncorrected: 'chance that it fits uncorrected',
  watch: 'Watch most',
  ways: 'Ways to bend it',
  asPlanned: 'As planned',
  or: 'Or',
  limits: 'What the tool can do',
  near: 'look at this',
  comesTo: 'here',
};
