// Which rows of a long list are drawn: those in view and a few around, so that ten thousand rows cost as little as forty.
export interface RowWindow { first: number; last: number }

const around = 10;
const step = 8; ///< the window moves by this many rows at once: most scrolling draws nothing anew

/** Rows `first` to `last` (not included) of `count`, each `row_px` high, in a view of `view_px` scrolled to `top_px`. */
export function rows_in_view(top_px: number, view_px: number, row_px: number, count: number): RowWindow {
  const top = Math.max(0, top_px);
  const first = Math.floor((top / row_px - around) / step) * step;
  const last = Math.ceil(((top + view_px) / row_px + around) / step) * step;
  return { first: Math.min(Math.max(0, first), count), last: Math.min(count, Math.max(0, last)) };
}

/** Where a key moves the chosen row to; null for keys that move nothing. */
export function moved_by(key: string, at: number, count: number, rows_a_page: number): number | null {
  const page = Math.max(1, rows_a_page - 1);
  const to: Record<string, number> = { ArrowDown: at + 1, ArrowUp: at - 1, PageDown: at + page, PageUp: at - page, Home: 0, End: count - 1 };
  const wanted = to[key];
  return wanted === undefined || count === 0 ? null : Math.min(Math.max(0, wanted), count - 1);
}
