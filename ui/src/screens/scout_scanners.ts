import type { Picture } from "../data/picture";
import type { ActCapability } from "../protocol/model";
import type { RowFacts } from "../pure/row";
import type { Span } from "../pure/spectrum";
import { deviceName, rowName } from "./names";

/** Something that can scan. */
export interface Scanner {
  readonly address: string;
  readonly name: string;
  readonly act: ActCapability;
  /** Whom it mutes: 0 nobody, 1 a spare or nobody known, 2 a part. */
  readonly mutes: 0 | 1 | 2;
  /** What it can be tuned over, where it says so. */
  readonly span: Span | null;
}

const ASKED = ["start_hz", "stop_hz", "step_hz"];
const STEPS_HZ = [10_000, 12_500, 25_000, 50_000, 100_000];
const UHF: Span = { fromHz: 470e6, toHz: 694e6 };
/** No scan is kept with more points. */
const POINTS_MOST = 20_000;

/** All that can scan and needs to be told no more than where: first what does nothing else, then spares, then the rest. */
export function scannersOf(picture: Picture, rows: readonly RowFacts[]): Scanner[] {
  const scanners: Scanner[] = [...picture.devices.values()].flatMap((device) => {
    const act = device.description?.acts.find((one) => one.act === "scan");
    if (act === undefined || act.arguments.some((one) => one.required && !ASKED.includes(one.name))) return [];
    return act.targets.map((address) => {
      const row = rows.find((one) => one.carrier === address);
      const name = deviceName(picture, device.device_id);
      return {
        address,
        name: row === undefined ? name : `${name}, ${rowName(row)}`,
        act,
        mutes: act.mutes_for_ms === 0 ? 0 : row?.spare === false ? 2 : 1,
        span: tuningOf(picture, device.device_id, address),
      };
    });
  });
  return scanners.sort((one, other) => one.mutes - other.mutes);
}

function tuningOf(picture: Picture, deviceId: string, address: string): Span | null {
  const capabilities = picture.devices.get(deviceId)?.description?.capabilities ?? [];
  const schema = capabilities.find((one) => one.field === "frequency_hz" && one.targets.includes(address))?.schema;
  const [fromHz, toHz] = [schema?.minimum ?? null, schema?.maximum ?? null];
  return fromHz === null || toHz === null || toHz <= fromHz ? null : { fromHz, toHz };
}

/** What is scanned if nobody says otherwise. */
export function usualSpan(scanner: Scanner | undefined, last: Span | null): Span {
  return last ?? scanner?.span ?? UHF;
}

/** The steps in which a span can be scanned: as the device allows, and no more points than are kept. */
export function stepsFor(scanner: Scanner | undefined, span: Span): number[] {
  const schema = scanner?.act.arguments.find((one) => one.name === "step_hz")?.schema;
  const [least, most, multiple] = [schema?.minimum ?? 0, schema?.maximum ?? Infinity, schema?.multiple_of ?? 1];
  return STEPS_HZ.filter(
    (step) =>
      step >= least && step <= most && step % multiple === 0 && (span.toHz - span.fromHz) / step + 1 <= POINTS_MOST,
  );
}
