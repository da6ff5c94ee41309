/** Scrolls a row sideways until one thing of it is in the middle, or as near as it gets. */
export function centre(row: HTMLElement | undefined, selector: string): void {
  const at = row?.querySelector(selector)?.getBoundingClientRect();
  if (!row || !at) return;
  const box = row.getBoundingClientRect();
  row.scrollLeft += at.left - box.left - (box.width - at.width) / 2;
}
