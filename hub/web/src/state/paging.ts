/** A long list, a page at a time, so that thousands of rows cost no more than one page of them. */

export interface PageOf<Item> {
  items: readonly Item[];
  /** Index of its first item; 0 for an empty list. */
  start: number;
  total: number;
}

/** The page of `rows` items that holds the item at `wanted`; the last where the list is shorter. */
export function pageOf<Item>(items: readonly Item[], wanted: number, rows: number): PageOf<Item> {
  const within = Math.max(0, Math.min(wanted, items.length - 1));
  const start = within - (within % rows);
  return { items: items.slice(start, start + rows), start, total: items.length };
}

/** Items any of whose texts has all the words, in any letter case. */
export function matching<Item>(items: readonly Item[], sought: string, textOf: (item: Item) => string): readonly Item[] {
  const words = sought.toLowerCase().split(/\s+/).filter(Boolean);
  if (words.length === 0) return items;
  return items.filter((item) => {
    const text = textOf(item).toLowerCase();
    return words.every((word) => text.includes(word));
  });
}
