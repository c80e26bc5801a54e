export type * from "./types";
export type { EngineState, Reply } from "./engine";
export { startEngine, type EngineHandle } from "./start";
export { recordsServer, type NoAnswer, type RecordsReply, type RecordsServer } from "./records";
export { canKeep, keepForOffline } from "./offline";
