export type * from "./types";
export type { EngineState, Reply } from "./engine";
export { startEngine, type EngineHandle } from "./start";
export { sharedRuns, type SavedRun, type SharedRuns, type SaveReply, type RunRow, type Rival } from "./runs";
export { canKeep, keepForOffline } from "./offline";
