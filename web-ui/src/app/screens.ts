/** The screens that come in a part of the page of their own, and so do not hold up the first one: see `later.tsx`. */
export { BendScreen } from './bend/bend-screen';
export { CheckScreen } from './check/check-screen';
export { DeskScreen } from './desk/desk-screen';
export { FigureScreen } from './figure/figure-screen';
export { PracticeScreen } from './practice/practice-screen';
export { SeeScreen } from './see/see-screen';
export { SettingsScreen } from './settings/settings-screen';
export { ToolsScreen } from './tools/tools-screen';
