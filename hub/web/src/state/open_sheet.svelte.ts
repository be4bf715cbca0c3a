/** Which sheet lies open over the drawing. The address says so, hence a browser's back puts the sheet away. */

const KINDS = ["supply", "node", "history", "finding", "fault", "notification", "scene", "new-scene", "looks", "timetable", "rollouts", "cues"] as const;

/** A supply or a node; a finding, or all of them; a scene yet to be, copied from the one with the id or begun anew; and so on. */
export type Kind = (typeof KINDS)[number];

export interface Place {
  venue: string;
  kind: Kind;
  id: string;
}

/** Sheets that need not be of anything there is. */
const OPEN_ENDED: readonly Kind[] = ["history", "finding", "fault", "notification", "new-scene", "looks", "timetable", "rollouts", "cues"];

export function placeFromFragment(fragment: string): Place | null {
  const fields = new URLSearchParams(fragment.replace(/^#/, ""));
  const venue = fields.get("venue");
  const kind = KINDS.find((each) => fields.has(each));
  const id = kind && fields.get(kind);
  return venue && kind && (id || OPEN_ENDED.includes(kind)) ? { venue, kind, id: id ?? "" } : null;
}

export function fragmentOf({ venue, kind, id }: Place): string {
  return `#${new URLSearchParams({ venue, [kind]: id })}`;
}

class OpenSheet {
  place = $state.raw<Place | null>(null);

  start(): void {
    this.read();
    addEventListener("popstate", () => this.read());
  }

  /** From one sheet to another the address is replaced: back always leads to the drawing. */
  open(place: Place): void {
    if (this.place === null) history.pushState({ opened: true }, "", fragmentOf(place));
    else history.replaceState(history.state, "", fragmentOf(place));
    this.place = place;
  }

  close(): void {
    if (this.place === null) return;
    this.place = null;
    const { opened } = (history.state ?? {}) as { opened?: boolean };
    if (opened) history.back();
    else history.replaceState(null, "", location.pathname + location.search);
  }

  private read(): void {
    this.place = placeFromFragment(location.hash);
  }
}

export const openSheet = new OpenSheet();
