// Fittings as a table of any length: only the rows in view are drawn, further pages are fetched as one scrolls, and the
// keyboard moves through it. On a narrow screen each row is a card.
import { Component } from "preact";
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import type { FittingRow } from "./api";
import { local_time } from "./find";
import { language_now, t } from "./messages";
import { address_of, go_to } from "./routes";
import { useSize } from "./use_size";
import { VerdictMark } from "./verdict";
import { moved_by, rows_in_view } from "./window_rows";

const row_px = 50;
const card_px = 148;
const narrow_px = 760;
const fetch_ahead_rows = 60;

export interface TablePlace { top_px: number; at: number }

export function ReviewTable(props: {
  rows: readonly FittingRow[];
  whole: boolean;                  ///< there are no more than these
  busy: boolean;
  onMore: () => void;
  place: TablePlace;               ///< where it stood when the page was left
  onPlace: (place: TablePlace) => void;
}) {
  const { rows } = props;
  const box = useRef<HTMLDivElement>(null);
  const size = useSize(box);
  const narrow = size.width > 0 && size.width < narrow_px;
  const high = narrow ? card_px : row_px;
  const top = useRef(props.place.top_px);
  const [at, setAt] = useState(props.place.at);
  const [, setWindow] = useState("");
  const shown = rows_in_view(top.current, size.height, high, rows.length);
  const rows_a_page = Math.max(1, Math.floor((size.height - row_px) / high));

  useLayoutEffect(() => { if (box.current !== null && size.height > 0) box.current.scrollTop = props.place.top_px; }, [size.height > 0]);
  useEffect(() => () => props.onPlace({ top_px: top.current, at }), [at]);
  useEffect(() => {
    if (!props.whole && !props.busy && shown.last > rows.length - fetch_ahead_rows) props.onMore();
  }, [shown.last, rows.length, props.whole, props.busy]);

  const on_scroll = (scroll_top: number) => {
    top.current = scroll_top;
    const now = rows_in_view(scroll_top, size.height, high, rows.length);
    if (now.first !== shown.first || now.last !== shown.last) setWindow(`${now.first} ${now.last}`);
  };
  const move_to = (to: number) => {
    setAt(to);
    const view = box.current;
    if (view === null) return;
    const head = narrow ? 0 : row_px;
    if (to * high < view.scrollTop) view.scrollTop = to * high;
    else if ((to + 1) * high > view.scrollTop + view.clientHeight - head) view.scrollTop = (to + 1) * high - view.clientHeight + head;
    on_scroll(view.scrollTop);
  };
  const on_key = (event: KeyboardEvent) => {
    const row = rows[at];
    if (event.key === "Enter" && event.target === box.current && row !== undefined) {
      event.preventDefault();
      open(row);
      return;
    }
    const to = moved_by(event.key, at, rows.length, rows_a_page);
    if (to === null || event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    move_to(to);
  };
  const heads = [t("reviewer.serial"), t("reviewer.verdict"), t("reviewer.begun"), t("reviewer.job"), t("reviewer.recipe"), t("reviewer.operator"),
    t("reviewer.rope_lot"), t("reviewer.terminal_lot"), t("reviewer.die_pair")];
  // A list of a few stands no higher than they are.
  const content_px = rows.length * high + (narrow ? 0 : row_px) + 20;
  return (
    <div style={{ maxHeight: `${content_px}px`, minHeight: `${Math.min(340, content_px)}px` }} class={`review-table${narrow ? " cards" : ""}`} ref={box} role="grid" tabIndex={0} aria-label={t("reviewer.fittings_found")} data-review-table
      aria-rowcount={props.whole ? rows.length + 1 : -1} aria-colcount={heads.length} aria-busy={props.busy}
      aria-activedescendant={at >= shown.first && at < shown.last ? `row-${at}` : undefined}
      onScroll={(event) => on_scroll(event.currentTarget.scrollTop)} onKeyDown={on_key}>
      <div class="review-head" role="row" aria-rowindex={1}>
        {heads.map((head, column) => <span role="columnheader" aria-colindex={column + 1} key={head}>{head}</span>)}
      </div>
      <div class="review-rows" role="rowgroup" style={{ height: `${rows.length * high}px` }}>
        {rows.slice(shown.first, shown.last).map((row, index) => (
          <Row key={row.serial} row={row} number={shown.first + index} high={high} chosen={shown.first + index === at} heads={heads} language={language_now()} onChoose={setAt} />
        ))}
      </div>
    </div>
  );
}

function open(row: FittingRow) {
  go_to({ view: "fitting", serial: row.serial });
}

interface RowProps { row: FittingRow; number: number; high: number; chosen: boolean; heads: readonly string[]; language: string; onChoose: (at: number) => void }

/** Drawn again only when something of it is another. */
class Row extends Component<RowProps> {
  override shouldComponentUpdate(next: RowProps) {
    const now = this.props;
    return next.row !== now.row || next.number !== now.number || next.high !== now.high || next.chosen !== now.chosen || next.language !== now.language;
  }

  override render({ row, number, high, chosen, heads, onChoose }: RowProps) {
    const cells = [
      <a class="serial" tabIndex={-1} href={address_of({ view: "fitting", serial: row.serial })}>{row.serial}</a>,
      <VerdictMark stage={row.stage} verdict={row.verdict} />,
      local_time(row.started_utc).slice(0, 16), row.job, `${row.recipe} r${row.revision}`, row.operator, row.rope_lot, row.terminal_lot, row.die_pair,
    ];
    return (
      <div class="review-row" role="row" id={`row-${number}`} aria-rowindex={number + 2} aria-selected={chosen} style={{ transform: `translateY(${number * high}px)` }}
        onClick={(event) => { onChoose(number); if (!(event.target instanceof HTMLAnchorElement)) open(row); }}>
        {cells.map((cell, column) => <span role="gridcell" aria-colindex={column + 1} data-head={heads[column]} key={column}>{cell}</span>)}
      </div>
    );
  }
}
