import type { Problem } from "../protocol/model";

const ANSWER_WITHIN_MS = 10_000;

/** What became of a request: what it answered, or the problem in the console's words. */
export type Outcome<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly problem: Problem | null };

/** Posts a body as JSON. */
export function post<T>(
  path: string,
  body: object,
  headers: Readonly<Record<string, string>> = {},
): Promise<Outcome<T>> {
  return send(path, {
    method: "POST",
    headers: { "Content-Type": "application/json", ...headers },
    body: JSON.stringify(body),
  });
}

/** An answer with the revision that was read, which a change of it names. */
export interface Tagged<T> {
  readonly value: T;
  readonly tag: string;
}

/** Asks the console's API; a problem of null says that nobody answered. */
export async function send<T>(path: string, request: RequestInit): Promise<Outcome<T>> {
  const outcome = await sendTagged<T>(path, request);
  return outcome.ok ? { ok: true, value: outcome.value.value } : outcome;
}

/** The same, with the revision of what was answered. */
export async function sendTagged<T>(path: string, request: RequestInit): Promise<Outcome<Tagged<T>>> {
  try {
    const signal = AbortSignal.timeout(ANSWER_WITHIN_MS);
    const response = await fetch(`/api/v1/${path}`, { ...request, credentials: "same-origin", signal });
    const body: unknown = response.status === 204 ? null : await response.json();
    if (!response.ok) return { ok: false, problem: body as Problem };
    return { ok: true, value: { value: body as T, tag: response.headers.get("ETag") ?? "" } };
  } catch {
    return { ok: false, problem: null };
  }
}
