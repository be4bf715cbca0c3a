/** Which supply's sheet lies open. The address says so, hence a browser's back puts the sheet away. */

interface Place {
  venue: string;
  supply: string;
}

export function placeFromFragment(fragment: string): Place | null {
  const fields = new URLSearchParams(fragment.replace(/^#/, ""));
  const [venue, supply] = [fields.get("venue"), fields.get("supply")];
  return venue && supply ? { venue, supply } : null;
}

export function fragmentOf(venue: string, supply: string): string {
  return `#${new URLSearchParams({ venue, supply })}`;
}

class OpenSupply {
  place = $state.raw<Place | null>(null);

  start(): void {
    this.read();
    addEventListener("popstate", () => this.read());
  }

  /** From one sheet to another the address is replaced: back always leads to the drawing. */
  open(venue: string, supply: string): void {
    if (this.place === null) history.pushState({ opened: true }, "", fragmentOf(venue, supply));
    else history.replaceState(history.state, "", fragmentOf(venue, supply));
    this.place = { venue, supply };
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

export const openSupply = new OpenSupply();
