import type { ReactiveController, ReactiveControllerHost } from "lit";
import { productsNear } from "../data/plans";
import type { Mast } from "../plots/lanes";
import type { PlanProduct } from "../protocol/model";

const LEAST_HZ = 200_000;
/** Products are asked for once the pick has stayed so long, so that walking along the lanes asks for nothing. */
const STEADY_MS = 180;

/** Which carrier is picked, and the products near it. */
export class ChartPick implements ReactiveController {
  /** Null while they are read; "failed" where they could not be. */
  products: readonly PlanProduct[] | "failed" | null = null;
  /** Which product of the list is looked at, −1 for none. */
  looked = -1;
  private zone = "";
  private frequencyHz = 0;
  private ask = 0;
  private timer: ReturnType<typeof setTimeout> | undefined;

  constructor(private readonly host: ReactiveControllerHost) {
    host.addController(this);
  }

  hostConnected(): void {}

  hostDisconnected(): void {
    clearTimeout(this.timer);
  }

  /** Where the picked one stands among some masts, −1 where it doesn't. */
  among(masts: readonly Mast[]): number {
    if (this.zone === "") return -1;
    return masts.findIndex(({ zone, frequencyHz }) => zone === this.zone && frequencyHz === this.frequencyHz);
  }

  /** Picks a mast of a plan as it is kept, or none. */
  pick(plan: string, mast: Mast | undefined): void {
    this.zone = mast?.zone ?? "";
    this.frequencyHz = mast?.frequencyHz ?? 0;
    this.looked = -1;
    this.products = null;
    this.ask += 1;
    this.host.requestUpdate();
    clearTimeout(this.timer);
    if (mast !== undefined) this.timer = setTimeout(() => void this.read(plan, mast.guardHz), STEADY_MS);
  }

  look(index: number): void {
    this.looked = index;
    this.host.requestUpdate();
  }

  private async read(plan: string, guardHz: number): Promise<void> {
    const ask = this.ask;
    const outcome = await productsNear(plan, this.frequencyHz, this.zone, Math.max(2 * guardHz, LEAST_HZ));
    // A late answer never overwrites a newer one.
    if (ask !== this.ask) return;
    this.products = outcome.ok ? outcome.value.items : "failed";
    this.host.requestUpdate();
  }
}
