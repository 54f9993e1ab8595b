import type { Argument } from "../protocol/model";

/** How long a lamp or a tone lasts where nobody says otherwise; common practice. */
const USUAL_SECONDS = 5;

/**
 * What stands in an argument before anybody typed: the whole span of a scan, a short while; null for all else.
 *
 * Nothing is chosen for somebody where the choice matters: a medium, a key, a level.
 */
export function defaultArgument({ name, schema, secret, required }: Argument): number | null {
  if (secret || schema.enum.length > 0 || (schema.type !== "integer" && schema.type !== "number")) return null;
  if (name === "start_hz") return schema.minimum;
  if (name === "stop_hz") return schema.maximum;
  if (name !== "seconds" || !required) return null;
  return Math.min(Math.max(USUAL_SECONDS, schema.minimum ?? 0), schema.maximum ?? USUAL_SECONDS);
}
