/** Which supply's sheet lies open. The address says so, hence a browser's back puts the sheet away. */

const FIELD = "supply";

export function supplyFromFragment(fragment: string): string | null {
  return new URLSearchParams(fragment.replace(/^#/, "")).get(FIELD) || null;
}

export function fragmentOf(supply: string): string {
  return `#${new URLSearchParams({ [FIELD]: supply })}`;
}

class OpenSupply {
  id = $state<string | null>(null);

  start(): void {
    this.read();
    addEventListener("popstate", () => this.read());
  }

  /** From one sheet to another the address is replaced: back always leads to the drawing. */
  open(supply: string): void {
    if (this.id === null) history.pushState({ opened: true }, "", fragmentOf(supply));
    else history.replaceState(history.state, "", fragmentOf(supply));
    this.id = supply;
  }

  close(): void {
    if (this.id === null) return;
    this.id = null;
    const { opened } = (history.state ?? {}) as { opened?: boolean };
    if (opened) history.back();
    else history.replaceState(null, "", location.pathname + location.search);
  }

  private read(): void {
    this.id = supplyFromFragment(location.hash);
  }
}

export const openSupply = new OpenSupply();
