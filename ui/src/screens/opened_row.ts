import type { ReactiveController, ReactiveControllerHost } from "lit";
import { rowJournal } from "../data/row_journal";
import type { Store } from "../data/store";
import type { DetailFacts } from "../elements/detail";
import type { RowFacts } from "../pure/row";

/** Which row is selected, which is opened, and the opened one's journal. */
export class OpenedRow implements ReactiveController {
  selected = "";
  opened = "";
  journal: DetailFacts["journal"] = null;
  private ask = 0;
  private sequence = -1;

  constructor(
    private readonly host: ReactiveControllerHost,
    private readonly store: () => Store | null,
  ) {
    host.addController(this);
  }

  hostConnected(): void {}

  row(channel: string): RowFacts | undefined {
    return this.store()?.rows.find((row) => row.channel === channel);
  }

  select(channel: string): void {
    this.selected = channel;
    this.host.requestUpdate();
  }

  /** Selects the row that stands so many rows further down, kept within the first and the last. */
  move(by: number): void {
    const rows = this.store()?.rows ?? [];
    const at = rows.findIndex((row) => row.channel === this.selected);
    const next = at === -1 ? (by > 0 ? 0 : rows.length - 1) : Math.min(Math.max(at + by, 0), rows.length - 1);
    this.select(rows[next]?.channel ?? "");
  }

  /** Opens a row in place of the one before; an empty channel closes it. */
  open(channel: string): void {
    this.opened = channel;
    this.journal = null;
    this.host.requestUpdate();
    if (channel !== "") void this.read();
  }

  /** Reads the journal again where something happened since. */
  refresh(): void {
    const sequence = this.store()?.picture?.sequence ?? -1;
    if (this.opened !== "" && sequence !== this.sequence) void this.read();
  }

  private async read(): Promise<void> {
    const row = this.row(this.opened);
    if (row === undefined) return;
    this.ask += 1;
    const ask = this.ask;
    this.sequence = this.store()?.picture?.sequence ?? -1;
    const events = await rowJournal(row, this.sequence);
    // A late answer never overwrites a newer one.
    if (ask !== this.ask) return;
    this.journal = events ?? "failed";
    this.host.requestUpdate();
  }
}
