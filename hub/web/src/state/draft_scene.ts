/** A scene while it is being made: the contract's shape, with whatever stands in its fields just then. */

import type { Parameter, PatternView, Zone } from "../api/contract";

export type Fields = Record<string, unknown>;

export interface Statement extends Fields {
  pattern: string;
}

export interface DraftLayer extends Fields {
  zone: string;
  pattern: Statement;
}

export interface DraftScene {
  id: string;
  title: string;
  note: string;
  layers: readonly DraftLayer[];
}

/** The fields with one of them changed; undefined leaves it out, so that its default counts. */
export function withField<Of extends Fields>(fields: Of, name: string, value: unknown): Of {
  const { [name]: _, ...others } = fields;
  // A field that was there keeps its place.
  return (value === undefined ? others : name in fields ? { ...fields, [name]: value } : { ...others, [name]: value }) as Of;
}

/** A statement of the pattern: its example, with what the statement before said in fields of the same name and kind. */
export function statementOf(wanted: PatternView, before: Statement | null, known: readonly PatternView[]): Statement {
  const statement: Statement = { ...(wanted.example as Fields), pattern: wanted.pattern };
  const stated = before && known.find(({ pattern }) => pattern === before.pattern);
  if (!before || !stated) return statement;
  for (const parameter of wanted.parameters) {
    const same = stated.parameters.find((each) => each.name === parameter.name);
    const value = before[parameter.name];
    if (same && alike(same, parameter) && value !== undefined) statement[parameter.name] = value;
  }
  return statement;
}

function alike(a: Parameter, b: Parameter): boolean {
  const items = a.items && b.items ? alike(a.items, b.items) : a.items === b.items;
  return a.kind === b.kind && a.unit === b.unit && items && String(a.choices) === String(b.choices);
}

/** The pattern that asks for the least. */
export function plainest(patterns: readonly PatternView[]): PatternView | null {
  return patterns.reduce<PatternView | null>(
    (least, each) => (least && least.parameters.length <= each.parameters.length ? least : each),
    null,
  );
}

/** The zone with the most pixels: the front, as far as there is a zone of all of it. */
export function widest(zones: readonly Zone[]): Zone | null {
  const byId = new Map(zones.map((zone) => [zone.id, zone]));
  const pixelsOf = (zone: Zone | undefined): number =>
    (zone?.spans ?? []).reduce((sum, span) => sum + span.pixels, 0) +
    (zone?.of ?? []).reduce((sum, part) => sum + pixelsOf(byId.get(part)), 0);
  return zones.reduce<Zone | null>((most, zone) => (most && pixelsOf(most) >= pixelsOf(zone) ? most : zone), null);
}

/** The layers with the one at `from` taken out and put in at `to`. */
export function moved<Item>(items: readonly Item[], from: number, to: number): readonly Item[] {
  const item = items[from];
  if (item === undefined || to < 0 || to >= items.length) return items;
  return items.toSpliced(from, 1).toSpliced(to, 0, item);
}

const LONGEST_ID = 40;

/** An id for a scene of this title, none of those that are taken. */
export function idFor(title: string, taken: readonly string[]): string {
  const plain = title.normalize("NFKD").replace(/\p{Mark}/gu, "").toLowerCase();
  const words = plain.replace(/[^a-z0-9]+/g, "-").replace(/^-+|-+$/g, "");
  const stem = words.slice(0, LONGEST_ID - 4).replace(/-+$/, "") || "scene";
  for (let number = 1; ; number++) {
    const id = number === 1 ? stem : `${stem}-${number}`;
    if (!taken.includes(id)) return id;
  }
}
