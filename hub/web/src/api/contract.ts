/** The shapes of the hub's API that the page uses, by their short names; generated from the API document. */

import type { components } from "./openapi";

type Schemas = components["schemas"];

export type VenueSummary = Schemas["VenueSummary"];
export type Elevation = Schemas["Elevation"];
export type ElevationZone = Schemas["ElevationZone"];
export type ElevationSpan = Schemas["ElevationSpan"];
export type Point = ElevationSpan["points"][number];
export type NodeState = Schemas["NodeStateView"];
export type SupplyAudit = Schemas["SupplyAudit"];
export type Audit = Schemas["Audit"];
export type RunAudit = Schemas["RunAudit"];
export type FeedAudit = Schemas["FeedAudit"];
export type RunVolts = Schemas["RunVolts"];
export type Level = Schemas["Level"];
export type Headroom = Schemas["Headroom"];
export type WiringNote = Schemas["Note"];
export type Advice = Schemas["Advice"];
export type SupplyBudget = Schemas["SupplyBudget"];
export type EnergyAccount = Schemas["EnergyAccount"];
export type EnergyBy = Schemas["EnergyBy"];
export type Finding = Schemas["FindingView"];
export type Scene = Schemas["Scene"];
export type ScenePreview = Schemas["ScenePreview"];
export type PreviewSupply = Schemas["PreviewSupply"];
export type SceneLanguage = Schemas["SceneLanguage"];
export type PatternView = Schemas["PatternView"];
export type Parameter = Schemas["ParameterView"];
export type ColourForm = Schemas["ColourForm"];
export type FlashReport = Schemas["FlashReport"];
export type FlashReports = Schemas["FlashReports"];
export type Look = Schemas["LookView"];
export type MasterLevel = Schemas["MasterLevel"];
export type Zone = Schemas["Zone"];
/** A node as it is planned, where a NodeState is what it says of itself. */
export type PlannedNode = Schemas["Node"];
export type Rollout = Schemas["RolloutView"];
export type Batch = Schemas["BatchView"];
export type DryRun = Schemas["DryRun"];
export type DryNode = Schemas["DryNode"];
export type TakeRequest = Schemas["TakeRequest"];
export type Mistake = Schemas["ProblemMistake"];
export type ControlAnswer = Schemas["ControlAnswer"];
export type Cue = Schemas["Cue"];
export type CueListView = Schemas["CueListView"];
export type Timetable = Schemas["Timetable"];
export type CalendarMonth = Schemas["CalendarMonth"];
export type CalendarDay = Schemas["CalendarDay"];
export type Spell = Schemas["Spell"];
export type SunTimes = Schemas["SunTimes"];
export type Particulars = Schemas["Particulars"];
export type Why = Schemas["Why"];
