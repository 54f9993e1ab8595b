import type { NewToken, OpenSession, TokenFacts, ZoneWriter } from "../protocol/model";
import type { OfferZoneRequest, TakeZoneRequest, ZoneRequest } from "../protocol/requests";

const ANSWER_WITHIN_MS = 10_000;

export type Asked<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly detail: string };

interface Page<T> {
  readonly items: readonly T[];
}

/** Where the person is in. */
export function ownSessions(): Promise<Asked<Page<OpenSession>>> {
  return ask("sessions", "GET");
}

/** The person's tokens; never their secrets. */
export function ownTokens(): Promise<Asked<Page<TokenFacts>>> {
  return ask("tokens", "GET");
}

/** Makes a token; its secret is in this answer and nowhere else. */
export function makeToken(name: string, roles: readonly string[]): Promise<Asked<NewToken>> {
  return ask("tokens", "POST", { name, roles });
}

/** Ends what stands at that path: `sessions/…`, `tokens/…`, or `session` for this browser's own. */
export function end(path: string): Promise<Asked<null>> {
  return ask(path, "DELETE");
}

/** Takes, offers, accepts or releases a zone. */
export function zoneAct(
  verb: "take" | "offer" | "accept" | "release",
  body: Partial<TakeZoneRequest & OfferZoneRequest> & ZoneRequest,
): Promise<Asked<Page<ZoneWriter>>> {
  return ask(`zones/${verb}`, "POST", body);
}

async function ask<T>(path: string, method: string, body?: object): Promise<Asked<T>> {
  try {
    const signal = AbortSignal.timeout(ANSWER_WITHIN_MS);
    const sent =
      body === undefined ? {} : { headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) };
    const response = await fetch(`/api/v1/${path}`, { method, ...sent, credentials: "same-origin", signal });
    const found: unknown = response.status === 204 ? null : await response.json();
    return response.ok ? { ok: true, value: found as T } : { ok: false, detail: (found as { detail: string }).detail };
  } catch {
    return { ok: false, detail: "" };
  }
}
