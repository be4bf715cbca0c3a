/** What every field is given: what it asks for, what stands in it, and how to say that this changes. */

import type { Parameter, SceneLanguage } from "../../api/contract";
import type { PlacedMistake } from "../../state/mistakes";

export interface FieldProps {
  parameter: Parameter;
  /** Where it lies in the scene, such as `layers[0].pattern.colour`. */
  place: string;
  label: string;
  value: unknown;
  /** Undefined leaves the field out, so that its default counts. */
  change: (value: unknown) => void;
  mistakes: readonly PlacedMistake[];
  language: SceneLanguage;
  /** One of many alike, as the items of a list are. */
  terse?: boolean;
}

/** An id for the control of a place. */
export const idOf = (place: string): string => `field-${place.replace(/[^a-z0-9]+/gi, "-")}`;
