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

/** Asks the console's API; a problem of null says that nobody answered. */
export async function send<T>(path: string, request: RequestInit): Promise<Outcome<T>> {
  try {
    const signal = AbortSignal.timeout(ANSWER_WITHIN_MS);
    const response = await fetch(`/api/v1/${path}`, { ...request, credentials: "same-origin", signal });
    const body: unknown = response.status === 204 ? null : await response.json();
    return response.ok ? { ok: true, value: body as T } : { ok: false, problem: body as Problem };
  } catch {
    return { ok: false, problem: null };
  }
}
